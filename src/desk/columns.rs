//! The columns of the files of a plan: what each is taken for, and what is wrong with it.

use std::path::PathBuf;

use serde::{Deserialize, Serialize};

use super::change::Change;
use super::desk::Desk;
use super::edit::changed;
use super::home::file_name;
use super::refused::Refused;
use super::texts::Texts;
use super::turn::Turn;
use crate::analyte::Catalogue;
use crate::engine::{self, Inputs};
use crate::error::Failure;
use crate::field::FieldLayer;
use crate::files::Files;
use crate::intake::column_heads;
use crate::plan::{self, Depths, PointsSettings, Purpose, Settings};
use crate::provenance::Place;

/// Values of a column that are shown.
const VALUES: usize = 3;

/// What a plan is made from, or the saved plan, with changes.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Sheets {
    /// What tells the saved plan's state; nothing for a first plan.
    pub plan: Option<String>,
    /// The files of a first plan.
    pub first: Option<FirstFiles>,
    /// The changes.
    #[serde(default)]
    pub changes: Vec<Change>,
}

/// Files of the folder that a first plan is made from.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FirstFiles {
    /// The field's boundary.
    pub boundary: String,
    /// Cores, cone pushes, readings.
    pub points: Vec<String>,
}

/// The answer.
#[derive(Debug, Serialize)]
pub struct ColumnsAnswer {
    /// The plan's text.
    pub text: String,
    /// The files.
    pub files: Vec<FileFacts>,
    /// Files that cannot be read and are not in the plan's text.
    pub unread: Vec<Unread>,
    /// What is wrong and belongs to no column.
    pub problems: Vec<String>,
    /// What was guessed or needs an eye and belongs to no column.
    pub remarks: Vec<String>,
}

/// A file that cannot be read.
#[derive(Debug, Serialize)]
pub struct Unread {
    /// Its name.
    pub file: String,
    /// What is wrong, and the way out.
    pub problems: Vec<String>,
}

/// A file.
#[derive(Debug, Serialize)]
pub struct FileFacts {
    /// Its name, as the plan writes it.
    pub file: String,
    /// `cores`, `cone` or `readings`.
    pub kind: plan::PointKind,
    /// Its columns.
    pub columns: Vec<ColumnFacts>,
}

/// A column.
#[derive(Debug, Serialize)]
pub struct ColumnFacts {
    /// Its name.
    pub name: String,
    /// Some of its values.
    pub values: Vec<String>,
    /// What it is used as, in words, where it is no result: a coordinate, the sample's name, a depth.
    pub role: Option<&'static str>,
    /// The analyte that it is read as.
    pub is: Option<String>,
    /// Test method.
    pub method: Option<String>,
    /// Unit.
    pub unit: Option<String>,
    /// Depth.
    pub depth: Option<String>,
    /// Whether the plan says so; the program guessed otherwise.
    pub is_said: bool,
    /// What is wrong, and the way out.
    pub problems: Vec<String>,
    /// What was guessed or needs an eye.
    pub remarks: Vec<String>,
}

/// The texts that are asked about.
///
/// # Errors
/// Files that cannot be read; a plan that was changed underneath.
pub fn texts(desk: &Desk, sheets: &Sheets) -> Result<Texts, Refused> {
    let base = match (&sheets.plan, &sheets.first) {
        (Some(known), None) => desk.saved(known)?,
        (None, Some(files)) => first(desk, &files.boundary, &files.points)?,
        _ => {
            let what = "ask about the saved plan or about files of a first plan";
            return Err(Refused::Malformed(what.to_owned()));
        }
    };
    changed(&base, &sheets.changes, None, &desk.home.new_rules())
}

/// A first plan, as `start` writes it.
fn first(desk: &Desk, boundary: &str, points: &[String]) -> Result<Texts, Refused> {
    let boundary = PathBuf::from(file_name(boundary)?);
    let points: Result<Vec<PathBuf>, Refused> = points
        .iter()
        .map(|name| Ok(PathBuf::from(file_name(name)?)))
        .collect();
    let folder = PathBuf::from(".");
    let plan = engine::draft(&desk.home.files(), &boundary, &points?, &folder)?;
    Ok(Texts {
        plan_file: desk.home.plan_file().to_owned(),
        plan,
        rules: None,
    })
}

/// Takes the files out that cannot be read beside the boundary, so that one does not block the others; tells each with its problems.
fn set_aside(desk: &Desk, sheets: &Sheets) -> Result<(Sheets, Vec<Unread>), Refused> {
    let mut sheets = sheets.clone();
    let mut unread = Vec::new();
    if let Some(files) = &mut sheets.first {
        let whole = first(desk, &files.boundary, &files.points);
        if whole.is_err() && files.points.len() > 1 {
            // A boundary that cannot be read is wrong for every file.
            first(desk, &files.boundary, &[])?;
            let boundary = files.boundary.clone();
            files.points.retain(
                |name| match first(desk, &boundary, std::slice::from_ref(name)) {
                    Ok(_) => true,
                    Err(refused) => {
                        unread.push(Unread {
                            file: name.clone(),
                            problems: refused.stories(),
                        });
                        false
                    }
                },
            );
        }
    }
    Ok((sheets, unread))
}

/// What the columns are taken for.
///
/// # Errors
/// Those of [`texts`]. What is wrong with the plan or its files is told in the answer.
pub fn columns(desk: &Desk, sheets: &Sheets, turn: &Turn) -> Result<ColumnsAnswer, Refused> {
    let (sheets, unread) = set_aside(desk, sheets)?;
    let texts = texts(desk, &sheets)?;
    let files = texts.over(&desk.home.files());
    let read = desk
        .with_engine(|engine| Ok(engine.read(&files, texts.plan_path(), Purpose::Layout, turn)))?;
    let settings = match &read {
        Ok(inputs) => Some(inputs.settings.clone()),
        Err(_) => plan::from_text(&texts.plan, &files, texts.plan_path())
            .ok()
            .map(|(settings, _)| settings),
    };
    let mut said = Said::new(&read);
    let points = settings
        .as_ref()
        .map_or(&[][..], |settings| &settings.points);
    let facts = points
        .iter()
        .map(|points| {
            file_facts(
                &files,
                points,
                (read.as_ref().ok(), settings.as_ref()),
                &mut said,
            )
        })
        .collect::<Result<_, Refused>>()?;
    Ok(ColumnsAnswer {
        text: texts.plan,
        files: facts,
        unread,
        problems: said.problems.into_iter().map(|(_, text)| text).collect(),
        remarks: said.remarks.into_iter().map(|(_, text)| text).collect(),
    })
}

/// What is wrong and what was remarked, each with its place; what a column takes is taken out.
struct Said {
    problems: Vec<(Option<Place>, String)>,
    remarks: Vec<(Option<Place>, String)>,
}

impl Said {
    fn new(read: &Result<Inputs, Failure>) -> Self {
        let (mut problems, mut remarks) = (Vec::new(), Vec::new());
        match read {
            Ok(inputs) => remarks.extend(inputs.remarks.iter().map(|remark| {
                let help = remark.help.iter().map(|help| format!(" ({help})"));
                let what = help.fold(remark.what.clone(), |text, help| text + &help);
                (remark.place.clone(), what)
            })),
            Err(failure) => problems.extend(
                failure
                    .errors()
                    .iter()
                    .map(|error| (error.place().cloned(), error.story())),
            ),
        }
        Self { problems, remarks }
    }

    fn take(from: &mut Vec<(Option<Place>, String)>, file: &str, column: &str) -> Vec<String> {
        let is_of = |place: &Option<Place>| {
            let place = place.as_ref();
            place.is_some_and(|place| {
                let key = format!(".\"{column}\"");
                let is_key = place.key.as_ref().is_some_and(|own| own.ends_with(&key));
                (*place.file == *file && place.column.as_deref() == Some(column)) || is_key
            })
        };
        let (own, others): (Vec<_>, Vec<_>) = std::mem::take(from)
            .into_iter()
            .partition(|(place, _)| is_of(place));
        *from = others;
        own.into_iter().map(|(_, text)| text).collect()
    }
}

fn file_facts(
    files: &Files,
    points: &PointsSettings,
    read: (Option<&Inputs>, Option<&Settings>),
    said: &mut Said,
) -> Result<FileFacts, Refused> {
    let file = points.file.display().to_string();
    let part = points.reading.sheet.as_deref();
    let heads = column_heads(files, &points.file, part, VALUES)
        .map_err(|error| Refused::Engine(error.into()))?;
    let columns = heads.into_iter().map(|head| {
        let mut facts = ColumnFacts {
            role: role(points, &head.name),
            is: None,
            method: None,
            unit: head.unit.clone(),
            depth: None,
            is_said: false,
            problems: Said::take(&mut said.problems, &file, &head.name),
            remarks: Said::take(&mut said.remarks, &file, &head.name),
            name: head.name,
            values: head.values,
        };
        meaning(&mut facts, points, &file, read);
        facts
    });
    Ok(FileFacts {
        columns: columns.collect(),
        kind: points.kind,
        file,
    })
}

/// What a column is, by the plan or by the layer that was read from it.
fn meaning(
    facts: &mut ColumnFacts,
    points: &PointsSettings,
    file: &str,
    (inputs, settings): (Option<&Inputs>, Option<&Settings>),
) {
    let planned = points.columns.iter().find(|(name, _)| **name == facts.name);
    if let Some((_, meaning)) = planned {
        facts.is_said = true;
        facts.is = Some(meaning.analyte.name());
        facts.method = meaning.method.as_ref().map(|own| own.name().to_owned());
        facts.unit = meaning.unit.clone().or_else(|| facts.unit.clone());
        let units = settings.map(|settings| settings.units).unwrap_or_default();
        facts.depth = meaning.depth.map(|depth| depth.show(units));
        return;
    }
    let layers = inputs.into_iter().flat_map(|inputs| &inputs.field.layers);
    let mut own = layers.filter(|layer| *layer.column == *facts.name && is_of(layer, inputs, file));
    if let (Some(layer), None) = (own.next(), facts.role) {
        facts.is = Some(layer.key.analyte.name());
        facts.method = layer.key.method.as_ref().map(|own| own.name().to_owned());
        facts.unit = facts.unit.clone().or_else(|| Some(layer.unit.to_string()));
    }
}

fn is_of(layer: &FieldLayer, inputs: Option<&Inputs>, file: &str) -> bool {
    let places = inputs.and_then(|inputs| inputs.field.places.get(layer.places));
    places.is_some_and(|places| *places.file == *file)
}

/// What a column is used as where it is no result.
fn role(points: &PointsSettings, column: &str) -> Option<&'static str> {
    let is = |name: &Option<String>| name.as_deref() == Some(column);
    if is(&points.x) {
        return Some("east or longitude");
    }
    if is(&points.y) {
        return Some("north or latitude");
    }
    if is(&points.id) {
        return Some("name of the sample");
    }
    if points.ignore.iter().any(|name| name == column) {
        return Some("not read");
    }
    let is_depth = match &points.depths {
        Depths::Column { column: own, .. } => own == column,
        Depths::TopAndBottom { top, bottom, .. } => top == column || bottom == column,
        Depths::Unknown | Depths::Fixed(_) => false,
    };
    let mut marks = points.cone.iter().flat_map(|cone| &cone.depths);
    if is_depth {
        Some("depth")
    } else {
        marks
            .any(|(name, _)| name == column)
            .then_some("cone reading")
    }
}

/// An analyte with its methods and units, for the lists.
#[derive(Debug, Serialize)]
pub struct AnalyteWords {
    /// Its name in the plan.
    pub name: String,
    /// What people call it.
    pub label: String,
    /// Test methods.
    pub methods: Vec<String>,
    /// Units.
    pub units: Vec<String>,
}

/// All analytes.
#[must_use]
pub fn words() -> Vec<AnalyteWords> {
    let catalogue = Catalogue::built_in();
    let entries = catalogue.entries();
    entries
        .map(|(analyte, entry)| AnalyteWords {
            name: analyte.name(),
            label: analyte.label(),
            methods: entry.method_names().map(str::to_owned).collect(),
            units: catalogue
                .factors(&analyte)
                .map(|(unit, _)| unit.to_owned())
                .collect(),
        })
        .collect()
}

//! One `[[points]]` table of the plan, from the columns of a file.

use std::fmt::Write as _;
use std::path::Path;

use crate::analyte::{Catalogue, LayerKey, Meaning, meaning_of, plain_name};
use crate::intake::columns::{Header, ResultColumn, plan_line};
use crate::intake::cone_roles::ConeForm;
use crate::intake::context::{Context, ReadingRules};
use crate::intake::coordinates::is_degree_name;
use crate::intake::delimited::read_header;
use crate::intake::depth_mark::depth_mark;
use crate::intake::error::IntakeError;
use crate::intake::roles;
use crate::intake::shape_table::header_of_shapes;
use crate::intake::shapes::{read_shapes, shape_format};
use crate::intake::source::{Source, place_of};
use crate::intake::table_roles::{DepthRole, TableRoles, table_roles};
use crate::plan::{BelowDetection, BlankBelow, ConeSettings, Depths, PointKind, PointsSettings};
use crate::units::decimal;

use super::text::{comment, quoted, relative};

/// A file's head, and what it is.
struct Sketch {
    header: Header,
    has_geometry: bool,
    crs: Option<String>,
    kind: PointKind,
}

/// The text of one `[[points]]` table.
pub(super) fn draft_points(file: &Path, folder: &Path) -> Result<String, Vec<IntakeError>> {
    let sketch = sketch(file).map_err(|error| vec![error])?;
    let settings = settings_of(file, &sketch);
    let rules = ReadingRules {
        below_detection: BelowDetection::Half,
        bulk_density: None,
        crop: "corn".to_owned(),
        season: None,
    };
    let mut context = Context::new(&settings, &rules);
    let roles = table_roles(&sketch.header, &mut context, sketch.has_geometry);
    if roles.id.is_none() && roles.x.is_none() {
        let what = "no column of coordinates and none of sample names was recognised".to_owned();
        return Err(vec![IntakeError::Nothing {
            place: place_of(file),
            what,
        }]);
    }
    let ties: Vec<&IntakeError> = context
        .errors
        .iter()
        .filter(|error| matches!(error, IntakeError::Tie { .. }))
        .collect();
    let hard: Vec<&IntakeError> = context
        .errors
        .iter()
        .filter(|error| !is_answered_by_draft(error))
        .collect();
    let mut out = String::from("\n[[points]]\n");
    let _ = writeln!(out, "file   = {}", quoted(&relative(file, folder)));
    write_kind(&mut out, &sketch);
    write_places(&mut out, &sketch, &roles);
    write_depth(&mut out, &sketch, &roles);
    write_cone(&mut out, &sketch, &roles);
    write_ignore(&mut out, &ties);
    for error in hard {
        let _ = writeln!(out, "# LOOK: {}", comment(&error.to_string()));
    }
    write_columns(&mut out, &sketch, &roles);
    Ok(out)
}

/// Problems that the draft answers with a guess.
fn is_answered_by_draft(error: &IntakeError) -> bool {
    matches!(
        error,
        IntakeError::Tie { .. }
            | IntakeError::Depth { .. }
            | IntakeError::Cone { .. }
            | IntakeError::CoordinateSystem { .. }
    )
}

fn sketch(file: &Path) -> Result<Sketch, IntakeError> {
    if shape_format(file).is_some() {
        let shapes = read_shapes(file, &mut Vec::new())?;
        let header = header_of_shapes(&shapes);
        let crs = if shapes.crs.is_some() || shapes.is_degrees_by_format {
            None
        } else {
            Some("EPSG:4326".to_owned())
        };
        let kind = kind_of(&header, shapes.list.len());
        return Ok(Sketch {
            header,
            has_geometry: true,
            crs,
            kind,
        });
    }
    let header = read_header(Source::Path(file), &place_of(file))?;
    let rows = Source::Path(file).size().map_or(0, |size| size / 40) as usize;
    let kind = kind_of(&header, rows);
    Ok(Sketch {
        header,
        has_geometry: false,
        crs: None,
        kind,
    })
}

/// Cone where there are depth marks or a depth with a resistance; cores where the catalogue knows results; else readings.
fn kind_of(header: &Header, rows: usize) -> PointKind {
    let marks = header
        .names
        .iter()
        .filter(|name| depth_mark(&plain_name(name)).is_some())
        .count();
    let has_resistance = header
        .find_role(&[
            "resistance",
            "cone index",
            "cone_index",
            "penetration resistance",
            "force",
        ])
        .is_some();
    let results = header
        .names
        .iter()
        .filter(|name| matches!(meaning_of(name), Meaning::Result(_) | Meaning::Tie(_)))
        .count();
    let is_long_lab = header.find_role(&roles::ANALYTE_NAMES).is_some()
        && header.find_role(&roles::VALUE_NAMES).is_some();
    if (marks >= 2 && results < 3) || (has_resistance && header.find_role(&["depth"]).is_some()) {
        PointKind::Cone
    } else if rows < 5_000 && (results > 0 || is_long_lab)
        || header.find_role(&roles::X_NAMES).is_none()
    {
        PointKind::Cores
    } else {
        PointKind::Readings
    }
}

fn settings_of(file: &Path, sketch: &Sketch) -> PointsSettings {
    let cone = ConeSettings {
        unit: cone_unit(&sketch.header).0.to_owned(),
        base_area_mm2: None,
        depths: Vec::new(),
        moisture: None,
        blank_below: BlankBelow::default(),
    };
    let unit = Some("in".to_owned())
        .filter(|_| sketch.kind == PointKind::Cone && !has_depth_unit(&sketch.header));
    let depth = sketch
        .header
        .find_role(&["depth"])
        .map(|at| sketch.header.name(at).to_owned());
    PointsSettings {
        file: file.to_owned(),
        kind: sketch.kind,
        crs: Some("EPSG:4326".to_owned()),
        x: None,
        y: None,
        id: None,
        depths: match (unit, depth) {
            (Some(unit), column) => Depths::Column {
                column: column.unwrap_or_default(),
                unit: Some(unit),
            },
            _ => Depths::Unknown,
        },
        columns: Vec::new(),
        ignore: Vec::new(),
        cone: (sketch.kind == PointKind::Cone).then_some(cone),
        place: place_of(file),
    }
}

fn has_depth_unit(header: &Header) -> bool {
    header.names.iter().any(|name| {
        let plain = plain_name(name);
        matches!(depth_mark(&plain), Some((_, Some(_))))
            || (plain.contains("depth") && roles::without_unit(&plain).1.is_some())
    })
}

fn write_kind(out: &mut String, sketch: &Sketch) {
    let (word, why) = match sketch.kind {
        PointKind::Cores => ("cores", "soil tests among its columns"),
        PointKind::Cone => ("cone", "readings by depth"),
        PointKind::Readings => ("readings", "other located numbers"),
    };
    let _ = writeln!(
        out,
        "kind   = \"{word}\"{}# GUESS: {why}; cores | cone | readings",
        " ".repeat(14 - word.len())
    );
}

fn write_places(out: &mut String, sketch: &Sketch, roles: &TableRoles) {
    let name = |at: usize| sketch.header.name(at);
    if !sketch.has_geometry {
        match (roles.x, roles.y) {
            (Some(x), Some(y)) => {
                if is_degree_name(name(x)) && is_degree_name(name(y)) {
                    let _ = writeln!(
                        out,
                        "crs    = \"EPSG:4326\"     # GUESS: degrees, because of the columns' names"
                    );
                } else {
                    let _ = writeln!(
                        out,
                        "crs    = \"EPSG:4326\"     # GUESS, AND LIKELY WRONG: write the system that x and y are in, such as \"EPSG:26914\""
                    );
                }
                let _ = writeln!(
                    out,
                    "x      = {}            # GUESS: because of its name",
                    quoted(name(x))
                );
                let _ = writeln!(
                    out,
                    "y      = {}            # GUESS: because of its name",
                    quoted(name(y))
                );
            }
            _ => {
                let _ = writeln!(
                    out,
                    "# no columns of coordinates: the results are joined by sample name to another [[points]] file that has places"
                );
            }
        }
    }
    if let Some(crs) = &sketch.crs {
        let _ = writeln!(
            out,
            "crs    = {}     # GUESS: the file has no .prj; write its coordinate system here",
            quoted(crs)
        );
    }
    if let Some(id) = roles.id {
        let _ = writeln!(
            out,
            "id     = {}            # GUESS: because of its name",
            quoted(name(id))
        );
    }
}

fn write_depth(out: &mut String, sketch: &Sketch, roles: &TableRoles) {
    if sketch.kind != PointKind::Cores {
        return;
    }
    let name = |at: usize| quoted(sketch.header.name(at));
    let unit = |metres: f64| {
        if (metres - 0.0254).abs() < 1e-9 {
            "in"
        } else {
            "cm"
        }
    };
    match &roles.depth {
        DepthRole::Text(at, unit) => {
            let _ = writeln!(
                out,
                "depth_column = {}      # GUESS: because of its name",
                name(*at)
            );
            let unit = unit
                .as_deref()
                .filter(|unit| matches!(*unit, "in" | "cm" | "mm" | "m" | "ft"));
            let _ = writeln!(
                out,
                "depth_unit = \"{}\"        # GUESS: the unit of depths that have none of their own",
                unit.unwrap_or("in")
            );
        }
        DepthRole::Pair(top, bottom, metres) => {
            let _ = writeln!(
                out,
                "top    = {}            # GUESS: because of the names of both columns",
                name(*top)
            );
            let _ = writeln!(out, "bottom = {}", name(*bottom));
            let _ = writeln!(out, "depth_unit = \"{}\"", unit(*metres));
        }
        _ => match pair_without_unit(&sketch.header) {
            Some((top, bottom)) => {
                let _ = writeln!(
                    out,
                    "top    = {}            # GUESS: because of the names of both columns",
                    name(top)
                );
                let _ = writeln!(out, "bottom = {}", name(bottom));
                let _ = writeln!(
                    out,
                    "depth_unit = \"in\"        # GUESS: the file does not say the unit"
                );
            }
            None if roles.results.iter().all(|result| result.depth.is_some())
                && !roles.results.is_empty() => {}
            None => {
                let _ = writeln!(
                    out,
                    "depth  = \"0-6 in\"        # GUESS: nothing in the file says how deep was sampled"
                );
            }
        },
    }
}

fn pair_without_unit(header: &Header) -> Option<(usize, usize)> {
    roles::DEPTH_PAIRS
        .iter()
        .find_map(|(top, bottom)| Some((header.find_role(&[top])?, header.find_role(&[bottom])?)))
}

/// A unit for cone readings: the file's word, else the one that the size of the readings speaks for.
fn cone_unit(header: &Header) -> (&'static str, bool) {
    let text = header
        .names
        .iter()
        .chain(header.units.iter().flatten())
        .map(|name| plain_name(name))
        .collect::<Vec<_>>()
        .join(" ");
    if let Some(unit) = [("psi", "psi"), ("kpa", "kPa"), ("mpa", "MPa")]
        .iter()
        .find(|(word, _)| text.contains(word))
    {
        return (unit.1, true);
    }
    let is_reading = |at: usize| {
        let plain = plain_name(header.name(at));
        depth_mark(&plain).is_some() || roles::RESISTANCE_NAMES.contains(&plain.as_str())
    };
    let mut numbers: Vec<f64> = header
        .sample
        .iter()
        .flat_map(|row| {
            row.iter()
                .enumerate()
                .filter(|(at, _)| is_reading(*at))
                .filter_map(|(_, cell)| cell.trim().parse().ok())
        })
        .collect();
    numbers.sort_by(f64::total_cmp);
    let unit = match numbers.get(numbers.len() / 2) {
        Some(median) if *median < 10.0 => "MPa",
        Some(median) if *median >= 700.0 => "kPa",
        _ => "psi",
    };
    (unit, false)
}

fn write_cone(out: &mut String, sketch: &Sketch, roles: &TableRoles) {
    let Some(cone) = &roles.cone else { return };
    let (unit, is_said) = cone_unit(&sketch.header);
    let why = if is_said {
        "because of the columns' names"
    } else {
        "because of the size of the readings; check it"
    };
    let _ = writeln!(out, "unit   = \"{unit}\"           # GUESS: {why}");
    match &cone.form {
        ConeForm::Wide(marks) => {
            let is_inches = marks.iter().all(|(_, _, depth)| {
                let inches = depth.metres() / 0.0254;
                (inches * 4.0 - (inches * 4.0).round()).abs() < 1e-6
            });
            let show = |metres: f64| {
                if is_inches {
                    format!("{} in", decimal(metres / 0.0254, 2))
                } else {
                    format!("{} cm", decimal(metres * 100.0, 2))
                }
            };
            let list: Vec<String> = marks
                .iter()
                .map(|(_, name, depth)| format!("{} = \"{}\"", quoted(name), show(depth.metres())))
                .collect();
            let _ = writeln!(
                out,
                "depths = {{ {} }}   # GUESS: because of the columns' names",
                list.join(", ")
            );
        }
        ConeForm::Long { depth, metres, .. } => {
            let unit = if (metres - 0.0254).abs() < 1e-9 {
                "in"
            } else if (metres - 0.01).abs() < 1e-9 {
                "cm"
            } else {
                "m"
            };
            let _ = writeln!(
                out,
                "depth_column = {}      # GUESS: one reading per row",
                quoted(sketch.header.name(*depth))
            );
            let _ = writeln!(out, "depth_unit = \"{unit}\"");
        }
        ConeForm::Maximum(at) => {
            let _ = writeln!(
                out,
                "depths = {{ {} = \"15 in\" }}   # GUESS: the largest reading of each push; how deep was pushed?",
                quoted(sketch.header.name(*at))
            );
        }
    }
    let _ = writeln!(
        out,
        "# moisture = \"field capacity\"   # what the operator noted; readings in dry soil are too high"
    );
}

/// Columns whose name has more than one meaning are left out until somebody says which.
fn write_ignore(out: &mut String, ties: &[&IntakeError]) {
    let names: Vec<String> = ties
        .iter()
        .filter_map(|tie| tie.place().column.as_deref())
        .map(quoted)
        .collect();
    if !names.is_empty() {
        for tie in ties {
            let _ = writeln!(out, "# LOOK: {}", comment(&tie.to_string()));
        }
        let _ = writeln!(
            out,
            "ignore = [{}]   # GUESS: left out, because their names have more than one meaning",
            names.join(", ")
        );
    }
}

fn write_columns(out: &mut String, sketch: &Sketch, roles: &TableRoles) {
    if let (Some(long), Some(cone)) = (cone_value(roles), &roles.cone) {
        let _ = writeln!(out, "  [points.columns]");
        let _ = writeln!(
            out,
            "  {} = {{ is = \"cone_index\", unit = \"{}\" }}",
            quoted(sketch.header.name(long)),
            cone.unit
        );
    }
    if let Some(long) = &roles.long {
        write_long_columns(out, sketch, long.analyte);
        return;
    }
    if roles.results.is_empty() {
        return;
    }
    let _ = writeln!(
        out,
        "  [points.columns]           # GUESS: each line from the column's name alone"
    );
    for column in &roles.results {
        let line = plan_line(&column.name, &column.key(None), column.unit.text.as_deref());
        let _ = writeln!(out, "  {line}{}", note_on(column));
    }
}

fn cone_value(roles: &TableRoles) -> Option<usize> {
    match roles.cone.as_ref()?.form {
        ConeForm::Long { value, .. } => Some(value),
        _ => None,
    }
}

fn write_long_columns(out: &mut String, sketch: &Sketch, analyte: usize) {
    let mut names: Vec<&str> = sketch
        .header
        .sample
        .iter()
        .filter_map(|row| row.get(analyte))
        .map(|cell| cell.trim())
        .collect();
    names.sort_unstable();
    names.dedup();
    let _ = writeln!(
        out,
        "  [points.columns]           # GUESS: analytes of the first rows; one result per row"
    );
    for name in names {
        if let Meaning::Result(found) = meaning_of(name) {
            let key = LayerKey::new(found.analyte, found.method, None);
            let _ = writeln!(out, "  {}", plan_line(name, &key, found.unit.as_deref()));
        }
    }
}

/// What is missing from a line.
fn note_on(column: &ResultColumn) -> String {
    let Some(entry) = Catalogue::built_in().entry(&column.analyte) else {
        return String::new();
    };
    let mut parts = Vec::new();
    if column.unit.text.is_none()
        && Catalogue::built_in()
            .conversion(&column.analyte, "", "")
            .is_err()
    {
        parts.push(format!(
            "the file does not say the unit: {} is taken",
            column.unit.canonical
        ));
    }
    if entry.needs_method && column.method.is_none() {
        let methods: Vec<&str> = entry.method_names().collect();
        parts.push(format!(
            "add method = \"...\" ({}); without it no rule is met",
            methods.join(", ")
        ));
    }
    if parts.is_empty() {
        String::new()
    } else {
        format!("   # LOOK: {}", parts.join("; "))
    }
}

//! What each column of a table is: what the plan says first, then what the catalogue recognises, with the reason.

use std::sync::Arc;

use crate::analyte::{
    Analyte, Catalogue, DepthRange, LayerKey, Meaning, Method, meaning_of, plain_name,
};
use crate::plan::{ColumnMeaning, PointKind};
use crate::remark::Remark;

use super::context::Context;
use super::error::IntakeError;
use super::name_check::check_name;
use super::nearest::nearest;
use super::result_unit::{IN_THE_PLAN, ResultUnit, resolve_unit};
use super::roles;
use super::unused::{
    NOT_RECOGNISED, RECOMMENDATIONS, note_readings_left_out, note_the_rest, note_unused, unclaimed,
};

/// The head of a table.
#[derive(Debug, Clone, Default)]
pub(super) struct Header {
    /// Names, trimmed; repeated names are numbered `NO3#1`, `NO3#2`.
    pub names: Vec<String>,
    /// What the units row says of each column.
    pub units: Vec<Option<String>>,
    /// The first rows as text.
    pub sample: Vec<Vec<String>>,
}

impl Header {
    pub(super) fn new(names: &[String], units: Vec<String>, sample: Vec<Vec<String>>) -> Self {
        let trimmed: Vec<String> = names
            .iter()
            .map(|name| name.split_whitespace().collect::<Vec<_>>().join(" "))
            .collect();
        let numbered = trimmed
            .iter()
            .enumerate()
            .map(|(at, name)| {
                let same =
                    |other: &&String| plain_name(other) == plain_name(name) && !name.is_empty();
                let count = trimmed.iter().filter(same).count();
                let before = trimmed.iter().take(at + 1).filter(same).count();
                if count > 1 {
                    format!("{name}#{before}")
                } else {
                    name.clone()
                }
            })
            .collect();
        let units = units
            .into_iter()
            .map(|unit| {
                Some(unit.trim().to_owned()).filter(|u| !matches!(u.as_str(), "" | "-" | "--"))
            })
            .collect();
        Self {
            names: numbered,
            units,
            sample,
        }
    }

    /// Index of a column by its exact name, blanks collapsed.
    pub(super) fn find(&self, name: &str) -> Option<usize> {
        let wanted = name.split_whitespace().collect::<Vec<_>>().join(" ");
        self.names.iter().position(|own| *own == wanted)
    }

    /// Index of the first column whose plain name, less its unit, is one of a list (in the list's order).
    pub(super) fn find_role(&self, names: &[&str]) -> Option<usize> {
        names.iter().find_map(|name| {
            let wanted = name.replace('_', " ");
            self.names
                .iter()
                .position(|own| roles::without_unit(&plain_name(own)).0 == wanted)
        })
    }

    /// Name of a column.
    pub(super) fn name(&self, at: usize) -> &str {
        self.names.get(at).map_or("", String::as_str)
    }

    /// What the units row says of a column.
    pub(super) fn unit(&self, at: usize) -> Option<&str> {
        self.units.get(at).and_then(Option::as_deref)
    }

    /// Whether the first rows hold numbers in a column and no text.
    pub(super) fn is_numeric(&self, at: usize) -> bool {
        let cells = || {
            self.sample
                .iter()
                .filter_map(|row| row.get(at))
                .map(|cell| cell.trim())
                .filter(|cell| !cell.is_empty())
        };
        let is_number = |cell: &str| {
            let cell = cell.trim_start_matches(['<', '>']).trim();
            cell.replace(',', ".").parse::<f64>().is_ok()
                || matches!(cell, "-" | "NA" | "ND" | "nan" | "NaN" | "N/A")
        };
        cells().next().is_some()
            && cells().all(is_number)
            && cells().any(|cell| cell.bytes().any(|b| b.is_ascii_digit()))
    }
}

/// A column of results.
#[derive(Debug, Clone)]
pub(super) struct ResultColumn {
    /// Index in the row.
    pub index: usize,
    /// Name in the file.
    pub name: Arc<str>,
    /// Analyte.
    pub analyte: Analyte,
    /// Method.
    pub method: Option<Method>,
    /// Unit.
    pub unit: ResultUnit,
    /// Depth of this column alone.
    pub depth: Option<DepthRange>,
    /// Column of its qualifiers.
    pub qualifier: Option<usize>,
}

impl ResultColumn {
    pub(super) fn key(&self, depth: Option<DepthRange>) -> LayerKey {
        LayerKey::new(
            self.analyte.clone(),
            self.method.clone(),
            self.depth.or(depth),
        )
    }
}

/// Finds a column that the plan names; notes an error where it is not there.
pub(super) fn named(
    header: &Header,
    context: &mut Context<'_>,
    name: &str,
    role: &str,
) -> Option<usize> {
    if let Some(at) = header.find(name) {
        return Some(at);
    }
    let numbered: Vec<&String> = header
        .names
        .iter()
        .filter(|own| {
            own.rsplit_once('#')
                .is_some_and(|(bare, _)| bare == name.trim())
        })
        .collect();
    if let Some(first) = numbered.first() {
        let line = format!("\"{first}\"");
        let what = format!(
            "{} columns are called \"{name}\"; they are numbered {}",
            numbered.len(),
            quoted(&numbered)
        );
        context.errors.push(IntakeError::Tie {
            place: context.column(name),
            what,
            line,
        });
        return None;
    }
    let nearest = nearest(name, &header.names);
    context.errors.push(IntakeError::MissingColumn {
        place: context.place(),
        column: name.to_owned(),
        role: role.to_owned(),
        nearest,
    });
    None
}

fn quoted(names: &[&String]) -> String {
    names
        .iter()
        .map(|name| format!("\"{name}\""))
        .collect::<Vec<_>>()
        .join(", ")
}

/// All columns of results of a wide table. `claimed` are the columns that have another role.
pub(super) fn result_columns(
    header: &Header,
    context: &mut Context<'_>,
    claimed: &mut Vec<usize>,
) -> Vec<ResultColumn> {
    let mut results = Vec::new();
    let settings = context.settings;
    let is_cone_reading = |meaning: &ColumnMeaning| {
        settings.kind == PointKind::Cone && meaning.analyte == Analyte::ConeIndex
    };
    for (name, meaning) in settings
        .columns
        .iter()
        .filter(|(_, meaning)| !is_cone_reading(meaning))
    {
        let Some(index) = named(
            header,
            context,
            name,
            &format!("{} = {{ is = \"{}\" }}", quote_key(name), meaning.analyte),
        ) else {
            continue;
        };
        claimed.push(index);
        results.extend(planned(header, context, index, meaning));
    }
    refuse_doubles(&results, context);
    for name in &settings.ignore {
        claimed.extend(named(header, context, name, "ignore"));
    }
    if settings.kind == PointKind::Cone {
        cone_rest(header, context, claimed, &mut results);
    } else {
        guess_the_rest(header, context, claimed, &mut results);
        remark_on_methods(context, &results);
    }
    results
}

fn quote_key(name: &str) -> String {
    format!("\"{name}\"")
}

fn planned(
    header: &Header,
    context: &mut Context<'_>,
    index: usize,
    meaning: &ColumnMeaning,
) -> Option<ResultColumn> {
    let name: Arc<str> = header.name(index).into();
    check_name(context, &name, &name, meaning);
    let (from_name, oxide) = match meaning_of(&name) {
        Meaning::Result(found) => (Some(found), false),
        Meaning::Oxide(_) => (None, !meaning.sure),
        _ => (None, false),
    };
    let same = from_name.filter(|found| {
        found.analyte == meaning.analyte || (found.unit.is_some() && !meaning.sure)
    });
    // Where the plan is sure, only what it leaves open is taken from elsewhere.
    let is_open = !(meaning.sure && meaning.unit.is_some());
    let name_unit = same
        .as_ref()
        .and_then(|found| found.unit.clone())
        .filter(|_| is_open);
    let name_depth = same.as_ref().and_then(|found| found.depth);
    if oxide
        && !meaning
            .unit
            .as_deref()
            .is_some_and(|unit| unit.to_lowercase().contains('o'))
    {
        context.errors.push(IntakeError::Tie {
            place: context.column(&name),
            what: format!(
                "the name says an oxide, the plan says {} without a unit of the oxide",
                meaning.analyte
            ),
            line: format!(
                "\"{name}\" = {{ is = \"{}\", unit = \"ppm {}\" }}",
                meaning.analyte,
                oxide_word(&meaning.analyte)
            ),
        });
        return None;
    }
    let unit = resolve_unit(
        context,
        &name,
        &meaning.analyte,
        [
            (meaning.unit.as_deref(), IN_THE_PLAN),
            (name_unit.as_deref(), "in the column's name"),
            (header.unit(index).filter(|_| is_open), "in the units row"),
        ],
    )?;
    let method = meaning.method.clone().or_else(|| {
        same.filter(|found| found.analyte == meaning.analyte)
            .and_then(|found| found.method)
    });
    Some(ResultColumn {
        index,
        name,
        analyte: meaning.analyte.clone(),
        method,
        unit,
        depth: meaning.depth.or(name_depth),
        qualifier: None,
    })
}

fn oxide_word(analyte: &Analyte) -> &'static str {
    match analyte {
        Analyte::Phosphorus => "P2O5",
        Analyte::Potassium => "K2O",
        Analyte::Calcium => "CaO",
        _ => "MgO",
    }
}

/// Two columns that the plan gives one meaning.
fn refuse_doubles(results: &[ResultColumn], context: &mut Context<'_>) {
    for (at, column) in results.iter().enumerate() {
        if let Some(other) = results
            .iter()
            .take(at)
            .find(|other| other.key(None) == column.key(None))
        {
            let what = format!(
                "\"{}\" and \"{}\" are both {} in the plan",
                other.name,
                column.name,
                column.key(None)
            );
            let line = format!(
                "\"{}\" = {{ is = \"{}\", method = \"...\" }} or ignore = [\"{}\"]",
                column.name, column.analyte, column.name
            );
            context.errors.push(IntakeError::Tie {
                place: context.column(&column.name),
                what,
                line,
            });
        }
    }
}

/// What a file of cone pushes holds beside its readings: moisture is read, all else is named.
fn cone_rest(
    header: &Header,
    context: &mut Context<'_>,
    claimed: &mut Vec<usize>,
    results: &mut Vec<ResultColumn>,
) {
    for index in unclaimed(header, claimed) {
        match meaning_of(header.name(index)) {
            Meaning::Result(found)
                if found.analyte == Analyte::Moisture && header.is_numeric(index) =>
            {
                claimed.push(index);
                guessed(header, context, index, &found, results);
            }
            _ => {}
        }
    }
    note_readings_left_out(header, context, claimed);
    note_the_rest(header, context, claimed);
}

fn guess_the_rest(
    header: &Header,
    context: &mut Context<'_>,
    claimed: &mut Vec<usize>,
    results: &mut Vec<ResultColumn>,
) {
    let mut strange = Vec::new();
    let mut recommendations = Vec::new();
    for index in unclaimed(header, claimed) {
        let name = header.name(index).to_owned();
        let base = name
            .rsplit_once('#')
            .filter(|(_, n)| n.parse::<u32>().is_ok())
            .map_or(name.as_str(), |(bare, _)| bare);
        match meaning_of(base) {
            Meaning::Result(found) => guessed(header, context, index, &found, results),
            Meaning::Tie(meanings) => {
                let first = meanings.first().map_or("...", |m| m.split(' ').next().unwrap_or(m));
                let line = format!("\"{name}\" = {{ is = \"{first}\" }} or ignore = [\"{name}\"]");
                let what = format!("the name may mean {}", meanings.join(" or "));
                context.errors.push(IntakeError::Tie { place: context.column(&name), what, line });
            }
            Meaning::Oxide(analyte) => context.remarks.push(
                Remark::warning(
                    "oxide-not-read",
                    format!("an oxide of {} is neither the element nor safely a soil test; the column is not used", analyte.label()),
                )
                .at(context.column(&name))
                .help(format!(
                    "if it is a result, say \"{name}\" = {{ is = \"{analyte}\", unit = \"ppm {}\" }}; else ignore = [\"{name}\"]",
                    oxide_word(&analyte)
                )),
            ),
            Meaning::Recommendation => recommendations.push(index),
            Meaning::Unknown
                if context.settings.kind == PointKind::Readings
                    && !name.is_empty()
                    && header.is_numeric(index)
                    && covariate(context, index, &name, results) => {}
            Meaning::Unknown => strange.push(index),
        }
    }
    find_qualifiers(header, results, claimed);
    strange.retain(|at| !claimed.contains(at));
    note_unused(header, context, &NOT_RECOGNISED, &strange);
    note_unused(header, context, &RECOMMENDATIONS, &recommendations);
}

fn guessed(
    header: &Header,
    context: &mut Context<'_>,
    index: usize,
    found: &crate::analyte::NamedResult,
    results: &mut Vec<ResultColumn>,
) {
    let name: Arc<str> = header.name(index).into();
    let key = LayerKey::new(found.analyte.clone(), found.method.clone(), found.depth);
    if let Some(other) = results.iter().find(|other| other.key(None) == key) {
        double_guess(context, &name, &Arc::clone(&other.name), &key);
        return;
    }
    let Some(unit) = resolve_unit(
        context,
        &name,
        &found.analyte,
        [
            (None, IN_THE_PLAN),
            (found.unit.as_deref(), "in the column's name"),
            (header.unit(index), "in the units row"),
        ],
    ) else {
        return;
    };
    let line = plan_line(&name, &key, unit.text.as_deref());
    let remark = Remark::assumption(
        "column-guessed",
        format!("read as {}, because of its name", named_key(&key)),
    )
    .at(context.column(&name));
    context
        .remarks
        .push(remark.help(format!("say so in the plan: {line}")));
    results.push(ResultColumn {
        index,
        name,
        analyte: found.analyte.clone(),
        method: found.method.clone(),
        unit,
        depth: found.depth,
        qualifier: None,
    });
}

/// The line of a plan that says what a column is.
pub(super) fn plan_line(name: &str, key: &LayerKey, unit: Option<&str>) -> String {
    let quoted = |text: &str| toml::Value::String(text.to_owned()).to_string();
    let mut line = format!("{} = {{ is = \"{}\"", quoted(name), key.analyte);
    if let Some(method) = &key.method {
        line.push_str(&format!(", method = {}", quoted(method.name())));
    }
    if let Some(unit) = unit.filter(|unit| !unit.is_empty()) {
        line.push_str(&format!(", unit = {}", quoted(unit)));
    }
    if let Some(depth) = key.depth {
        line.push_str(&format!(", depth = {}", quoted(&depth.as_written())));
    }
    line.push_str(" }");
    line
}

/// A layer's name with its depth as it was written.
pub(super) fn named_key(key: &LayerKey) -> String {
    let bare = LayerKey::new(key.analyte.clone(), key.method.clone(), None);
    key.depth.map_or_else(
        || bare.to_string(),
        |depth| format!("{bare}, {}", depth.as_written()),
    )
}

/// A guess that another column has the meaning of already: the plan's word stands; two guesses are a tie.
fn double_guess(context: &mut Context<'_>, name: &str, other: &str, key: &LayerKey) {
    if context
        .settings
        .columns
        .iter()
        .any(|(planned, _)| planned.trim() == other)
    {
        let remark = Remark::info(
            "column-not-needed",
            format!("not used: the plan has {key} from \"{other}\""),
        )
        .at(context.column(name));
        context.remarks.push(remark);
    } else {
        let line = format!(
            "\"{other}\" = {{ is = \"{}\" }} and ignore = [\"{name}\"]",
            key.analyte
        );
        let what = format!("\"{other}\" and \"{name}\" both look like {key}");
        context.errors.push(IntakeError::Tie {
            place: context.column(name),
            what,
            line,
        });
    }
}

/// Results of different methods are different numbers: says where the method is not known.
fn remark_on_methods(context: &mut Context<'_>, results: &[ResultColumn]) {
    let lacks = |column: &&ResultColumn| {
        column.method.is_none()
            && Catalogue::built_in()
                .entry(&column.analyte)
                .is_some_and(|entry| entry.needs_method)
    };
    let names: Vec<String> = results
        .iter()
        .filter(lacks)
        .map(|column| format!("\"{}\"", column.name))
        .collect();
    if !names.is_empty() && context.settings.kind == PointKind::Cores {
        let what = format!(
            "the test method is not known of {}; a rule holds for its method only",
            names.join(", ")
        );
        let remark = Remark::assumption("method-not-given", what).at(context.place());
        context.remarks.push(remark.help("add method = \"...\" to the column's line in the plan; the laboratory's sheet names it"));
    }
}

/// Reads a column as a covariate; not where another column has made one of the same name.
fn covariate(
    context: &mut Context<'_>,
    index: usize,
    name: &str,
    results: &mut Vec<ResultColumn>,
) -> bool {
    let slug = covariate_name(name);
    let analyte = Analyte::Covariate(slug.as_str().into());
    if results.iter().any(|other| other.analyte == analyte) {
        return false;
    }
    let remark = Remark::assumption(
        "column-guessed",
        format!("a column of numbers that the catalogue does not know: read as covariate:{slug}"),
    );
    context
        .remarks
        .push(remark.at(context.column(name)).help(format!(
        "say so in the plan: \"{name}\" = {{ is = \"covariate:{slug}\" }}, or ignore = [\"{name}\"]"
    )));
    results.push(ResultColumn {
        index,
        name: name.into(),
        analyte,
        method: None,
        unit: ResultUnit::none(),
        depth: None,
        qualifier: None,
    });
    true
}

/// A covariate's name made of a column's name.
pub(super) fn covariate_name(name: &str) -> String {
    let plain: String = plain_name(name)
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { '_' })
        .collect();
    plain
        .split('_')
        .filter(|part| !part.is_empty())
        .collect::<Vec<_>>()
        .join("_")
}

/// `P flag`, `P_qual` beside `P`, or a lone qualifier column right after the only result.
fn find_qualifiers(header: &Header, results: &mut [ResultColumn], claimed: &mut Vec<usize>) {
    for result in results {
        let own = plain_name(&result.name).replace('_', " ");
        let found = (0..header.names.len()).find(|at| {
            let plain = plain_name(header.name(*at)).replace('_', " ");
            let tail = plain.strip_prefix(&own).map(str::trim);
            let is_beside = *at == result.index + 1
                && roles::QUALIFIER_NAMES.contains(&plain.split('#').next().unwrap_or(&plain));
            !claimed.contains(at)
                && (is_beside || tail.is_some_and(|tail| roles::QUALIFIER_NAMES.contains(&tail)))
        });
        if let Some(at) = found {
            claimed.push(at);
            result.qualifier = Some(at);
        }
    }
}

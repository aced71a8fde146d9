//! What the catalogue makes of the columns that the plan does not name, with the reason.

use std::sync::Arc;

use crate::analyte::{Analyte, Catalogue, LayerKey, Meaning, meaning_of, plain_name};
use crate::plan::PointKind;
use crate::remark::Remark;

use crate::intake::columns::header::Header;
use crate::intake::columns::result::{
    ResultColumn, covariate_name, named_key, oxide_entry, plan_line,
};
use crate::intake::columns::result_unit::{IN_THE_PLAN, ResultUnit, resolve_unit};
use crate::intake::columns::roles;
use crate::intake::columns::units_row::{one_method, said_below};
use crate::intake::columns::unused::{
    NOT_RECOGNISED, RECOMMENDATIONS, note_readings_left_out, note_the_rest, note_unused, unclaimed,
};
use crate::intake::context::Context;
use crate::intake::error::IntakeError;

/// What a file of cone pushes holds beside its readings: moisture is read, all else is named.
pub(in crate::intake) fn cone_rest(
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

/// What the catalogue knows of the columns that are left; the others are named.
pub(in crate::intake) fn guess_the_rest(
    header: &Header,
    context: &mut Context<'_>,
    claimed: &mut Vec<usize>,
    results: &mut Vec<ResultColumn>,
) {
    let mut strange = Vec::new();
    let mut recommendations = Vec::new();
    for index in unclaimed(header, claimed) {
        let name = header.name(index).to_owned();
        match meaning_of(header.bare_name(index)) {
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
                    "if it is a result, say \"{name}\" = {}; else ignore = [\"{name}\"]",
                    oxide_entry(&analyte, &name, header.unit(index))
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
    let below = said_below(header, index, &found.analyte);
    let said = (found.method.as_ref(), "in the name");
    let column = (&*name, &found.analyte);
    let Ok(method) = one_method(context, column, said, below.method.as_ref()) else {
        return;
    };
    let method = method.or_else(|| context.settings.reading.method_for(&found.analyte));
    let key = LayerKey::new(found.analyte.clone(), method.clone(), found.depth);
    if let Some(other) = results.iter().find(|other| other.key(None) == key) {
        double_guess(context, &name, &Arc::clone(&other.name), &key);
        return;
    }
    let default_unit = context.settings.reading.unit_for(&found.analyte);
    let is_open = found.unit.is_none() && below.unit.is_none();
    let Some(unit) = resolve_unit(
        context,
        &name,
        &found.analyte,
        [
            (default_unit.as_deref().filter(|_| is_open), IN_THE_PLAN),
            (found.unit.as_deref(), "in the column's name"),
            (below.unit.as_deref(), "in the units row"),
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
        method,
        unit,
        depth: found.depth,
        qualifier: None,
    });
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
pub(in crate::intake) fn remark_on_methods(context: &mut Context<'_>, results: &[ResultColumn]) {
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
    let slug = covariate_name(name, index);
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

/// `P flag`, `P_qual` beside `P`, or a lone qualifier column right after the only result.
fn find_qualifiers(header: &Header, results: &mut [ResultColumn], claimed: &mut Vec<usize>) {
    let names = &roles::RoleNames::built_in().qualifier;
    let is_qualifier = |name: &str| names.iter().any(|own| own == name);
    for result in results {
        let own = plain_name(&result.name).replace('_', " ");
        let found = (0..header.names.len()).find(|at| {
            let plain = plain_name(header.name(*at)).replace('_', " ");
            let tail = plain.strip_prefix(&own).map(str::trim);
            let is_beside =
                *at == result.index + 1 && is_qualifier(plain.split('#').next().unwrap_or(&plain));
            !claimed.contains(at) && (is_beside || tail.is_some_and(&is_qualifier))
        });
        if let Some(at) = found {
            claimed.push(at);
            result.qualifier = Some(at);
        }
    }
}

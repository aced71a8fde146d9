//! What the plan says of a column, compared with the column itself.

use std::sync::Arc;

use crate::analyte::{Meaning, Method, meaning_of};
use crate::plan::ColumnMeaning;

use crate::intake::columns::check_name;
use crate::intake::columns::header::Header;
use crate::intake::columns::result::{ResultColumn, oxide_word};
use crate::intake::columns::result_unit::{IN_THE_PLAN, ResultUnit, resolve_unit};
use crate::intake::columns::units_row::{one_method, said_below, said_below_the_plan};
use crate::intake::context::Context;
use crate::intake::error::IntakeError;

/// A column that the plan gives a meaning.
pub(in crate::intake) fn planned(
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
    let name_depth = same.as_ref().and_then(|found| found.depth);
    if oxide && !names_oxide(meaning) {
        context.errors.push(oxide_tie(context, &name, meaning));
        return None;
    }
    let below = match &meaning.unit {
        Some(unit) => said_below_the_plan(header, context, index, (&meaning.analyte, unit)),
        None => said_below(header, index, &meaning.analyte),
    };
    let name_unit = same.as_ref().and_then(|found| found.unit.as_deref());
    let unit = unit_of_column(context, &name, meaning, (name_unit, below.unit.as_deref()))?;
    let of_name = same.filter(|found| found.analyte == meaning.analyte);
    let name_method = of_name.and_then(|found| found.method);
    let methods = (name_method.as_ref(), below.method.as_ref());
    let method = method_of_column(context, &name, meaning, methods).ok()?;
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

/// The unit, by plan, name and units row. Where the plan is sure, only what it leaves open is taken from elsewhere.
fn unit_of_column(
    context: &mut Context<'_>,
    name: &str,
    meaning: &ColumnMeaning,
    (in_name, below): (Option<&str>, Option<&str>),
) -> Option<ResultUnit> {
    let is_open = !(meaning.sure && meaning.unit.is_some());
    let in_name = in_name.filter(|_| is_open);
    let default_unit = context.settings.reading.unit_for(&meaning.analyte);
    let default_unit = default_unit.filter(|_| in_name.is_none() && below.is_none());
    let sayings = [
        (
            meaning.unit.as_deref().or(default_unit.as_deref()),
            IN_THE_PLAN,
        ),
        (in_name, "in the column's name"),
        (below.filter(|_| is_open), "in the units row"),
    ];
    resolve_unit(context, name, &meaning.analyte, sayings)
}

/// The method, by plan, name and units row; that of the laboratory where none of them says it. Notes an error where two of them disagree.
fn method_of_column(
    context: &mut Context<'_>,
    name: &str,
    meaning: &ColumnMeaning,
    (in_name, below): (Option<&Method>, Option<&Method>),
) -> Result<Option<Method>, ()> {
    let (said, who) = match &meaning.method {
        Some(method) => (Some(method), "in the plan"),
        None => (in_name, "in the name"),
    };
    let other = below.filter(|_| !meaning.sure);
    let column = (name, &meaning.analyte);
    let method = one_method(context, column, (said, who), other)?;
    Ok(method.or_else(|| context.settings.reading.method_for(&meaning.analyte)))
}

/// Whether the plan's unit is one of an oxide.
fn names_oxide(meaning: &ColumnMeaning) -> bool {
    let unit = meaning.unit.as_deref();
    unit.is_some_and(|unit| unit.to_lowercase().contains('o'))
}

fn oxide_tie(context: &Context<'_>, name: &str, meaning: &ColumnMeaning) -> IntakeError {
    IntakeError::Tie {
        place: context.column(name),
        what: format!(
            "the name says an oxide, the plan says {} without a unit of the oxide",
            meaning.analyte
        ),
        line: format!(
            "\"{name}\" = {{ is = \"{}\", unit = \"ppm {}\" }}",
            meaning.analyte,
            oxide_word(&meaning.analyte)
        ),
    }
}

/// Two columns that the plan gives one meaning.
pub(in crate::intake) fn refuse_doubles(results: &[ResultColumn], context: &mut Context<'_>) {
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

//! Holds what the plan says of a column against the column's own name.

use crate::analyte::{LayerKey, Meaning, contradiction, meaning_of};
use crate::plan::ColumnMeaning;

use crate::intake::columns::plan_line;
use crate::intake::context::Context;
use crate::intake::error::IntakeError;

/// Notes an error where a name says another analyte, method or depth than the plan, unless the plan is sure. Units are compared where they
/// are resolved.
///
/// `name` is what is read, `column` what the place of the error says: in a long table the name stands in a cell.
pub(in crate::intake) fn check_name(
    context: &mut Context<'_>,
    name: &str,
    column: &str,
    meaning: &ColumnMeaning,
) {
    if meaning.sure {
        return;
    }
    let base = without_number(name);
    let by_name = contradiction(base, &meaning.analyte, meaning.method.as_ref());
    let Some(said) = by_name.or_else(|| other_depth(base, meaning)) else {
        return;
    };
    let key = LayerKey::new(
        meaning.analyte.clone(),
        meaning.method.clone(),
        meaning.depth,
    );
    let line = plan_line(column, &key, meaning.unit.as_deref());
    context.errors.push(IntakeError::NameContradictsPlan {
        place: context.column(column),
        said,
        planned: crate::intake::columns::named_key(&key),
        plan: meaning.place.clone(),
        line: line.trim_end_matches(" }").to_owned() + ", sure = true }",
    });
}

/// A repeated name without the number that was given to it.
fn without_number(name: &str) -> &str {
    name.rsplit_once('#')
        .filter(|(_, number)| number.parse::<u32>().is_ok())
        .map_or(name, |(bare, _)| bare)
}

fn other_depth(name: &str, meaning: &ColumnMeaning) -> Option<String> {
    let Meaning::Result(found) = meaning_of(name) else {
        return None;
    };
    let (said, planned) = (found.depth?, meaning.depth?);
    (said != planned).then(|| format!("a depth of {}", said.as_written()))
}

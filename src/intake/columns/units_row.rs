//! What the row under the header says of a column: its unit, its test method, or both.

use crate::analyte::{Analyte, LayerKey, Method, UnitsCell, units_cell};
use crate::remark::Remark;

use crate::intake::columns::header::Header;
use crate::intake::columns::result::plan_line;
use crate::intake::context::Context;
use crate::intake::error::IntakeError;

/// What stands under a column's name. A text that is not understood counts as a unit, which is then refused with the units that are known.
pub(in crate::intake) fn said_below(header: &Header, index: usize, analyte: &Analyte) -> UnitsCell {
    let Some(text) = header.unit(index) else {
        return UnitsCell::default();
    };
    units_cell(analyte, text).unwrap_or_else(|| UnitsCell {
        unit: Some(text.to_owned()),
        method: None,
    })
}

/// The same for a column whose unit the plan says: a text that is not understood, and is not what the plan says, is told and left.
pub(in crate::intake) fn said_below_the_plan(
    header: &Header,
    context: &mut Context<'_>,
    index: usize,
    (analyte, planned): (&Analyte, &str),
) -> UnitsCell {
    let Some(text) = header.unit(index) else {
        return UnitsCell::default();
    };
    if let Some(cell) = units_cell(analyte, text) {
        return cell;
    }
    if text.trim() == planned.trim() {
        return UnitsCell::default();
    }
    let what = format!("\"{text}\" in the units row is not understood; the plan's unit is used");
    let place = context.column(header.name(index));
    context
        .remarks
        .push(Remark::info("units-row-not-read", what).at(place));
    UnitsCell::default()
}

/// The method of a column, said by one of two. Notes an error and gives nothing where they disagree.
pub(in crate::intake) fn one_method(
    context: &mut Context<'_>,
    (column, analyte): (&str, &Analyte),
    (first, who): (Option<&Method>, &str),
    below: Option<&Method>,
) -> Result<Option<Method>, ()> {
    match (first, below) {
        (Some(one), Some(other)) if one != other => {
            let key = LayerKey::new(analyte.clone(), Some(other.clone()), None);
            let line = plan_line(column, &key, None).replace(" }", ", sure = true }");
            context.errors.push(IntakeError::Tie {
                place: context.column(column),
                what: format!("the method is {one} {who} but {other} in the units row"),
                line,
            });
            Err(())
        }
        (one, other) => Ok(one.or(other).cloned()),
    }
}

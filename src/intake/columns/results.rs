//! All columns of results of a wide table: what the plan says first, then what the catalogue recognises.

use crate::analyte::Analyte;
use crate::plan::{ColumnMeaning, PointKind};

use crate::intake::columns::guess::{cone_rest, guess_the_rest, remark_on_methods};
use crate::intake::columns::header::Header;
use crate::intake::columns::named::named;
use crate::intake::columns::planned::{planned, refuse_doubles};
use crate::intake::columns::result::ResultColumn;
use crate::intake::context::Context;

/// All columns of results of a wide table. `claimed` are the columns that have another role.
pub(in crate::intake) fn result_columns(
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
            &format!(
                "{} = {{ is = \"{}\" }}",
                format_args!("\"{name}\""),
                meaning.analyte
            ),
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

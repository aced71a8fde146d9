//! How a file of points is written, as the user says it.

use crate::analyte::Method;
use crate::plan::error::Hint;
use crate::plan::error::PlanError;
use crate::plan::file_form::{FileForm, NumberForm};
use crate::plan::points_table::{NumbersTable, PointsTable};
use crate::plan::settings::PointKind;
use crate::text::shorten;

use super::plain;
use super::words::Resolver;

/// Most rows that can be passed over above a header: what is looked at of a file.
const MOST_SKIPPED: u64 = 50;

pub(super) fn file_form(table: &PointsTable, kind: PointKind, resolver: &Resolver<'_>) -> FileForm {
    let skip_rows = table.skip_rows.given().map_or(0, |written| {
        if written.value > MOST_SKIPPED {
            resolver.out_of_range(&written.place, written.value, "0 to 50");
        }
        written.value.min(MOST_SKIPPED) as u32
    });
    if let (Some(_), Some(layer)) = (table.sheet.given(), table.layer.given()) {
        let help = "sheet is for a spreadsheet, layer for a GeoPackage; keep the one that fits";
        resolver.contradiction(&layer.place, "both sheet and layer are said", help);
    }
    FileForm {
        numbers: number_form(&table.numbers, resolver),
        skip_rows,
        sheet: plain(&table.sheet).or_else(|| plain(&table.layer)),
        unit: plain(&table.unit).filter(|_| kind != PointKind::Cone),
        method: plain(&table.method).map(|method| Method::new(&method)),
    }
}

pub(super) fn number_form(table: &NumbersTable, resolver: &Resolver<'_>) -> NumberForm {
    let decimals = [(",", ','), (".", '.')];
    let groups = [(",", ','), (".", '.'), (" ", ' '), ("'", '\'')];
    let decimal = resolver.word(&table.decimal, "a decimal sign", &decimals);
    let thousands = resolver.word(&table.thousands, "a sign between thousands", &groups);
    if let (Some(_), Some(written)) = (
        decimal.filter(|_| decimal == thousands),
        table.thousands.given(),
    ) {
        resolver.note(PlanError::NotAllowed {
            place: written.place.clone(),
            found: shorten(&written.value),
            what: "a sign between thousands beside the same decimal sign",
            hint: Hint::from(None),
            allowed: "another sign than decimal".to_owned(),
        });
    }
    NumberForm {
        decimal,
        thousands,
        na: table
            .na
            .given()
            .map(|na| na.value.iter().map(|text| text.trim().to_owned()).collect())
            .unwrap_or_default(),
    }
}

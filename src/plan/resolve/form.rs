//! How a file of points is written, as the user says it.

use crate::analyte::{Analyte, Catalogue, Method};
use crate::plan::error::Hint;
use crate::plan::error::PlanError;
use crate::plan::file_form::{FileForm, NumberForm};
use crate::plan::points_table::{NumbersTable, PointsTable};
use crate::plan::reading::Typed;
use crate::plan::settings::PointKind;
use crate::text::{nearest, shorten};

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
        unit: (kind != PointKind::Cone)
            .then(|| file_unit(&table.unit, resolver))
            .flatten(),
        method: file_method(&table.method, resolver),
    }
}

/// A unit for all results of a file that say none; one in which no result of a laboratory stands would be left aside without a word.
fn file_unit(typed: &Typed<String>, resolver: &Resolver<'_>) -> Option<String> {
    let written = typed.given()?;
    let catalogue = Catalogue::built_in();
    let kinds = [
        Analyte::Potassium,
        Analyte::OrganicMatter,
        Analyte::CationExchangeCapacity,
        Analyte::ElectricalConductivity,
    ];
    let is_known = kinds
        .iter()
        .any(|analyte| catalogue.conversion(analyte, &written.value, "").is_ok());
    if !is_known {
        resolver.note(PlanError::NotAllowed {
            place: written.place.clone(),
            found: shorten(&written.value),
            what: "a unit of a laboratory's results",
            hint: Hint::from(None),
            allowed: "ppm, mg/kg, mg/100g, lb/ac, kg/ha, %, meq/100g and the like; of a cone, with kind = \"cone\"".to_owned(),
        });
    }
    is_known.then(|| written.value.clone())
}

/// A method for all results of a file that say none and know it.
fn file_method(typed: &Typed<String>, resolver: &Resolver<'_>) -> Option<Method> {
    let written = typed.given()?;
    let method = Method::new(&written.value);
    let mut names: Vec<&str> = Catalogue::built_in()
        .entries()
        .flat_map(|(_, entry)| entry.method_names())
        .collect();
    names.sort_unstable();
    names.dedup();
    if names.contains(&method.name()) {
        return Some(method);
    }
    resolver.note(PlanError::NotAllowed {
        place: written.place.clone(),
        found: shorten(&written.value),
        what: "a method of any analyte",
        hint: Hint::from(nearest(&written.value, names.iter().copied())),
        allowed: names.join(", "),
    });
    None
}

/// The method of a column. A laboratory may have one that the catalogue does not know, but a slip in the name of a known one would
/// part the results from every rule that reads them.
pub(super) fn column_method(
    typed: &Typed<String>,
    analyte: Option<&Analyte>,
    resolver: &Resolver<'_>,
) -> Option<Method> {
    let written = typed.given()?;
    let method = Method::new(&written.value);
    let entry = analyte.and_then(|analyte| Catalogue::built_in().entry(analyte));
    let names: Vec<&str> = entry.map_or_else(Vec::new, |entry| entry.method_names().collect());
    // bray-2 is no slip of bray-1.
    let letters = |name: &str| name.replace(|c: char| c.is_ascii_digit(), "");
    let meant = nearest(method.name(), names.iter().copied());
    let meant = meant.filter(|meant| letters(meant) != letters(method.name()));
    if names.contains(&method.name()) || meant.is_none() {
        return Some(method);
    }
    resolver.note(PlanError::NotAllowed {
        place: written.place.clone(),
        found: shorten(&written.value),
        what: "a method of this analyte that the program knows",
        hint: Hint::from(meant),
        allowed: names.join(", "),
    });
    None
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

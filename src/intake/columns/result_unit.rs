//! The unit of a column of results: who says it, whether it is accepted, and how it leads to the canonical unit.

use std::sync::Arc;

use crate::analyte::{Analyte, Catalogue, Conversion, DepthRange, UnitRefusal};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::decimal;

use crate::intake::context::Context;
use crate::intake::error::IntakeError;

/// A unit as it leads to the canonical one.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::intake) struct ResultUnit {
    /// As written; `None` where nobody says it.
    pub text: Option<String>,
    /// To the canonical unit.
    pub conversion: Conversion,
    /// Canonical unit.
    pub canonical: Arc<str>,
}

impl ResultUnit {
    /// A number without a unit.
    pub(in crate::intake) fn none() -> Self {
        Self {
            text: None,
            conversion: Conversion::Factor(1.0),
            canonical: "".into(),
        }
    }

    /// Canonical units in one of this unit; `None` where that needs a depth that is not known.
    pub(in crate::intake) fn factor(
        &self,
        depth: Option<DepthRange>,
        bulk_density: f64,
    ) -> Option<f64> {
        match self.conversion {
            Conversion::Factor(factor) => Some(factor),
            // ppm = kg/ha x 10 / (cm x g/cm3)
            Conversion::PerArea(factor) => depth
                .map(|depth| factor * 10.0 / (depth.thickness().metres() * 100.0 * bulk_density)),
        }
    }
}

/// Who says what of a unit, most trusted first.
pub(in crate::intake) type Sayings<'a> = [(Option<&'a str>, &'static str); 3];

/// The plan as the one who says a unit.
pub(in crate::intake) const IN_THE_PLAN: &str = "in the plan";
/// Why a unit per area cannot be turned into one per mass.
pub(in crate::intake) const NO_DEPTH: &str = "the sampling depth is not known";
const OR_SURE: &str =
    ", or add sure = true to the column's line in the plan where the plan is right";

/// The unit of a column. Notes an error and gives nothing where it is not accepted or two sayings disagree.
pub(in crate::intake) fn resolve_unit(
    context: &mut Context<'_>,
    column: &str,
    analyte: &Analyte,
    sayings: Sayings<'_>,
) -> Option<ResultUnit> {
    if matches!(analyte, Analyte::Covariate(_)) {
        return Some(own_unit(sayings));
    }
    let canonical: Arc<str> = Catalogue::built_in().canonical_unit(analyte).into();
    match agreed_unit(context, column, analyte, sayings) {
        Ok(Some((unit, conversion))) => Some(ResultUnit {
            text: Some(unit.to_owned()),
            conversion,
            canonical,
        }),
        Ok(None) => {
            remark_on_no_unit(context, column, analyte, &canonical);
            Some(ResultUnit {
                text: None,
                conversion: Conversion::Factor(1.0),
                canonical,
            })
        }
        Err(error) => {
            context.errors.push(error);
            None
        }
    }
}

/// A quantity that the catalogue does not know stays in the unit that is said first.
fn own_unit(sayings: Sayings<'_>) -> ResultUnit {
    let text = sayings
        .iter()
        .find_map(|(unit, _)| *unit)
        .map(str::to_owned);
    let canonical = text.as_deref().unwrap_or_default().into();
    ResultUnit {
        text,
        conversion: Conversion::Factor(1.0),
        canonical,
    }
}

/// The unit that is said first, where no other one contradicts it; `None` where nobody says one.
fn agreed_unit<'a>(
    context: &Context<'_>,
    column: &str,
    analyte: &Analyte,
    sayings: Sayings<'a>,
) -> Result<Option<(&'a str, Conversion)>, IntakeError> {
    let mut chosen: Option<(&str, &'static str, Conversion)> = None;
    for (unit, from) in sayings
        .into_iter()
        .filter_map(|(unit, from)| Some((unit?, from)))
    {
        let conversion = Catalogue::built_in()
            .conversion(analyte, unit, &context.rules.crop)
            .map_err(|refusal| refused_unit(context.column(column), analyte, unit, &refusal))?;
        match chosen {
            None => chosen = Some((unit, from, conversion)),
            Some((one, one_from, first)) if !is_same(first, conversion) => {
                return Err(IntakeError::UnitConflict {
                    place: context.column(column),
                    one: one.to_owned(),
                    one_from,
                    other: unit.to_owned(),
                    other_from: from,
                    help: if one_from == IN_THE_PLAN { OR_SURE } else { "" },
                });
            }
            Some(_) => {}
        }
    }
    Ok(chosen.map(|(unit, _, conversion)| (unit, conversion)))
}

fn is_same(one: Conversion, other: Conversion) -> bool {
    match (one, other) {
        (Conversion::Factor(a), Conversion::Factor(b))
        | (Conversion::PerArea(a), Conversion::PerArea(b)) => (a / b - 1.0).abs() < 1e-6,
        _ => false,
    }
}

/// Why a unit is refused, as an error at a place.
pub(in crate::intake) fn refused_unit(
    place: Place,
    analyte: &Analyte,
    unit: &str,
    refusal: &UnitRefusal,
) -> IntakeError {
    let canonical = Catalogue::built_in().canonical_unit(analyte).to_owned();
    let not = |why: &str, help: String| IntakeError::NotConvertible {
        place: place.clone(),
        analyte: analyte.label(),
        unit: unit.to_owned(),
        canonical,
        why: why.to_owned(),
        help,
    };
    match refusal {
        UnitRefusal::Unknown(allowed) => IntakeError::UnknownUnit {
            place,
            unit: unit.to_owned(),
            analyte: analyte.label(),
            allowed: allowed.join(", "),
        },
        UnitRefusal::PerVolume => not(
            "the lab scooped a volume of soil, and its weight is not known",
            "ask the lab for results by mass (mg/kg), or leave the column out with ignore"
                .to_owned(),
        ),
        UnitRefusal::ChargeOrAmount => not(
            "its ion carries two charges, and the unit does not say whether ions or charges are counted",
            "where the laboratory counts charges, say unit = \"mmol(+)/kg\" in the plan; else ask for mg/kg".to_owned(),
        ),
        UnitRefusal::Bushels(crops) => not(
            "the weight of a bushel depends on the crop",
            format!(
                "give the yield in kg/ha or lb/ac, or name one of these crops in the plan: {}",
                crops.join(", ")
            ),
        ),
    }
}

/// A number without a unit: harmless where the quantity has none, worth a look where labs use several.
fn remark_on_no_unit(context: &mut Context<'_>, column: &str, analyte: &Analyte, canonical: &str) {
    let catalogue = Catalogue::built_in();
    let is_saturation = canonical == "%" && analyte.name().ends_with("_pct");
    if is_saturation
        || catalogue
            .conversion(analyte, "", &context.rules.crop)
            .is_ok()
    {
        return;
    }
    let has_per_area = matches!(
        catalogue.conversion(analyte, "lb/ac", &context.rules.crop),
        Ok(Conversion::PerArea(_))
    );
    let what = format!(
        "no unit is given for {}; taken as {canonical}",
        analyte.label()
    );
    let remark = if has_per_area {
        Remark::warning(
            "unit-not-given",
            format!("{what} (labs also print lb/ac, about twice the number)"),
        )
    } else {
        Remark::assumption("unit-not-given", what)
    };
    let remark = remark.at(context.column(column)).help(format!(
        "say \"{column}\" = {{ is = \"{analyte}\", unit = \"{canonical}\" }}"
    ));
    context.remarks.push(remark);
}

/// Checks that a unit per area has what it needs, and says what was used.
pub(in crate::intake) fn check_per_area(
    context: &mut Context<'_>,
    column: &str,
    analyte: &Analyte,
    unit: &ResultUnit,
    has_depth: bool,
) {
    if !matches!(unit.conversion, Conversion::PerArea(_)) {
        return;
    }
    let text = unit.text.clone().unwrap_or_default();
    if !has_depth {
        context.errors.push(IntakeError::NotConvertible {
            place: context.column(column),
            analyte: analyte.label(),
            unit: text,
            canonical: unit.canonical.to_string(),
            why: NO_DEPTH.to_owned(),
            help: "add depth = \"0-6 in\" (or the depth that was sampled) to this [[points]] table"
                .to_owned(),
        });
        return;
    }
    let trade = Catalogue::built_in().trade_bulk_density;
    let basis = match context.rules.bulk_density {
        Some(density) => format!("the plan's bulk density of {} g/cm3", decimal(density, 3)),
        None => format!(
            "the trade's mass of soil, 2,000,000 lb per acre to 6 2/3 in (bulk density {} g/cm3, common practice)",
            decimal(trade, 3)
        ),
    };
    let remark = Remark::info(
        "unit-by-depth",
        format!(
            "{text} turned into {} with the sampling depth and {basis}",
            unit.canonical
        ),
    );
    context.remarks.push(
        remark
            .at(context.column(column))
            .help("set bulk_density in the plan where it is known"),
    );
}

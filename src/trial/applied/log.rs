//! The records of a machine that applied a product.

use crate::intake::{YieldColumn, YieldFile};
use crate::plan::YieldRole;
use crate::provenance::Place;
use crate::remark::Remark;
use crate::trial::error::TrialError;
use crate::trial::frame::Frame;
use crate::trial::strip_plan::PlannedRate;
use crate::units::{MassPerArea, Metering, ProductRate, Quantity, UnitSystem, VolumePerArea};

/// What a machine says that it applied of one product.
#[derive(Debug, Clone, PartialEq)]
pub struct AppliedLog {
    /// Name of the product.
    pub product: String,
    /// Metres along the way of travel and across it, and the rate there, kg/ha or L/ha.
    pub records: Vec<((f64, f64), f64)>,
}

/// The records of a file whose places stand on the field's plane already (`east` and `north`, metres).
///
/// `planned` are the rates of the run's strips: they say whether the product is metered by mass or by volume. A column without a unit is
/// taken to be in the unit that the run prints, and that is said.
///
/// # Errors
/// A product that no strip leaves out or tries; no column of a rate; a unit that is not one of rates.
pub fn applied_log(
    file: &YieldFile,
    (east, north): (&[f64], &[f64]),
    frame: &Frame,
    product: &str,
    planned: &[&PlannedRate],
    units: UnitSystem,
    remarks: &mut Vec<Remark>,
) -> Result<AppliedLog, TrialError> {
    let place = || Place::file(file.table.file.clone());
    let Some(known) = planned.iter().find(|rate| rate.product == product) else {
        return Err(TrialError::UnknownProduct {
            place: place(),
            product: product.to_owned(),
            known: names(planned),
        });
    };
    let column = file
        .columns
        .iter()
        .find(|column| column.role == YieldRole::AppliedRate)
        .ok_or_else(|| TrialError::NoAppliedRate {
            place: place(),
            columns: file.unused.join(", "),
        })?;
    let factor = factor(column, known.form, units).ok_or_else(|| TrialError::UnknownUnit {
        place: place().in_column(column.name.as_str()),
        unit: column.unit.clone().unwrap_or_default(),
        allowed: match known.form {
            Metering::Dry => MassPerArea::unit_names(),
            Metering::Liquid => VolumePerArea::unit_names(),
        },
    })?;
    remarks.extend(unit_assumed(column, known.form, units, place()));
    remarks.extend(below_nothing(column, place()));
    let places = east.iter().zip(north).map(|(x, y)| (*x, *y));
    let records = places
        .zip(&column.values)
        .filter(|(_, rate)| rate.is_finite() && **rate >= 0.0)
        .map(|(at, rate)| (frame.along_across(at), rate * factor))
        .collect();
    Ok(AppliedLog {
        product: product.to_owned(),
        records,
    })
}

/// Rates below 0, which no machine applies.
fn below_nothing(column: &YieldColumn, place: Place) -> Option<Remark> {
    let count = column.values.iter().filter(|rate| **rate < 0.0).count();
    (count > 0).then(|| {
        let what =
            format!("{count} rates are below 0 and are left out: nothing takes a product up");
        Remark::warning("rate-below-nothing", what)
            .at(place.in_column(column.name.as_str()))
            .help("look up the log's signs, and whether the column is the applied rate")
    })
}

/// What a column without a unit was taken to be in.
fn unit_assumed(
    column: &YieldColumn,
    form: Metering,
    units: UnitSystem,
    place: Place,
) -> Option<Remark> {
    let unit = form.rate_unit(units).1;
    column.unit.is_none().then(|| {
        let what = format!("the unit of the applied rate is not said; {unit} is taken");
        let help = format!(
            "write \"{}\" = {{ is = \"applied_rate\", unit = \"{unit}\" }} under [results.columns]",
            column.name
        );
        Remark::warning("rate-unit-assumed", what)
            .at(place.in_column(column.name.as_str()))
            .help(help)
    })
}

/// The products that the strips change, each once.
fn names(planned: &[&PlannedRate]) -> String {
    let mut names: Vec<&str> = planned.iter().map(|rate| rate.product.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    names.join(", ")
}

/// Kilograms or litres per hectare of one unit of the column.
fn factor(column: &YieldColumn, form: Metering, units: UnitSystem) -> Option<f64> {
    let unit = match &column.unit {
        Some(unit) => unit.as_str(),
        None => form.rate_unit(units).1,
    };
    let one = format!("1 {unit}");
    let rate = match form {
        Metering::Dry => ProductRate::Mass(MassPerArea::parse(&one).ok()?),
        Metering::Liquid => ProductRate::Volume(VolumePerArea::parse(&one).ok()?),
    };
    Some(rate.per_hectare())
}

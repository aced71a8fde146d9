//! What a build-up table gives back where nothing is short: told, and not ordered.

use super::need::{brought, parts};
use crate::diagnosis::Outcome;
use crate::rates::pending_rate::{PendingRate, number};
use crate::rates::zone_context::{FieldContext, ZoneContext};
use crate::remark::Remark;
use crate::rulebook::{Nutrient, RateForm};
use crate::units::MassPerArea;

/// Maintenance that a zone's tables give and the plan does not order.
pub(in crate::rates) struct Maintenance {
    pub nutrient: Nutrient,
    /// kg/ha by the table, less what goes out besides.
    pub left: f64,
    /// The table with its numbers.
    pub words: String,
}

/// The maintenance of the nutrients that are not short in a zone and whose test lies in a table's range for it; `pending` is what goes out.
pub(in crate::rates) fn maintenance(
    case: ZoneContext<'_>,
    pending: &[PendingRate],
) -> Vec<Maintenance> {
    let nutrients = Nutrient::ALL.into_iter();
    nutrients
        .filter(|nutrient| case.limit(nutrient.factor()).is_none())
        .filter_map(|nutrient| of_nutrient(case, nutrient, pending))
        .collect()
}

fn of_nutrient(
    case: ZoneContext<'_>,
    nutrient: Nutrient,
    pending: &[PendingRate],
) -> Option<Maintenance> {
    let mut findings = case.diagnosis.findings.iter();
    let finding = findings.find(|finding| {
        finding.factor == nutrient.factor()
            && finding.outcome == Outcome::Adequate
            && finding.inferred.is_none()
    })?;
    let (layer, value) = (finding.layer.as_ref()?, finding.value?);
    let rulebook = case.field.rulebook;
    let row = rulebook.rates.iter().find(|row| {
        row.is_for(nutrient, &case.field.crop.name, layer.method.as_ref())
            && case.diagnosis.unmet(&row.only_where, rulebook).is_none()
    })?;
    let RateForm::Build { maintain_to, .. } = &row.form else {
        return None;
    };
    let test = value / row.test_divided_by;
    // Without a yield goal nobody can tell what the crop takes.
    let (parts, _, Ok(removed)) = parts(case, row, test).ok()? else {
        return None;
    };
    let maintain = parts.maintain * row.unit;
    let besides = brought(case, pending, nutrient.part());
    let left = maintain - besides;
    if left <= 0.02 * maintain {
        return None;
    }
    let of_it = if besides > 0.0 {
        format!(", of which {} go out besides", case.show_mass(besides, 1))
    } else {
        String::new()
    };
    Some(Maintenance {
        nutrient,
        left,
        words: format!(
            "{}: maintenance {} by the table is not ordered{of_it}: at a test of {} nothing is short, and up to {} the table gives back what the crop takes ({removed}; {})",
            nutrient.label(),
            case.show_mass(maintain, 1),
            number(value),
            number(maintain_to * row.test_divided_by),
            row.source
        ),
    })
}

/// That the maintenance of a nutrient is not ordered, said once for the zones in which it is told.
pub(in crate::rates) fn not_ordered(
    field: &FieldContext<'_>,
    nutrient: Nutrient,
    told: &[(u32, Maintenance)],
) -> Option<Remark> {
    let of_it = || told.iter().filter(|(_, one)| one.nutrient == nutrient);
    let zones: Vec<String> = of_it().map(|(zone, _)| zone.to_string()).collect();
    let most = of_it().map(|(_, one)| one.left).fold(0.0, f64::max);
    let most = MassPerArea::from_kilograms_per_hectare(most);
    let what = format!(
        "{}: maintenance by the table, up to {}, is not ordered (zone {}): nothing is short there, and the table gives back what the crop takes",
        nutrient.label(),
        most.show(field.settings.units, 1),
        zones.join(", ")
    );
    let remark = Remark::info("maintenance-not-ordered", what);
    (!zones.is_empty())
        .then(|| remark.help("write a rate under [[override]] where it is to go out this season"))
}

//! Phosphate rock from the soil-test deficit, only where the soil is acid enough to dissolve it.

use super::super::pending_rate::{Need, PendingRate, number};
use super::super::zone_context::ZoneContext;
use crate::rulebook::Factor;
use crate::soil::phosphate_to_build_up;
use crate::units::Metering;

pub(super) fn pending(case: ZoneContext<'_>, others: &[PendingRate]) -> Option<PendingRate> {
    let finding = case.limit(Factor::Phosphorus)?;
    let product = case.field.rulebook.product("phosphate_rock")?;
    super::pending_rate(case, "phosphate_rock", others, || {
        let (Some(value), true) = (finding.value, product.analysis.phosphate > 0.0) else {
            return Need::unknown("no soil test to calculate from");
        };
        let deficit = (finding.threshold - value).max(0.0);
        let per_ppm = case.field.rulebook.numbers.phosphate_per_ppm;
        let phosphate = match phosphate_to_build_up(value, finding.threshold, per_ppm, 1.0) {
            Ok(phosphate) => phosphate,
            Err(error) => return Need::unknown(error.to_string()),
        };
        let rate = phosphate.kilograms_per_hectare() / (product.analysis.phosphate / 100.0);
        let units = case.field.settings.units;
        let step = format!(
            "{} ppm short x {} P2O5 per ppm = {} P2O5, {} % of the rock: {}; of it only {} % is available at once",
            number(deficit),
            per_ppm.show(units, 1),
            phosphate.show(units, 0),
            number(product.analysis.phosphate),
            case.show(rate, Metering::Dry),
            number(product.analysis.available_phosphate)
        );
        Need::new(rate, vec![step])
    })
}

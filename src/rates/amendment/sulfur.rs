//! Elemental sulfur: against alkalinity, or as sulfur where it is short. Never on free lime, which eats the acid.

use super::super::pending_rate::{Need, PendingRate, number};
use super::super::zone_context::ZoneContext;
use crate::diagnosis::Finding;
use crate::rulebook::{Factor, Metering, Product};

pub(super) fn pending(
    case: ZoneContext<'_>,
    sulfur_of_gypsum: f64,
    others: &[PendingRate],
) -> Option<PendingRate> {
    let product = case.field.rulebook.product("elemental_sulfur")?;
    if product.analysis.sulfur <= 0.0 {
        return None;
    }
    let against_alkali = case
        .limit(Factor::Alkalinity)
        .map(|finding| against_alkalinity(case, product, finding));
    let as_nutrient = case
        .limit(Factor::Sulfur)
        .map(|finding| as_nutrient(case, product, finding, sulfur_of_gypsum));
    let need = against_alkali
        .into_iter()
        .chain(as_nutrient)
        .reduce(Need::or_more)?;
    super::pending_rate(case, "elemental_sulfur", others, || need)
}

fn against_alkalinity(case: ZoneContext<'_>, product: &Product, finding: &Finding) -> Need {
    let Some(value) = finding.value else {
        return Need::unknown("no pH");
    };
    let per_ph = case.field.rulebook.numbers.sulfur_per_ph;
    let over = (value - finding.threshold).max(0.0);
    let rate = per_ph.kilograms_per_hectare() * over / (product.analysis.sulfur / 100.0);
    let step = format!(
        "pH {} over x {} of sulfur per unit, {} % sulfur: {}",
        number(over),
        per_ph.show(case.field.settings.units, 0),
        number(product.analysis.sulfur),
        case.show(rate, Metering::Dry)
    );
    Need {
        rate,
        steps: vec![step],
        ..Need::default()
    }
}

fn as_nutrient(
    case: ZoneContext<'_>,
    product: &Product,
    finding: &Finding,
    of_gypsum: f64,
) -> Need {
    let Some(value) = finding.value else {
        return Need::unknown("no sulfur test");
    };
    let per_ppm = case.field.rulebook.numbers.sulfur_per_ppm;
    let short = per_ppm.kilograms_per_hectare() * (finding.threshold - value).max(0.0);
    let left = (short - of_gypsum).max(0.0);
    let rate = left / (product.analysis.sulfur / 100.0);
    let mut steps = vec![format!(
        "sulfur {} ppm short x {} per ppm = {}",
        number(finding.threshold - value),
        per_ppm.show(case.field.settings.units, 1),
        case.show(short, Metering::Dry)
    )];
    if of_gypsum > 0.0 {
        steps.push(format!(
            "gypsum brings {}: {} left",
            case.show(of_gypsum, Metering::Dry),
            case.show(left, Metering::Dry)
        ));
    }
    steps.push(format!(
        "{} % sulfur: {}",
        number(product.analysis.sulfur),
        case.show(rate, Metering::Dry)
    ));
    Need {
        rate,
        steps,
        ..Need::default()
    }
}

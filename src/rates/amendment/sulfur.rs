//! Elemental sulfur: against alkalinity, or as sulfur where it is short. Not on free lime, which eats the acid; but where sodium limits there,
//! that is what it is for: the acid turns lime to gypsum, and where no gypsum goes out, sulfur may.

use super::super::pending_rate::{Need, PendingRate, number};
use super::super::zone_context::ZoneContext;
use crate::analyte::Analyte;
use crate::diagnosis::Finding;
use crate::rulebook::{Factor, Product};
use crate::soil::{SoilError, sodium_to_replace_meq, sulfur_for_sodium};
use crate::units::Metering;

/// As for gypsum: more exchangeable sodium, percent, is calculated as this.
const MOST_EXCHANGEABLE_SODIUM: f64 = 50.0;

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
    let is_gypsum_given = others
        .iter()
        .any(|other| other.product == "gypsum" && other.amount > 0.0);
    let sodium = case
        .limit(Factor::Sodium)
        .filter(|_| has_free_lime(case) && !is_gypsum_given)
        .map(|finding| for_sodium(case, product, finding).unwrap_or_else(Need::unknown));
    // On free lime sulfur is for sodium alone: the acid is eaten before it does anything else.
    let others_need = against_alkali.into_iter().chain(as_nutrient);
    let need = if case.limit(Factor::Sodium).is_some() && !is_without_free_lime(case) {
        let idle = others_need
            .map(|_| Need::refused("free lime eats the acid, and gypsum is the quicker way here"));
        sodium.into_iter().chain(idle).reduce(Need::or_more)?
    } else {
        others_need.reduce(Need::or_more)?
    };
    super::pending_rate(case, "elemental_sulfur", others, || need)
}

/// Whether the pH in water says that the soil holds free lime.
pub(super) fn has_free_lime(case: ZoneContext<'_>) -> bool {
    let from = case.field.rulebook.numbers.free_lime_ph;
    case.summary(&Analyte::Ph, None).is_some_and(|ph| {
        let is_water = ph.key.method.as_ref().is_some_and(|m| m.name() == "water");
        is_water && ph.mean >= from
    })
}

/// Whether the pH in water says that the soil holds no free lime.
fn is_without_free_lime(case: ZoneContext<'_>) -> bool {
    let from = case.field.rulebook.numbers.free_lime_ph;
    case.summary(&Analyte::Ph, None).is_some_and(|ph| {
        let is_water = ph.key.method.as_ref().is_some_and(|m| m.name() == "water");
        is_water && ph.mean < from
    })
}

/// Sulfur that makes the gypsum which takes the sodium off: a sulfur for a calcium, charge for charge.
pub(super) fn for_sodium(
    case: ZoneContext<'_>,
    product: &Product,
    finding: &Finding,
) -> Result<Need, String> {
    let layer = finding.layer.as_ref().and_then(|layer| layer.depth);
    let capacity = case
        .summary(&Analyte::CationExchangeCapacity, layer)
        .ok_or_else(|| "no CEC: how much sulfur it takes cannot be told".to_owned())?;
    let rule = case.field.rulebook.rule(&finding.rule);
    let goal = rule
        .and_then(|rule| rule.target)
        .unwrap_or(finding.threshold);
    let now = finding.value.unwrap_or(goal).min(MOST_EXCHANGEABLE_SODIUM);
    let told = |error: SoilError| error.to_string();
    let meq = sodium_to_replace_meq(capacity.mean, now, goal.min(now)).map_err(told)?;
    let soil = case.soil_mass(layer).map_err(told)?;
    let pure = sulfur_for_sodium(meq, soil).map_err(told)?;
    let factor = case.field.rulebook.numbers.gypsum_exchange_factor;
    let rate = pure.kilograms_per_hectare() * factor / (product.analysis.sulfur / 100.0);
    let step = format!(
        "free lime is here: soil life turns sulfur to acid, the acid turns lime to gypsum. Sodium from {} to {} % of CEC {} = {} meq/100 g; 16 g of sulfur for each equivalent, exchange factor {}: {} of {} % sulfur",
        number(now),
        number(goal),
        number(capacity.mean),
        number(meq),
        number(factor),
        case.show(rate, Metering::Dry),
        number(product.analysis.sulfur)
    );
    Ok(Need::new(rate, vec![step]))
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
    Need::new(rate, vec![step])
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
    Need::new(rate, steps)
}

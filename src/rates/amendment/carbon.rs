//! One source of carbon. Where the pools of carbon and nitrogen are known, the mass balance tells how much carbon moves the ratio; where
//! only the ratio is known, the rate rises with severity. Both begin at nothing where the ratio meets the threshold.

use super::super::pending_rate::{Need, PendingRate, number};
use super::super::zone_context::ZoneContext;
use crate::analyte::Analyte;
use crate::diagnosis::Finding;
use crate::rulebook::{Factor, Product};
use crate::soil::{CarbonSource, carbon_to_reach_ratio, nutrient_mass};
use crate::units::MassPerArea;
use crate::units::Metering;

/// The sources in the order in which they are tried.
const SOURCES: [&str; 2] = ["compost", "molasses"];

/// The pending rates of the first source that the zone takes; the ones held back before it come along with their reason.
pub(super) fn pending(case: ZoneContext<'_>) -> Vec<PendingRate> {
    let mut pending = Vec::new();
    for name in SOURCES {
        let Some(product) = case.field.rulebook.product(name) else {
            continue;
        };
        // Sugar feeds the soil life of a season; it does not build organic carbon.
        let Some(finding) = case.answered_by(name).find(|f| f.factor == Factor::Carbon) else {
            continue;
        };
        let Some(rate) = super::pending_rate(case, name, &pending, || need(case, product, finding))
        else {
            continue;
        };
        let is_given = rate.amount > 0.0;
        pending.push(rate);
        if is_given {
            break;
        }
    }
    pending
}

fn need(case: ZoneContext<'_>, product: &Product, finding: &Finding) -> Need {
    let is_ratio = finding
        .layer
        .as_ref()
        .is_some_and(|layer| layer.analyte == Analyte::CarbonNitrogenRatio);
    match pools(case, finding).filter(|_| is_ratio) {
        Some((carbon, nitrogen)) => by_balance(case, product, finding, carbon, nitrogen),
        None => by_severity(case, product, finding),
    }
}

/// Carbon and nitrogen of the water extract in the finding's layer.
fn pools(case: ZoneContext<'_>, finding: &Finding) -> Option<(MassPerArea, MassPerArea)> {
    let depth = finding.layer.as_ref()?.depth;
    let soil = case.soil_mass(depth).ok()?;
    let pool = |analyte| {
        let summary = case.summary(&analyte, depth)?;
        (summary.key.depth == depth)
            .then(|| nutrient_mass(summary.mean, soil).ok())
            .flatten()
    };
    Some((pool(Analyte::WaterCarbon)?, pool(Analyte::WaterNitrogen)?))
}

fn by_balance(
    case: ZoneContext<'_>,
    product: &Product,
    finding: &Finding,
    carbon: MassPerArea,
    nitrogen: MassPerArea,
) -> Need {
    let source = product
        .carbon_to_nitrogen
        .map_or(CarbonSource::WithoutNitrogen, CarbonSource::WithRatio);
    let added = match carbon_to_reach_ratio(carbon, nitrogen, finding.threshold, source) {
        Ok(added) => added,
        Err(error) => return Need::refused(error.to_string()),
    };
    let units = case.field.settings.units;
    let share = product.analysis.carbon / 100.0 * density(product);
    if share <= 0.0 {
        return Need::refused(format!("{} holds no carbon in the rulebook", product.label));
    }
    let rate = added.kilograms_per_hectare() / share;
    let ratio = product.carbon_to_nitrogen.map_or_else(
        || "no nitrogen".to_owned(),
        |ratio| format!("C:N {}", number(ratio)),
    );
    let steps = vec![
        format!(
            "water extract holds {} carbon and {} nitrogen; to reach {}:1 with {} ({ratio}): (T x N - C) / (1 - T / r) = {} carbon",
            carbon.show(units, 0),
            nitrogen.show(units, 1),
            number(finding.threshold),
            product.label,
            added.show(units, 0)
        ),
        format!(
            "{} % carbon: {}",
            number(product.analysis.carbon),
            case.show(rate, product.metering)
        ),
        "a mass balance of the extract, not a promise: soil life breathes most of what is added"
            .to_owned(),
    ];
    Need::new(rate, steps)
}

fn by_severity(case: ZoneContext<'_>, product: &Product, finding: &Finding) -> Need {
    let numbers = &case.field.rulebook.numbers;
    // Liquids are sources of sugar: up to the cap.
    let most = match product.metering {
        Metering::Dry => numbers.carbon_product_most.kilograms_per_hectare(),
        Metering::Liquid => case.season_cap(product).unwrap_or(product.smallest),
    };
    let rate = most * finding.severity;
    let step = format!(
        "pools of carbon and nitrogen not known: {} x severity {}: {}",
        case.show(most, product.metering),
        number(finding.severity),
        case.show(rate, product.metering)
    );
    Need::new(rate, vec![step])
}

/// Kilograms in a unit of the product's rate.
fn density(product: &Product) -> f64 {
    match product.metering {
        Metering::Dry => 1.0,
        Metering::Liquid => product
            .density
            .map_or(1.0, crate::units::Density::kilograms_per_litre),
    }
}

//! Gypsum for calcium, for sodium and for magnesium: the same calcium serves all three, so the largest need holds. What lime supplies,
//! gypsum need not.

use super::super::pending_rate::{Need, PendingRate, number};
use super::super::zone_context::ZoneContext;
use crate::analyte::Analyte;
use crate::diagnosis::{Finding, LayerSummary};
use crate::rulebook::{Factor, Product};
use crate::soil::{
    SodicSoil, calcium_to_raise_saturation, gypsum_for_calcium, gypsum_for_sodium, gypsum_product,
    gypsum_requirement_oster, nutrient_mass, sodium_to_replace_meq,
};
use crate::units::{Length, MassPerArea, UnitSystem};

/// Bulk density that the trade's mass of soil implies, g/cm³: 300,000 lb per acre-inch.
const TRADE_BULK_DENSITY: f64 = 1.324;

/// Most exchangeable sodium, percent, that the gypsum requirement is made for; more is calculated as this.
const MOST_EXCHANGEABLE_SODIUM: f64 = 50.0;

pub(super) fn pending(case: ZoneContext<'_>, calcium_of_lime: f64) -> Option<PendingRate> {
    let product = case.field.rulebook.product("gypsum")?;
    let calcium = case.limits_of(Factor::Calcium).map(|finding| {
        if is_acid(case, finding) {
            return Need::refused(
                "hydrogen holds the places of calcium here, and gypsum does not take it off: lime does, and supplies the calcium",
            );
        }
        if is_acidity_unknown(case) {
            return Need::refused(
                "whether the ground is acid is not known: have pH in water tested, or name its method; on acid ground lime brings the calcium",
            );
        }
        told(for_calcium(case, product, finding, calcium_of_lime))
    });
    let sodium = case
        .limits_of(Factor::Sodium)
        .map(|finding| told(for_sodium(case, product, finding)));
    let magnesium = case
        .limits_of(Factor::MagnesiumExcess)
        .map(|finding| told(for_magnesium(case, product, finding)));
    let need = calcium
        .chain(sodium)
        .chain(magnesium)
        .reduce(Need::or_more)?;
    super::pending_rate(case, "gypsum", &[], || need)
}

/// Whether the layer of a finding is acid: then hydrogen and not another base holds the places.
fn is_acid(case: ZoneContext<'_>, finding: &Finding) -> bool {
    let depth = finding.layer.as_ref().and_then(|layer| layer.depth);
    let is_same_layer = |acid: &Finding| acid.layer.as_ref().and_then(|layer| layer.depth) == depth;
    case.limit(Factor::Acidity).is_some()
        || case
            .limit(Factor::SurfaceAcidity)
            .is_some_and(is_same_layer)
}

/// Whether nothing tells if the ground is acid.
fn is_acidity_unknown(case: ZoneContext<'_>) -> bool {
    let mut unknown = case.diagnosis.not_known.iter();
    unknown.any(|unknown| unknown.factor == Factor::Acidity)
}

/// Sulfur in this season's gypsum.
pub(super) fn sulfur_kg_ha(case: ZoneContext<'_>, gypsum: Option<&PendingRate>) -> f64 {
    let sulfur = case
        .field
        .rulebook
        .product("gypsum")
        .map_or(0.0, |product| product.analysis.sulfur);
    gypsum.map_or(0.0, |pending| pending.amount * sulfur / 100.0)
}

fn told(need: Result<Need, String>) -> Need {
    need.unwrap_or_else(Need::unknown)
}

/// What an amendment aims at: the rule's target, or its threshold.
fn target(case: ZoneContext<'_>, finding: &Finding) -> f64 {
    case.field
        .rulebook
        .rule(&finding.rule)
        .and_then(|rule| rule.target)
        .unwrap_or(finding.threshold)
}

fn capacity<'a>(case: ZoneContext<'a>, finding: &Finding) -> Result<&'a LayerSummary, String> {
    let depth = finding.layer.as_ref().and_then(|layer| layer.depth);
    case.summary(&Analyte::CationExchangeCapacity, depth)
        .ok_or_else(|| "no CEC: how much gypsum it takes cannot be told".to_owned())
}

fn value_of(finding: &Finding) -> Result<f64, String> {
    finding
        .value
        .ok_or_else(|| format!("no value of {}", finding.factor.name()))
}

fn for_calcium(
    case: ZoneContext<'_>,
    product: &Product,
    finding: &Finding,
    of_lime: f64,
) -> Result<Need, String> {
    let depth = finding.layer.as_ref().and_then(|layer| layer.depth);
    let soil = case.soil_mass(depth).map_err(|error| error.to_string())?;
    let (calcium, formula) = calcium_short(case, finding, soil)?;
    let left = MassPerArea::from_kilograms_per_hectare(
        (calcium.kilograms_per_hectare() - of_lime).max(0.0),
    );
    let gypsum =
        gypsum_for_calcium(left, product.purity, 0.0).map_err(|error| error.to_string())?;
    let layer = depth
        .map(|depth| format!(" in {}", depth.show(case.field.settings.units)))
        .unwrap_or_default();
    let mut steps = vec![format!(
        "calcium short: {formula}{layer} = {}",
        mass(case, calcium)
    )];
    if of_lime > 0.0 {
        let brought = MassPerArea::from_kilograms_per_hectare(of_lime);
        steps.push(format!(
            "the lime brings {} of it: {} left",
            mass(case, brought),
            mass(case, left)
        ));
    }
    steps.push(format!(
        "as gypsum of {} %: {}; a ceiling, for not all calcium is held",
        number(product.purity),
        mass(case, gypsum)
    ));
    Ok(Need::new(gypsum.kilograms_per_hectare(), steps))
}

/// The calcium that is short in a mass of soil, and the formula: of a saturation or of a content.
fn calcium_short(
    case: ZoneContext<'_>,
    finding: &Finding,
    soil: MassPerArea,
) -> Result<(MassPerArea, String), String> {
    let (now, goal) = (value_of(finding)?, target(case, finding));
    let is_share = finding
        .layer
        .as_ref()
        .is_some_and(|layer| layer.analyte == Analyte::CalciumSaturation);
    if is_share {
        let cec = capacity(case, finding)?.mean;
        let calcium =
            calcium_to_raise_saturation(cec, now, goal, soil).map_err(|error| error.to_string())?;
        let formula = format!(
            "({} - {}) % of CEC {} meq/100 g",
            number(goal),
            number(now),
            number(cec)
        );
        return Ok((calcium, formula));
    }
    let calcium = nutrient_mass((goal - now).max(0.0), soil).map_err(|error| error.to_string())?;
    Ok((calcium, format!("({} - {}) ppm", number(goal), number(now))))
}

fn for_sodium(case: ZoneContext<'_>, product: &Product, finding: &Finding) -> Result<Need, String> {
    let depth = finding.layer.as_ref().and_then(|layer| layer.depth);
    let cec = capacity(case, finding)?.mean;
    let (now, goal) = (value_of(finding)?, target(case, finding));
    let soil = SodicSoil {
        field_factor: case.field.rulebook.numbers.gypsum_exchange_factor,
        depth: depth.map_or(
            Length::from_metres(0.1524),
            crate::analyte::DepthRange::thickness,
        ),
        bulk_density_g_cm3: case
            .field
            .settings
            .bulk_density
            .unwrap_or(TRADE_BULK_DENSITY),
        cation_exchange_capacity_meq: cec,
        esp_now_pct: now.min(MOST_EXCHANGEABLE_SODIUM),
        esp_wanted_pct: goal,
        purity_pct: product.purity,
    };
    let gypsum = gypsum_requirement_oster(&soil).map_err(|error| error.to_string())?;
    let step = format!(
        "sodium from {} to {} at CEC {} meq/100 g, exchange factor {}, by Oster et al. 1999: {} of {} % gypsum",
        number(soil.esp_now_pct),
        number(goal),
        number(cec),
        number(soil.field_factor),
        mass(case, gypsum),
        number(product.purity)
    );
    Ok(Need::new(gypsum.kilograms_per_hectare(), vec![step]))
}

fn for_magnesium(
    case: ZoneContext<'_>,
    product: &Product,
    finding: &Finding,
) -> Result<Need, String> {
    let depth = finding.layer.as_ref().and_then(|layer| layer.depth);
    let cec = capacity(case, finding)?.mean;
    let (now, goal) = (value_of(finding)?, target(case, finding));
    let meq = sodium_to_replace_meq(cec, now, goal).map_err(|error| error.to_string())?;
    let pure = gypsum_for_sodium(
        meq,
        case.soil_mass(depth).map_err(|error| error.to_string())?,
    )
    .map_err(|error| error.to_string())?;
    let gypsum = gypsum_product(pure, product.purity, 0.0).map_err(|error| error.to_string())?;
    let step = format!(
        "magnesium from {} to {} % of CEC {} meq/100 g = {} meq/100 g, charge for charge: {} of {} % gypsum",
        number(now),
        number(goal),
        number(cec),
        number(meq),
        mass(case, gypsum),
        number(product.purity)
    );
    Ok(Need::new(gypsum.kilograms_per_hectare(), vec![step]))
}

fn mass(case: ZoneContext<'_>, mass: MassPerArea) -> String {
    let decimals = usize::from(mass.number_in(UnitSystem::UnitedStates) < 20.0);
    mass.show(case.field.settings.units, decimals)
}

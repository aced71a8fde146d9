//! How much of a product a leaf feed carries: what the nutrient asks for, held under every cap.

use super::context::{SeasonContext, ZoneRecord};
use crate::crop::{concentration_pct, mass_for_concentration};
use crate::plan::Price;
use crate::rates::RateCap;
use crate::rulebook::{Factor, FoliarRule, Product};
use crate::units::{MassPerArea, ProductRate, UnitSystem, VolumePerArea, decimal};

/// A product's dose in a zone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Dose {
    pub amount: MassPerArea,
    pub wanted: MassPerArea,
    pub nutrient: MassPerArea,
    pub water: VolumePerArea,
    pub steps: Vec<String>,
    pub note: Option<String>,
    /// How many feeds of it the season takes.
    pub feeds: usize,
}

/// Steps that a product is weighed out in: a hundredth of a pound an acre, or of a kilogram a hectare.
fn step(units: UnitSystem) -> MassPerArea {
    let unit = MassPerArea::unit_in(units);
    let one = <MassPerArea as crate::units::Quantity>::parse(&format!("0.01 {unit}"));
    one.unwrap_or(MassPerArea::from_kilograms_per_hectare(0.01))
}

/// Share of the nutrient in a product, 0 to 1.
fn share(rule: &FoliarRule, product: &Product) -> f64 {
    product.analysis.part(rule.factor.key()).unwrap_or(0.0) / 100.0
}

/// The dose, or why nothing goes out.
pub(super) fn dose(
    rule: &FoliarRule,
    product: &Product,
    zone: &ZoneRecord,
    context: &SeasonContext<'_>,
) -> Result<Dose, String> {
    let units = context.units;
    let share = share(rule, product);
    if share <= 0.0 {
        return Err(format!(
            "{} holds no {} by its analysis",
            product.label,
            rule.factor.name()
        ));
    }
    let kilograms = |amount: MassPerArea| amount.kilograms_per_hectare();
    let wanted = MassPerArea::from_kilograms_per_hectare(kilograms(rule.rate) / share);
    let water = context.settings.water.unwrap_or(rule.water);
    let mut steps = vec![format!(
        "{} of {} / {} % in {} = {}",
        rule.rate.show_small(units),
        rule.factor.name(),
        decimal(100.0 * share, 1),
        product.label,
        wanted.show_small(units)
    )];
    let asked = wanted.show_small(units);
    if let Some(why) = too_little_water(water, context) {
        return Err(RateCap::refused_words(&asked, &why));
    }
    let caps = caps(rule, product, zone, (water, share), context);
    let (amount, note) = under_caps(wanted, &caps, units)?;
    steps.push(format!(
        "{} in {} of water is {} %",
        amount.show_small(units),
        water.show(units, 1),
        decimal(concentration_pct(amount, water), 2)
    ));
    let nutrient = MassPerArea::from_kilograms_per_hectare(kilograms(amount) * share);
    let whole = (kilograms(rule.season_most) / kilograms(nutrient) + 1e-9).floor();
    Ok(Dose {
        amount,
        wanted,
        nutrient,
        water,
        steps,
        note,
        feeds: rule.feeds.min((whole as usize).max(1)),
    })
}

/// What the lowest cap leaves of an amount, in whole steps, and the words where it cuts.
fn under_caps(
    wanted: MassPerArea,
    caps: &[RateCap],
    units: UnitSystem,
) -> Result<(MassPerArea, Option<String>), String> {
    let asked = wanted.show_small(units);
    let lowest = caps
        .iter()
        .min_by(|a, b| stored(a.most).total_cmp(&stored(b.most)));
    let cutting = lowest.filter(|cap| stored(cap.most) < wanted.kilograms_per_hectare());
    let allowed = cutting.map_or(wanted, |cap| {
        MassPerArea::from_kilograms_per_hectare(stored(cap.most))
    });
    let amount = down(allowed, units);
    let note = cutting.map(|cap| RateCap::cut_words(&asked, &amount.show_small(units), &cap.why));
    if amount.kilograms_per_hectare() <= 0.0 {
        let why = lowest.map_or("nothing is left of it", |cap| cap.why.as_str());
        return Err(RateCap::refused_words(&asked, why));
    }
    Ok((amount, note))
}

/// Why no salt goes out in so little water.
fn too_little_water(water: VolumePerArea, context: &SeasonContext<'_>) -> Option<String> {
    let least = context.rulebook.numbers.leaf_water_least;
    (water < least).then(|| {
        format!(
            "{} of water is less than the {} under which no salt goes on a leaf",
            water.show(context.units, 1),
            least.show(context.units, 1)
        )
    })
}

/// Kilograms per hectare of a cap.
fn stored(most: ProductRate) -> f64 {
    match most {
        ProductRate::Mass(mass) => mass.kilograms_per_hectare(),
        ProductRate::Volume(_) => f64::INFINITY,
    }
}

/// A mass per area down to its step.
fn down(amount: MassPerArea, units: UnitSystem) -> MassPerArea {
    let step = step(units).kilograms_per_hectare();
    let steps = (amount.kilograms_per_hectare() / step + 1e-6).floor();
    MassPerArea::from_kilograms_per_hectare(steps.max(0.0) * step)
}

/// A cap in kg/ha; nothing is the least.
fn cap(kilograms: f64, why: String) -> RateCap {
    RateCap {
        most: ProductRate::Mass(MassPerArea::from_kilograms_per_hectare(kilograms.max(0.0))),
        why,
    }
}

/// What the plan's products leave of the season's boron.
fn boron_cap(zone: &ZoneRecord, share: f64, context: &SeasonContext<'_>) -> RateCap {
    let most = context.rulebook.numbers.boron_most;
    let already: f64 = zone
        .applied
        .iter()
        .filter_map(|(name, rate)| {
            let analysis = &context.rulebook.product(name)?.analysis;
            Some(rate * analysis.boron / 100.0)
        })
        .sum();
    cap(
        (most.kilograms_per_hectare() - already) / share,
        format!(
            "all products together bring at most {} boron in a season",
            most.show(context.units, 1)
        ),
    )
}

fn caps(
    rule: &FoliarRule,
    product: &Product,
    zone: &ZoneRecord,
    (water, share): (VolumePerArea, f64),
    context: &SeasonContext<'_>,
) -> Vec<RateCap> {
    let units = context.units;
    let in_water = |percent: f64| mass_for_concentration(percent, water).kilograms_per_hectare();
    let mut caps = vec![cap(
        in_water(rule.spray_most),
        format!(
            "at most {} % of {} in the spray",
            decimal(rule.spray_most, 2),
            product.label
        ),
    )];
    if let Some(salt) = context.rulebook.season.salt_of(&context.crop.name) {
        caps.push(cap(
            in_water(salt.most),
            format!(
                "the spray holds at most {} % salt ({})",
                decimal(salt.most, 2),
                salt.source
            ),
        ));
    }
    caps.push(cap(
        rule.season_most.kilograms_per_hectare() / share,
        format!(
            "at most {} of {} a season through the leaf",
            rule.season_most.show_small(units),
            rule.factor.name()
        ),
    ));
    let given = |name: &str| {
        let mut applied = zone.applied.iter();
        applied
            .find(|(product, _)| product == name)
            .map_or(0.0, |(_, rate)| *rate)
    };
    if let Some(most) = product.cap {
        caps.push(cap(
            most - given(&product.name),
            format!("the most in a season ({})", product.cap_source),
        ));
    }
    if rule.factor == Factor::Boron {
        caps.push(boron_cap(zone, share, context));
    }
    caps
}

/// What a kilogram of a product costs, United States dollars; the plan's price over the rulebook's.
pub(super) fn price(product: &Product, context: &SeasonContext<'_>) -> Option<f64> {
    let mut own = context.prices.iter();
    let said = own.find(|(name, _)| *name == product.name);
    match said {
        Some((_, Price::PerMass(price))) => Some(price.dollars_per_kilogram()),
        _ => product.price,
    }
}

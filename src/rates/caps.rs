//! Every cap on a rate, in one place: what the recipe is made for, what the planter may carry on tight ground, what the seed bears, what the
//! pump meters, the season's most of a product, and where a product is not used at all.

use super::blend::Blend;
use super::material::Material;
use super::nutrients::is_open;
use super::pending_rate::PendingRate;
use super::pump::speed;
use super::seed_safe::{seed_safe, seed_safe_rate};
use super::zone_context::ZoneContext;
use crate::rulebook::{Factor, Product, Rulebook};
use crate::units::Metering;

/// What a cap is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum CapKind {
    /// The most that the recipe is made for.
    Recipe,
    /// The weight that the planter may carry on tight ground.
    PlanterWeight,
    /// Nitrogen plus potash beside the seed.
    SeedSalt,
    /// What the pump meters at the planned speed.
    Pump,
    /// The season's most of a product.
    Season,
    /// A product that is not used on this ground.
    NotHere,
    /// A product that carries salt, on salty ground.
    SaltyGround,
    /// A product that another one of the season undoes.
    NotTogether,
}

/// The most of a material in a zone, and why.
#[derive(Debug, Clone)]
pub(super) struct Cap {
    pub kind: CapKind,
    /// kg/ha or L/ha.
    pub most: f64,
    /// Completes "at most 3 gal/ac: ...".
    pub why: String,
}

impl Cap {
    /// Whether nothing at all may go out, for what the ground, the shed or the other products are: no smaller rate would do.
    pub fn allows_none(&self) -> bool {
        self.most <= 0.0 && matches!(self.kind, CapKind::NotHere | CapKind::NotTogether)
    }
}

/// The least of a material that can be applied, and why.
#[derive(Debug, Clone)]
pub(super) struct Floor {
    pub least: f64,
    pub why: String,
}

/// All caps of a material in a zone, where these other rates are given with it.
pub(super) fn caps(
    case: ZoneContext<'_>,
    material: Material<'_>,
    others: &[PendingRate],
) -> Vec<Cap> {
    let mut caps = match material {
        Material::Starter(blend) => starter_caps(case, blend),
        Material::Product(product) => product_caps(case, product, others),
    };
    let salty = case
        .diagnosis
        .findings
        .iter()
        .find(|finding| finding.closes_product(Rulebook::SALT_CARRYING));
    if let Some(finding) = salty.filter(|_| material.carries_salt()) {
        caps.push(nothing(CapKind::SaltyGround, finding.sentence.clone()));
    }
    caps
}

/// The lowest of some caps.
pub(super) fn lowest(caps: &[Cap]) -> Option<&Cap> {
    caps.iter().min_by(|a, b| a.most.total_cmp(&b.most))
}

fn nothing(kind: CapKind, why: String) -> Cap {
    Cap {
        kind,
        most: 0.0,
        why,
    }
}

fn starter_caps(case: ZoneContext<'_>, blend: &Blend<'_>) -> Vec<Cap> {
    let (recipe, units) = (blend.recipe, case.field.settings.units);
    let cap = |kind, most: f64, why: String| Cap { kind, most, why };
    let mut caps = vec![cap(
        CapKind::Recipe,
        recipe.most.litres_per_hectare(),
        case.told(|| "the most that the recipe is made for".to_owned()),
    )];
    if !case.field.crop.takes_starter {
        let why = format!("no furrow is opened for {}", case.field.crop.label);
        caps.push(nothing(CapKind::NotHere, why));
    }
    if case.limit(Factor::Air).is_some() {
        caps.push(cap(
            CapKind::PlanterWeight,
            recipe.most_on_tight_ground.litres_per_hectare(),
            case.told(|| "the ground is tight, and weight is kept off it".to_owned()),
        ));
    }
    caps.push(match seed_safe(case) {
        Ok(safe) => {
            let limit = safe.limit.nitrogen_plus_potash;
            let why = case.told(|| {
                format!(
                    "nitrogen plus potash beside the seed stays under {} ({})",
                    limit.show(units, 1),
                    safe.limit.source
                )
            });
            cap(CapKind::SeedSalt, seed_safe_rate(blend, limit), why)
        }
        Err(why) => nothing(
            CapKind::SeedSalt,
            format!("no seed-safe limit can be told: {why}"),
        ),
    });
    let why = case.told(|| {
        let at = speed(case.field.settings.machine.speed, units);
        format!("what the pump meters at {at}")
    });
    caps.push(cap(CapKind::Pump, case.field.pump.most, why));
    caps
}

fn product_caps(case: ZoneContext<'_>, product: &Product, others: &[PendingRate]) -> Vec<Cap> {
    let season = case.season_cap(product).map(|most| Cap {
        kind: CapKind::Season,
        most,
        why: case.told(|| format!("the most in a season ({})", product.cap_source)),
    });
    let unmet = case
        .diagnosis
        .unmet(&product.only_where, case.field.rulebook)
        .map(|unmet| nothing(CapKind::NotHere, case.told(|| unmet.why())));
    let is_given = |name: &String| {
        others
            .iter()
            .any(|other| other.amount > 0.0 && other.product == name.as_str())
    };
    let undone = product
        .not_with
        .as_ref()
        .filter(|not_with| not_with.products.iter().any(is_given))
        .map(|not_with| nothing(CapKind::NotTogether, not_with.why.clone()));
    let not_in_shed = (!is_open(case.field, product)).then(|| {
        let why = format!(
            "{} is not in the shed: write it in products of [shed]",
            product.label
        );
        nothing(CapKind::NotHere, why)
    });
    let numbers = &case.field.rulebook.numbers;
    let sums = [
        ("phosphate", numbers.phosphate_most),
        ("boron", numbers.boron_most),
    ];
    let sums = sums
        .into_iter()
        .filter_map(|(part, most)| sum_cap(case, product, others, part, most));
    season
        .into_iter()
        .chain(unmet)
        .chain(not_in_shed)
        .chain(undone)
        .chain(sums)
        .collect()
}

/// What all products of a zone together may bring of a part: what the others leave of it.
fn sum_cap(
    case: ZoneContext<'_>,
    product: &Product,
    others: &[PendingRate],
    part: &str,
    most: crate::units::MassPerArea,
) -> Option<Cap> {
    let of = |material: Material<'_>| {
        let supplies = material.supplies();
        let found = supplies.iter().find(|(name, _)| *name == part);
        found.map_or(0.0, |(_, kilograms)| *kilograms)
    };
    let own = of(Material::Product(product));
    let besides: f64 = others
        .iter()
        .filter(|other| other.product != product.name.as_str())
        .filter_map(|other| Some(other.amount * of(case.field.material(&other.product)?)))
        .sum();
    let units = case.field.settings.units;
    (own > 0.0).then(|| Cap {
        kind: CapKind::Season,
        most: (most.kilograms_per_hectare() - besides).max(0.0) / own,
        why: case.told(|| {
            format!(
                "all products together bring at most {} {part} in a season",
                most.show(units, 1)
            )
        }),
    })
}

/// The floors of a material: below the greatest of them nothing is applied.
pub(super) fn floors(case: ZoneContext<'_>, material: Material<'_>) -> Vec<Floor> {
    let show = |rate: f64| case.show(rate, material.metering());
    match material {
        Material::Starter(blend) => {
            let recipe = blend.recipe.least.litres_per_hectare();
            let pump = case.field.pump.least;
            let at =
                case.told(|| speed(case.field.settings.machine.speed, case.field.settings.units));
            vec![
                Floor {
                    least: recipe,
                    why: format!("the recipe is made for {} and more", show(recipe)),
                },
                Floor {
                    least: pump,
                    why: format!("the pump meters no less than {} at {at}", show(pump)),
                },
            ]
        }
        Material::Product(product) => vec![Floor {
            least: product.smallest,
            why: format!(
                "less than {} does not spread evenly",
                show(product.smallest)
            ),
        }],
    }
}

/// A rate that a check strip could try: as near to the usual one as every cap but the gate's allows; `None` where none fits.
pub(super) fn strip_rate(case: ZoneContext<'_>, blend: &Blend<'_>) -> Option<f64> {
    let material = Material::Starter(blend);
    let most = lowest(&caps(case, material, &[])).map_or(f64::INFINITY, |cap| cap.most);
    let usual = blend.recipe.usual.litres_per_hectare().min(most);
    let step = case.field.steps.of_metering(Metering::Liquid);
    let rate = super::rounding::down_to_step(usual, step);
    let is_enough = floors(case, material)
        .iter()
        .all(|floor| rate >= floor.least * (1.0 - 1e-9));
    (rate > 0.0 && is_enough).then_some(rate)
}

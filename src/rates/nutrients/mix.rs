//! The field's mix: needs and caps of all zones become one problem, and its answer becomes rates with their reasons.

use super::candidates::{candidates, on_hand};
use super::need::{Needed, brought};
use super::program::{Choice, MixProblem, MixProduct, MixZone, cheapest_mix};
use super::removal::removal;
use crate::rates::material::Material;
use crate::rates::money_over_time::BuildUp;
use crate::rates::pending_rate::{Need, PendingRate};
use crate::rates::zone_context::{FieldContext, ZoneContext};
use crate::rulebook::{Factor, Nutrient, Product};

/// What the mix gives one zone.
#[derive(Debug, Clone, Default)]
pub(in crate::rates) struct Mixed {
    /// Products and their needs.
    pub rates: Vec<(String, Need)>,
    /// What could not be met, in words.
    pub cautions: Vec<String>,
}

/// The mix of every zone, in the order of the zones; `given` are the rates that go out besides.
pub(in crate::rates) fn mix(
    field: &FieldContext<'_>,
    zones: &[(ZoneContext<'_>, Vec<Needed>, &[PendingRate])],
) -> Vec<Mixed> {
    let is_wanted = |nutrient: &Nutrient| {
        let mut needs = zones.iter().flat_map(|(_, needs, _)| needs);
        needs.any(|need| need.nutrient == *nutrient && need.left() > 1e-6)
    };
    let wanted: Vec<Nutrient> = Nutrient::ALL.into_iter().filter(is_wanted).collect();
    let products = if wanted.is_empty() {
        Vec::new()
    } else {
        candidates(field, &wanted)
    };
    let problem = problem(field, zones, &wanted, &products);
    let (best, next) = cheapest_mix(&problem);
    let choice = if field.has_words {
        why_not(field, &products, &best, next.as_ref())
    } else {
        None
    };
    (zones.iter().zip(&best.rates))
        .map(|((case, needs, _), rates)| mixed(*case, needs, &products, rates, choice.as_deref()))
        .collect()
}

/// The parts that ceilings count, in their order.
const CEILINGS: [&str; 7] = [
    "phosphate",
    "nitrogen",
    "potash",
    "sulfur",
    "zinc",
    "boron",
    "manganese",
];

fn problem(
    field: &FieldContext<'_>,
    zones: &[(ZoneContext<'_>, Vec<Needed>, &[PendingRate])],
    wanted: &[Nutrient],
    products: &[&Product],
) -> MixProblem {
    let numbers = &field.rulebook.numbers;
    let share = |product: &Product, part: &str| {
        let supplies = Material::Product(product).supplies();
        let found = supplies.iter().find(|(name, _)| *name == part);
        found.map_or(0.0, |(_, kilograms)| *kilograms)
    };
    // A product answers only what it is meant for: nobody spreads litter for its magnesium. What it brings besides counts under the ceilings.
    let answers = |product: &Product, nutrient: &Nutrient| {
        if product.feeds.contains(nutrient) {
            share(product, nutrient.part())
        } else {
            0.0
        }
    };
    let of_product = |product: &&Product| MixProduct {
        price: field.prices.price_of(&product.name).unwrap_or(0.0),
        brings: wanted.iter().map(|n| answers(product, n)).collect(),
        counts: CEILINGS.iter().map(|part| share(product, part)).collect(),
        on_hand: on_hand(field, product),
    };
    let passes = field
        .settings
        .supply
        .passes
        .map_or(numbers.spreader_passes, f64::from);
    MixProblem {
        products: products.iter().map(of_product).collect(),
        zones: zones
            .iter()
            .map(|(case, needs, given)| zone(*case, needs, given, wanted, products))
            .collect(),
        pass: numbers.cost_of_effort.dollars_per_hectare(),
        worth: numbers.worth_of_a_need.dollars_per_hectare(),
        passes: passes as usize,
    }
}

fn zone(
    case: ZoneContext<'_>,
    needs: &[Needed],
    given: &[PendingRate],
    wanted: &[Nutrient],
    products: &[&Product],
) -> MixZone {
    let left = |nutrient: Nutrient| {
        let need = needs.iter().find(|need| need.nutrient == nutrient);
        need.map_or(0.0, Needed::left)
    };
    let most = |product: &&Product| {
        let material = Material::Product(product);
        let caps = crate::rates::caps::caps(case, material, given);
        let is_closed = case.closed_by(material).is_some()
            || given
                .iter()
                .any(|rate| rate.product == product.name.as_str() && rate.amount > 0.0);
        let most = crate::rates::caps::lowest(&caps).map_or(f64::INFINITY, |cap| cap.most);
        if is_closed { 0.0 } else { most.max(0.0) }
    };
    MixZone {
        hectares: case.hectares(),
        needs: wanted.iter().map(|nutrient| left(*nutrient)).collect(),
        ceilings: CEILINGS
            .iter()
            .map(|part| (ceiling(case, part, &left) - brought_besides(case, given, part)).max(0.0))
            .collect(),
        most: products.iter().map(most).collect(),
        least: products.iter().map(|product| product.smallest).collect(),
    }
}

/// What the other rates bring of a part; of potash and the like the need has it off already.
fn brought_besides(case: ZoneContext<'_>, given: &[PendingRate], part: &str) -> f64 {
    if matches!(part, "phosphate" | "nitrogen") {
        brought(case, given, part)
    } else {
        0.0
    }
}

/// Most of a part that the mix may bring, kg/ha.
fn ceiling(case: ZoneContext<'_>, part: &str, left: &dyn Fn(Nutrient) -> f64) -> f64 {
    let numbers = &case.field.rulebook.numbers;
    let plain = |mass: crate::units::MassPerArea| mass.kilograms_per_hectare();
    match part {
        "phosphate" if case.limit(Factor::PhosphorusExcess).is_some() => 0.0,
        "phosphate" => {
            let takes = removal(case, Nutrient::Phosphate).map_or(0.0, |(kilograms, _)| kilograms);
            // A slow source holds more than acts this season.
            let short = 2.0 * left(Nutrient::Phosphate);
            let usual = if takes > 0.0 {
                takes
            } else {
                plain(numbers.phosphate_ceiling)
            };
            short.max(usual).min(plain(numbers.phosphate_most))
        }
        "nitrogen" => plain(numbers.nitrogen_ceiling),
        "potash" => plain(numbers.potash_ceiling).max(left(Nutrient::Potash)),
        "sulfur" => plain(numbers.sulfur_ceiling).max(2.0 * left(Nutrient::Sulfur)),
        "zinc" => left(Nutrient::Zinc),
        "manganese" => left(Nutrient::Manganese),
        "boron" => left(Nutrient::Boron).min(plain(numbers.boron_most)),
        _ => f64::INFINITY,
    }
}

/// Why these products and not others, in one line.
fn why_not(
    field: &FieldContext<'_>,
    products: &[&Product],
    best: &Choice,
    next: Option<&Choice>,
) -> Option<String> {
    let label = |set: &[usize]| {
        let names: Vec<&str> = set.iter().map(|at| products[*at].label.as_str()).collect();
        names.join(" and ")
    };
    let next = next.filter(|_| !best.products.is_empty())?;
    let hectares: f64 = field
        .zones
        .zones
        .iter()
        .map(|zone| zone.area_m2 / 10_000.0)
        .sum();
    let more = (next.cost - best.cost) / hectares.max(f64::MIN_POSITIVE);
    let more = crate::units::MoneyPerArea::from_dollars_per_hectare(more);
    Some(format!(
        "the cheapest mix of {} product(s) looked at; the next, {}, costs {} more, spreading and what it leaves unmet counted in",
        products.len(),
        label(&next.products),
        more.show(field.settings.units, 2)
    ))
}

fn mixed(
    case: ZoneContext<'_>,
    needs: &[Needed],
    products: &[&Product],
    rates: &[f64],
    choice: Option<&str>,
) -> Mixed {
    let mut mixed = Mixed::default();
    for (product, rate) in products.iter().zip(rates).filter(|(_, rate)| **rate > 0.0) {
        let supplies = Material::Product(product).supplies();
        let mut steps = Vec::new();
        let is_answered =
            |need: &&Needed| need.left() > 0.0 && product.feeds.contains(&need.nutrient);
        for need in needs.iter().filter(is_answered) {
            let part = supplies
                .iter()
                .find(|(name, _)| *name == need.nutrient.part());
            if let Some((_, kilograms)) = part {
                if !case.field.has_words {
                    continue;
                }
                steps.extend(need.steps.iter().cloned());
                steps.push(format!(
                    "{} covers {} of the {} of {} that are left to supply",
                    product.label,
                    case.show_mass((rate * kilograms).min(need.left()), 1),
                    case.show_mass(need.left(), 1),
                    need.nutrient.label()
                ));
            }
        }
        steps.extend(choice.map(str::to_owned));
        let need = Need {
            rate: *rate,
            steps,
            build: build_up(needs, product),
            ..Need::default()
        };
        mixed.rates.push((product.name.clone(), need));
    }
    for need in needs {
        mixed.cautions.extend(unmet(case, need, products, rates));
    }
    mixed
}

/// The part of a product that builds tests up: of what it covers, by mass.
fn build_up(needs: &[Needed], product: &Product) -> Option<BuildUp> {
    let supplies = Material::Product(product).supplies();
    let covered = |need: &&Needed| {
        let part = need.nutrient.part();
        need.left() > 0.0
            && product.feeds.contains(&need.nutrient)
            && supplies.iter().any(|(name, _)| *name == part)
    };
    let all: f64 = needs.iter().filter(covered).map(Needed::left).sum();
    let built = needs.iter().filter(covered).filter_map(|need| {
        let build = need.build.as_ref()?;
        Some((build.share * need.left() / all, build.years))
    });
    built.fold(None, |sum: Option<BuildUp>, (share, years)| {
        let before = sum.unwrap_or(BuildUp { share: 0.0, years });
        Some(BuildUp {
            share: before.share + share,
            years: before.years.min(years),
        })
    })
}

/// What is left of a need, in words.
fn unmet(
    case: ZoneContext<'_>,
    need: &Needed,
    products: &[&Product],
    rates: &[f64],
) -> Option<String> {
    let label = need.nutrient.label();
    if let Some(why) = &need.refused {
        return Some(format!("{label} is short, and no rate is given: {why}"));
    }
    let met: f64 = (products.iter().zip(rates))
        .map(|(product, rate)| {
            let supplies = Material::Product(product).supplies();
            let part = supplies
                .iter()
                .find(|(name, _)| *name == need.nutrient.part());
            rate * part.map_or(0.0, |(_, kilograms)| *kilograms)
        })
        .sum();
    let short = need.left() - met;
    (short > 0.02 * need.wanted.max(1e-9) && short > 0.0).then(|| {
        let told = need.steps.join("; ");
        format!(
            "{label}: {} of {} left unmet by what may be used and its caps ({told})",
            case.show_mass(short, 1),
            case.show_mass(need.wanted, 1)
        )
    })
}

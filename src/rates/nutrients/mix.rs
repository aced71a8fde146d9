//! The field's mix: needs and caps of all zones become one problem, and its answer becomes rates with their reasons.

use super::candidates::{candidates, on_hand};
use super::ceiling::{CEILINGS, room};
use super::found::Found;
use super::need::Needed;
use super::program::{Choice, MixProblem, MixProduct, MixZone, cheapest_mix};
use super::unmet;
use crate::rates::material::Material;
use crate::rates::money_over_time::BuildUp;
use crate::rates::pending_rate::{Need, PendingRate};
use crate::rates::zone_context::{FieldContext, ZoneContext};
use crate::rulebook::{Nutrient, Product};

/// Share by which each usual need more raises what a kilogram counts for (own): enough to tell which zone comes first, no more.
const NEEDIEST_FIRST: f64 = 0.01;

/// What the mix gives one zone.
#[derive(Debug, Clone, Default)]
pub(in crate::rates) struct Mixed {
    /// Products and their needs.
    pub rates: Vec<(String, Need)>,
    /// The needs of which no amount can be told, in words.
    pub cautions: Vec<String>,
    /// How far the other needs are met.
    pub met: Vec<unmet::Met>,
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
    let choice = if field.has_words() {
        why_not(field, &products, &best, next.as_ref())
    } else {
        None
    };
    let found = Found {
        problem: &problem,
        wanted: &wanted,
        products: &products,
        best: &best,
    };
    (zones.iter().enumerate())
        .map(|(at, (case, needs, given))| {
            mixed((*case, needs, given), &found, at, choice.as_deref())
        })
        .collect()
}

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
        worth: wanted
            .iter()
            .map(|nutrient| worth(case, *nutrient, left(*nutrient)))
            .collect(),
        ceilings: CEILINGS
            .iter()
            .map(|part| room(case, needs, given, part))
            .collect(),
        most: products.iter().map(most).collect(),
        least: products.iter().map(|product| product.smallest).collect(),
    }
}

/// What a kilogram of a need counts for, United States dollars: the same whether the need is small or large, and by so much more with each usual
/// need that of scarce stock the zone with the larger need gets it first.
fn worth(case: ZoneContext<'_>, nutrient: Nutrient, need: f64) -> f64 {
    let numbers = &case.field.rulebook.numbers;
    let usual = numbers.usual_need(nutrient).kilograms_per_hectare();
    numbers.worth_of_a_need.dollars_per_hectare() / usual * (1.0 + NEEDIEST_FIRST * need / usual)
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
    (case, needs, given): (ZoneContext<'_>, &[Needed], &[PendingRate]),
    found: &Found<'_>,
    at: usize,
    choice: Option<&str>,
) -> Mixed {
    let mut mixed = Mixed::default();
    let rates = found.products.iter().zip(&found.rates()[at]);
    for (place, (product, rate)) in rates.enumerate().filter(|(_, (_, rate))| **rate > 0.0) {
        let mut steps = Vec::new();
        if case.field.has_words() {
            steps = covered(case, needs, product, *rate);
            let ceiling = unmet::full_ceiling(case, needs, found, (at, place));
            steps.extend(ceiling.map(|why| format!("{} {why}", product.label)));
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
    if case.field.has_words() {
        for need in needs {
            let label = need.nutrient.label();
            match &need.refused {
                Some(why) => mixed
                    .cautions
                    .push(format!("{label} is short, and no rate is given: {why}")),
                None => mixed
                    .met
                    .push(unmet::met((case, needs, given), need, found, at)),
            }
        }
    }
    mixed
}

/// What a product covers of each need that it is meant for, after the need's own table.
fn covered(case: ZoneContext<'_>, needs: &[Needed], product: &Product, rate: f64) -> Vec<String> {
    let supplies = Material::Product(product).supplies();
    let mut steps = Vec::new();
    let is_answered = |need: &&Needed| need.left() > 0.0 && product.feeds.contains(&need.nutrient);
    for need in needs.iter().filter(is_answered) {
        let mut supplies = supplies.iter();
        let part = supplies.find(|(name, _)| *name == need.nutrient.part());
        if let Some((_, kilograms)) = part {
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
    steps
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

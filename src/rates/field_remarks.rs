//! What is to be said once for the field: what is short and has no rate, prices that nobody gave, and a season that costs much of the crop.

use super::nutrients;
use super::zone_context::{FieldContext, ZoneContext};
use super::zone_plan::ZonePlan;
use super::{ProductUse, Recipe};
use crate::remark::Remark;
use crate::rulebook::{Nutrient, PriceSource};
use crate::units::{MoneyPerArea, fixed};

/// A zone with its finished rates.
type Zone<'a> = (ZoneContext<'a>, &'a ZonePlan);

/// Why no table can tell how much, and the nutrients that are short with their zones.
type Reason = (String, Vec<(Nutrient, Vec<String>)>);

/// All of them.
pub(super) fn all(
    field: &FieldContext<'_>,
    zones: &[Zone<'_>],
    products: &[ProductUse],
    recipe: Option<&Recipe>,
) -> Vec<Remark> {
    no_rates(zones)
        .into_iter()
        .chain(dear_season(field, zones))
        .chain(prices_nobody_gave(products, recipe))
        .collect()
}

/// Nutrients that are short where no table can tell how much, or only for a part, each reason once.
fn no_rates(zones: &[Zone<'_>]) -> Vec<Remark> {
    let none = reasons(zones, |need| need.refused.as_ref());
    let in_part = reasons(zones, |need| need.without_removal.as_ref());
    let of_none = none.into_iter().map(|(why, named)| {
        let what = format!("no rate for what is short: {}", named_words(&named));
        Remark::warning("no-rate", what).help(why)
    });
    let of_part = in_part.into_iter().map(|(why, named)| {
        let what = format!(
            "rates build the soil test up and leave out what the crop takes: {}",
            named_words(&named)
        );
        Remark::warning("rate-without-removal", what).help(why)
    });
    of_none.chain(of_part).collect()
}

/// The nutrients with their zones, by what is said of their needs.
fn reasons(zones: &[Zone<'_>], said: fn(&nutrients::Needed) -> Option<&String>) -> Vec<Reason> {
    let mut reasons: Vec<Reason> = Vec::new();
    for (case, plan) in zones {
        for need in nutrients::needs(*case, &plan.pending) {
            let Some(why) = said(&need).filter(|_| !is_given(*case, plan, need.nutrient)) else {
                continue;
            };
            let at = reasons.iter().position(|(known, _)| known == why);
            let at = at.unwrap_or_else(|| {
                reasons.push((why.clone(), Vec::new()));
                reasons.len() - 1
            });
            let named = &mut reasons[at].1;
            let number = plan.number.to_string();
            match named.iter_mut().find(|(known, _)| *known == need.nutrient) {
                Some((_, zones)) => zones.push(number),
                None => named.push((need.nutrient, vec![number])),
            }
        }
    }
    reasons
}

fn named_words(named: &[(Nutrient, Vec<String>)]) -> String {
    let words = named
        .iter()
        .map(|(nutrient, zones)| format!("{} in {}", nutrient.key(), in_zones(zones)));
    words.collect::<Vec<_>>().join("; ")
}

/// Whether the consultant sets a product that feeds a nutrient.
fn is_given(case: ZoneContext<'_>, plan: &ZonePlan, nutrient: Nutrient) -> bool {
    let mut rates = plan.pending.iter();
    rates.any(|rate| {
        let product = case.field.rulebook.product(&rate.product);
        rate.amount > 0.0
            && rate.overridden.is_some()
            && product.is_some_and(|product| product.feeds.contains(&nutrient))
    })
}

fn in_zones(zones: &[String]) -> String {
    let word = if zones.len() == 1 { "zone" } else { "zones" };
    format!("{word} {}", zones.join(", "))
}

/// Zones in which the season costs more than a share of what the crop brings at the plan's goal and price.
fn dear_season(field: &FieldContext<'_>, zones: &[Zone<'_>]) -> Option<Remark> {
    let units = field.settings.units;
    let gross = nutrients::gross_of_goal(field)?;
    let from = field.rulebook.numbers.dear_season_from;
    let cost = |plan: &ZonePlan| plan.products_cost(field) + plan.other_cost();
    let dear = zones.iter().map(|(_, plan)| (plan.number, cost(plan)));
    let dear: Vec<(u32, f64)> = dear.filter(|(_, cost)| *cost > from * gross).collect();
    let most = dear.iter().map(|(_, cost)| *cost).reduce(f64::max)?;
    let show = |dollars| MoneyPerArea::from_dollars_per_hectare(dollars).show(units, 0);
    let numbers: Vec<String> = dear.iter().map(|(zone, _)| zone.to_string()).collect();
    let most = if dear.len() == 1 {
        show(most)
    } else {
        format!("up to {}", show(most))
    };
    let what = format!(
        "{} costs {most}, more than {} % of the {} that the crop brings at the plan's yield and price",
        in_zones(&numbers),
        fixed(100.0 * from, 0),
        show(gross)
    );
    let help = if field.settings.budget.is_some() {
        "lower [budget], or spread over seasons what serves for years: lime, build-up"
    } else {
        "set [budget] in the plan, or spread over seasons what serves for years: lime, build-up"
    };
    Some(Remark::warning("dear-season", what).help(help))
}

/// Products that are bought at the rulebook's own prices.
fn prices_nobody_gave(products: &[ProductUse], recipe: Option<&Recipe>) -> Option<Remark> {
    let bought = products
        .iter()
        .filter(|product| product.total_mass.kilograms() + product.total_volume.litres() > 0.0)
        .map(|product| (product.price_source, &product.label));
    let mixed = recipe
        .into_iter()
        .flat_map(|recipe| &recipe.ingredients)
        .filter(|part| part.total_mass.kilograms() + part.total_volume.litres() > 0.0)
        .map(|part| (part.price_source, &part.label));
    let mut named: Vec<&str> = Vec::new();
    for (source, label) in bought.chain(mixed) {
        if source == PriceSource::BuiltIn && !named.contains(&label.as_str()) {
            named.push(label);
        }
    }
    let what = format!(
        "no price is given for {}: what they cost here is by the rulebook's invented prices",
        named.join("; ")
    );
    (!named.is_empty()).then(|| {
        Remark::assumption("prices-assumed", what)
            .help("write your dealer's prices under [prices] in the plan")
    })
}

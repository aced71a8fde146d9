//! Rates that are a part of what is needed: the rest goes out in further seasons, or not at all.

use crate::deliver::columns::RateColumn;
use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;
use crate::deliver::zone_view::ZoneView;
use crate::rates::UnmetNeed;
use crate::rulebook::Nutrient;
use crate::units::{MassPerArea, UnitSystem};

/// A need under this is printed with a tenth.
const TENTHS_BELOW: f64 = 20.0;

/// A zone's rate, its whole need, and over how many seasons the rest goes.
struct Part {
    zone: u32,
    rate: f64,
    need: f64,
    seasons: f64,
}

/// Each product of which a zone gets less than it needs: "gypsum 4,000 of 10,250 lb/ac (zone 1), rest over 2 more seasons"; empty where
/// none is.
#[must_use]
pub fn parts_of_the_need(overview: &Overview<'_>) -> String {
    let columns = overview.used_columns();
    let lines: Vec<String> = columns
        .filter_map(|column| line(column, &parts(overview, column)))
        .collect();
    lines.join("; ")
}

fn parts(overview: &Overview<'_>, column: &RateColumn<'_>) -> Vec<Part> {
    let zones = overview.zones.iter().enumerate();
    let part = |(place, view): (usize, &ZoneView<'_>)| {
        let mut rates = view.rates.rates.iter();
        let rate = rates.find(|rate| rate.product == column.product.name)?;
        (rate.seasons_after > 0 && column.rates[place] > 0.0).then(|| Part {
            zone: view.number,
            rate: column.rates[place],
            need: rate.needed.number_in(overview.units),
            seasons: f64::from(rate.seasons_after),
        })
    };
    zones.filter_map(part).collect()
}

fn line(column: &RateColumn<'_>, parts: &[Part]) -> Option<String> {
    let seasons = parts.iter().map(|part| part.seasons);
    let most = seasons.clone().reduce(f64::max)?;
    let word = if most > 1.0 { "seasons" } else { "season" };
    Some(format!(
        "{} {} of {} {} ({}), rest over {} more {word}",
        column.product.name.words(),
        range(parts.iter().map(|part| part.rate), column.decimals),
        range(parts.iter().map(|part| part.need), column.decimals),
        column.unit,
        in_zones(parts.iter().map(|part| part.zone)),
        range(seasons, 0)
    ))
}

/// What the rates leave of each nutrient, zone by zone: "phosphate (P2O5) 24 of 102 lb/ac (zone 1), 100 of 100 (zone 2)"; empty where they
/// reach all.
#[must_use]
pub fn needs_not_met(overview: &Overview<'_>) -> String {
    let of_nutrient = |nutrient: Nutrient| {
        let of_zone = |view: &ZoneView<'_>| {
            let mut unmet = view.rates.unmet.iter();
            let need = unmet.find(|need| need.nutrient == nutrient)?;
            Some((view.number, *need))
        };
        let unmet: Vec<(u32, UnmetNeed)> = overview.zones.iter().filter_map(of_zone).collect();
        let words = amounts(&unmet, overview.units);
        (!unmet.is_empty()).then(|| format!("{} {words}", nutrient.label()))
    };
    let lines = Nutrient::ALL.into_iter().filter_map(of_nutrient);
    lines.collect::<Vec<_>>().join("; ")
}

/// "24 of 102 lb/ac (zone 1), 100 of 100 (zones 2, 3)".
fn amounts(unmet: &[(u32, UnmetNeed)], system: UnitSystem) -> String {
    let wanted = |need: &UnmetNeed| need.wanted.number_in(system);
    let most = unmet.iter().map(|(_, need)| wanted(need));
    let decimals = usize::from(most.fold(0.0, f64::max) < TENTHS_BELOW);
    // Zones of which the same is printed stand together.
    let mut printed: Vec<((String, String), Vec<u32>)> = Vec::new();
    for (zone, need) in unmet {
        let pair = (
            grouped(need.left.number_in(system), decimals),
            grouped(wanted(need), decimals),
        );
        match printed.iter_mut().find(|(known, _)| *known == pair) {
            Some((_, zones)) => zones.push(*zone),
            None => printed.push((pair, vec![*zone])),
        }
    }
    let part = |(at, ((left, wanted), zones)): (usize, &((String, String), Vec<u32>))| {
        let unit = if at == 0 {
            format!(" {}", MassPerArea::unit_in(system))
        } else {
            String::new()
        };
        format!(
            "{left} of {wanted}{unit} ({})",
            in_zones(zones.iter().copied())
        )
    };
    let parts = printed.iter().enumerate().map(part);
    parts.collect::<Vec<_>>().join(", ")
}

/// "520 to 2,410", or one number where all are printed alike.
fn range(numbers: impl Iterator<Item = f64> + Clone, decimals: usize) -> String {
    let low = grouped(numbers.clone().fold(f64::INFINITY, f64::min), decimals);
    let high = grouped(numbers.fold(f64::NEG_INFINITY, f64::max), decimals);
    if low == high {
        high
    } else {
        format!("{low} to {high}")
    }
}

/// "zones 1, 2".
pub(super) fn in_zones(numbers: impl Iterator<Item = u32>) -> String {
    let numbers: Vec<String> = numbers.map(|number| number.to_string()).collect();
    let word = if numbers.len() == 1 { "zone" } else { "zones" };
    format!("{word} {}", numbers.join(", "))
}

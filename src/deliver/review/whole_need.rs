//! Rates that are a part of what is needed: the rest goes out in further seasons, or not at all.

use crate::deliver::columns::RateColumn;
use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;
use crate::rates::UnmetNeed;
use crate::rulebook::Nutrient;
use crate::units::MassPerArea;

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
    let part = |(place, view): (usize, &crate::deliver::zone_view::ZoneView<'_>)| {
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

/// Each nutrient of which a zone gets less than it needs: "phosphate (P2O5) 12 of 96 lb/ac (zone 1)"; empty where none is.
#[must_use]
pub fn needs_not_met(overview: &Overview<'_>) -> String {
    let lines = Nutrient::ALL.into_iter().filter_map(|nutrient| {
        let of_zone = |view: &crate::deliver::zone_view::ZoneView<'_>| {
            let mut unmet = view.rates.unmet.iter();
            let need = unmet.find(|need| need.nutrient == nutrient)?;
            Some((view.number, *need))
        };
        let unmet: Vec<(u32, UnmetNeed)> = overview.zones.iter().filter_map(of_zone).collect();
        let system = overview.units;
        let wanted = || unmet.iter().map(|(_, need)| need.wanted.number_in(system));
        let most = wanted().reduce(f64::max)?;
        let decimals = usize::from(most < TENTHS_BELOW);
        let brought = unmet.iter().map(|(_, need)| need.brought.number_in(system));
        Some(format!(
            "{} {} of {} {} ({})",
            nutrient.label(),
            range(brought, decimals),
            range(wanted(), decimals),
            MassPerArea::unit_in(system),
            in_zones(unmet.iter().map(|(zone, _)| *zone))
        ))
    });
    lines.collect::<Vec<_>>().join("; ")
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
fn in_zones(numbers: impl Iterator<Item = u32>) -> String {
    let numbers: Vec<String> = numbers.map(|number| number.to_string()).collect();
    let word = if numbers.len() == 1 { "zone" } else { "zones" };
    format!("{word} {}", numbers.join(", "))
}

//! Rates that are a part of what is needed: the rest goes out in further seasons.

use crate::deliver::columns::RateColumn;
use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;

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
    let zones: Vec<String> = parts.iter().map(|part| part.zone.to_string()).collect();
    let most = |of: fn(&Part) -> f64| parts.iter().map(of).reduce(f64::max);
    let range = |of: fn(&Part) -> f64, decimals: usize| {
        let low = parts.iter().map(of).fold(f64::INFINITY, f64::min);
        let (low, high) = (
            grouped(low, decimals),
            grouped(most(of).unwrap_or(low), decimals),
        );
        if low == high {
            high
        } else {
            format!("{low} to {high}")
        }
    };
    let word = if most(|part| part.seasons)? > 1.0 {
        "seasons"
    } else {
        "season"
    };
    let place = if zones.len() == 1 { "zone" } else { "zones" };
    Some(format!(
        "{} {} of {} {} ({place} {}), rest over {} more {word}",
        column.product.name.words(),
        range(|part| part.rate, column.decimals),
        range(|part| part.need, column.decimals),
        column.unit,
        zones.join(", "),
        range(|part| part.seasons, 0)
    ))
}

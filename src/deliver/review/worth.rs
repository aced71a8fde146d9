//! What the zones are worth, in words: product by product for the first sheet, with its tables for the details.

use crate::choice::{CountTried, ProductWorth, RateDoubt, Worth};
use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;
use crate::units::{MoneyPerArea, UnitSystem, decimal};

/// What zones are worth.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorthFacts {
    /// What varying the products that are used saves.
    pub products: Vec<String>,
    /// One line per line between two zones.
    pub lines: Vec<String>,
    /// One line per zone and product whose rate is off somewhere.
    pub doubts: Vec<String>,
    /// Zones, what they save, how alike they stay: one row per count.
    pub rows: Vec<[String; 3]>,
    /// How it was tested.
    pub how: String,
}

impl WorthFacts {
    pub(super) fn new(overview: &Overview<'_>) -> Self {
        let (worth, units) = (overview.stages.worth, overview.units);
        let is_split = overview.zones.len() > 1;
        Self {
            products: products(overview),
            lines: if is_split { lines(worth) } else { Vec::new() },
            doubts: worth
                .doubts
                .iter()
                .filter_map(|doubt| doubt_line(overview, doubt))
                .collect(),
            rows: worth
                .tried
                .iter()
                .map(|row| count_row(row, units))
                .collect(),
            how: how(worth),
        }
    }
}

/// What varying each product's rate saves, in one sentence; what goes out at one rate shares another.
pub(super) fn products(overview: &Overview<'_>) -> Vec<String> {
    let units = overview.units;
    let used: Vec<(String, &ProductWorth)> = overview
        .used_columns()
        .filter_map(|column| {
            let name = &column.product.name;
            let worth = overview.stages.worth.products.iter();
            let own = worth.into_iter().find(|w| w.product == name.as_str())?;
            Some((name.words(), own))
        })
        .collect();
    let saved: Vec<String> = used
        .iter()
        .filter_map(|(name, worth)| {
            Some(format!("{name} {}", worth.saved.as_ref()?.figures(units)))
        })
        .collect();
    let named = |is_varied: bool| -> Vec<&str> {
        let of = used.iter();
        of.filter(|(_, worth)| worth.saved.is_none() && worth.is_varied == is_varied)
            .map(|(name, _)| name.as_str())
            .collect()
    };
    let mut said = Vec::new();
    if !saved.is_empty() {
        said.push(format!(
            "Varied rates save, against one rate, {} (90 % interval): {}",
            MoneyPerArea::unit_in(units),
            saved.join(", ")
        ));
    }
    for (names, what) in [(named(true), "Varied"), (named(false), "One rate")] {
        if !names.is_empty() {
            said.push(format!("{what}: {}", names.join(", ")));
        }
    }
    said
}

fn lines(worth: &Worth) -> Vec<String> {
    let money = |dollars: f64| grouped(dollars.round() + 0.0, 0);
    worth
        .lines
        .iter()
        .map(|line| {
            format!(
                "zones {} and {}: {} ({} to {}) USD for both, {} cores",
                line.between.0,
                line.between.1,
                money(line.dollars),
                money(line.interval.0),
                money(line.interval.1),
                line.cores
            )
        })
        .collect()
}

fn doubt_line(overview: &Overview<'_>, doubt: &RateDoubt) -> Option<String> {
    let column = overview
        .columns
        .iter()
        .find(|c| c.product.name.as_str() == doubt.product)?;
    (doubt.off > 0).then(|| {
        format!(
            "zone {}, {}: {} of {} cores ask for a rate more than one step away",
            doubt.zone, column.product.label, doubt.off, doubt.cores
        )
    })
}

fn count_row(row: &CountTried, units: UnitSystem) -> [String; 3] {
    let saved = if row.count == 1 {
        "-".to_owned()
    } else {
        row.saved.show(units)
    };
    [row.count.to_string(), saved, decimal(row.stability, 2)]
}

fn how(worth: &Worth) -> String {
    if worth.tried.is_empty() {
        return String::new();
    }
    format!(
        "Tested on {} cores: they were left out in groups of neighbours, maps, zones and rates were made without them, and each core says \
         what its zone's treatment costs beyond the one that its own values ask for. Money that is missing counts more than money too \
         much (the rulebook says how much). Intervals are 90 %. Alike: adjusted Rand index of the zones without a group and of all.",
        worth.cores
    )
}

//! What the zones are worth, in words: product by product for the first sheet, with its tables for the details.

use serde::{Deserialize, Serialize};

use crate::choice::{CountTried, RateDoubt, Worth};
use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;
use crate::rulebook::ProductName;
use crate::units::{MoneyPerArea, UnitSystem, decimal};

/// What zones are worth.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WorthFacts {
    /// What varying the products that are used saves.
    pub products: Vec<WorthLine>,
    /// One line per line between two zones.
    pub lines: Vec<String>,
    /// One line per zone and product whose rate is off somewhere.
    pub doubts: Vec<String>,
    /// Zones, what they save, how alike they stay: one row per count.
    pub rows: Vec<[String; 3]>,
    /// How it was tested.
    pub how: String,
}

/// A line on what varying the rates is worth.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WorthLine {
    /// What varying is shown to save.
    Saves {
        /// Unit of the figures.
        unit: String,
        /// Each product with its figures, then what is not shown.
        products: String,
        /// Whether the cores lie in clusters, so that the figures have no interval.
        is_clustered: bool,
    },
    /// That it is no cash.
    NoCash(String),
    /// Anything else, whole.
    Said(String),
}

impl WorthLine {
    /// The whole line.
    #[must_use]
    pub fn text(&self) -> String {
        match self {
            Self::Saves {
                unit,
                products,
                is_clustered,
            } => format!(
                "Varying leaves less product on the wrong ground, worth {unit} ({}): {products}",
                how_sure(*is_clustered)
            ),
            Self::NoCash(line) | Self::Said(line) => line.clone(),
        }
    }

    /// The line in a column whose head says what the figures are, with their 90 % interval; that it is no cash has no room there.
    #[must_use]
    pub fn in_column(&self) -> Option<String> {
        match self {
            Self::Saves {
                products,
                is_clustered: true,
                ..
            } => Some(format!("{products} ({})", how_sure(true))),
            Self::Saves { products, .. } => Some(products.clone()),
            Self::Said(line) => Some(line.clone()),
            Self::NoCash(_) => None,
        }
    }
}

/// How sure the figures are.
fn how_sure(is_clustered: bool) -> &'static str {
    if is_clustered {
        "cores in clusters: not known how sure"
    } else {
        "90 % interval"
    }
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
                .map(|row| count_row(row, units, worth.is_clustered))
                .collect(),
            how: how(worth),
        }
    }
}

/// What varying each product's rate saves, in one sentence; what goes out at one rate, and what was not priced, share others.
pub(super) fn products(overview: &Overview<'_>) -> Vec<WorthLine> {
    let (units, worth) = (overview.units, overview.stages.worth);
    let (mut saved, mut not_shown) = (Vec::new(), Vec::new());
    let mut others = [
        ("Not priced (set by plan or budget)", Vec::new()),
        ("Varied, not priced", Vec::new()),
        ("One rate", Vec::new()),
    ];
    for column in overview.used_columns() {
        let name = &column.product.name;
        let Some(own) = worth
            .products
            .iter()
            .find(|own| own.product == name.as_str())
        else {
            continue;
        };
        match &own.saved {
            Some(_) if is_set(overview, name) => others[0].1.push(name.words()),
            Some(saving) if worth.is_clustered && saving.mean > MoneyPerArea::ZERO => {
                saved.push(format!("{} {}", name.words(), saving.mean_figure(units)));
            }
            Some(_) if worth.is_clustered => not_shown.push(name.words()),
            Some(saving) => {
                if saving.is_shown() {
                    saved.push(format!("{} {}", name.words(), saving.figures(units)));
                } else {
                    not_shown.push(format!("{} {}", name.words(), saving.ends(units)));
                }
            }
            None => others[if own.is_varied { 1 } else { 2 }]
                .1
                .push(name.words()),
        }
    }
    let saved = said(&saved, &not_shown, units, worth.is_clustered);
    let others = others.into_iter().filter(|(_, names)| !names.is_empty());
    let no_cash = saved.is_some().then(|| {
        let counted = decimal(overview.stages.rulebook.numbers.under_application, 1);
        WorthLine::NoCash(format!(
            "That is no cash: what is missing counts {counted} times"
        ))
    });
    let others =
        others.map(|(what, names)| WorthLine::Said(format!("{what}: {}", names.join(", "))));
    let cost_more = cost_more(worth, units).map(WorthLine::Said);
    let lines = cost_more.into_iter().chain(saved);
    lines.chain(no_cash).chain(others).collect()
}

/// What zones cost that are shown to save less than nothing; only those that the plan fixes can.
fn cost_more(worth: &Worth, units: UnitSystem) -> Option<String> {
    let saved = worth.saved.as_ref().filter(|_| !worth.is_clustered)?;
    (saved.interval.1 < MoneyPerArea::ZERO).then(|| {
        format!(
            "These zones cost {} more than one rate would ({}): count = \"auto\" draws only zones that are shown to save",
            saved.reversed().show(units),
            how_sure(false)
        )
    })
}

/// What varying is shown to save, and where it is not shown: an interval that holds 0 is no saving.
fn said(
    saved: &[String],
    not_shown: &[String],
    units: UnitSystem,
    is_clustered: bool,
) -> Option<WorthLine> {
    let unit = MoneyPerArea::unit_in(units).to_owned();
    let (shown, open) = (saved.join(", "), not_shown.join(", "));
    let saves = |products| WorthLine::Saves {
        unit: unit.clone(),
        products,
        is_clustered,
    };
    match (saved.is_empty(), not_shown.is_empty()) {
        (true, true) => None,
        (true, false) => Some(WorthLine::Said(format!(
            "Varying is not shown to leave less product on the wrong ground, {unit} ({}): {open}",
            how_sure(is_clustered)
        ))),
        (false, true) => Some(saves(shown)),
        (false, false) => Some(saves(format!("{shown}; not shown: {open}"))),
    }
}

/// Whether the plan sets a product's rate somewhere or the budget leaves it out: then what goes out is not what was tested.
fn is_set(overview: &Overview<'_>, product: &ProductName) -> bool {
    overview.zones.iter().any(|view| {
        let mut rates = view.rates.rates.iter();
        let mut fixes = view.rates.fixes.iter();
        rates.any(|rate| rate.product == *product && rate.overridden.is_some())
            || fixes.any(|fix| fix.left_out && fix.product.as_ref() == Some(product))
    })
}

fn lines(worth: &Worth) -> Vec<String> {
    let money = |dollars: f64| grouped(dollars.round() + 0.0, 0);
    worth
        .lines
        .iter()
        .map(|line| {
            let sure = if worth.is_clustered {
                String::new()
            } else {
                let (low, high) = line.interval;
                format!(" (90 %: {} to {})", money(low), money(high))
            };
            format!(
                "zones {} and {}: {}{sure} USD for both, {} cores",
                line.between.0,
                line.between.1,
                money(line.dollars),
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

fn count_row(row: &CountTried, units: UnitSystem, is_clustered: bool) -> [String; 3] {
    let saved = match row.count {
        1 => "-".to_owned(),
        _ if is_clustered => row.saved.mean_alone(units),
        _ => row.saved.show(units),
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
         much (the rulebook says how much), overrides and budget are set aside, and the one rate is what the field would get as one zone: of lime the mean need, of \
         most else none or all by the field's mean. A single rate on the safe side saves part of it too, and most of it where most cores are short. \
         {} Alike: adjusted Rand index of the zones without a group and of all.",
        worth.cores,
        if worth.is_clustered {
            "No interval is printed, since the cores stand in clusters: there the intervals held in 68 of 100 simulated fields."
        } else {
            "Intervals are 90 %, of what such cores show; on even cores they held it in 90 of 100 simulated fields."
        }
    )
}

#[cfg(test)]
mod tests {
    use super::WorthLine;

    fn saves(is_clustered: bool) -> WorthLine {
        WorthLine::Saves {
            unit: "USD/ac".to_owned(),
            products: "gypsum 11, lime 3.5".to_owned(),
            is_clustered,
        }
    }

    #[test]
    fn under_a_head_figures_stand_alone_and_say_where_they_are_not_sure() {
        assert_eq!(
            saves(false).text(),
            "Varying leaves less product on the wrong ground, worth USD/ac (90 % interval): gypsum 11, lime 3.5"
        );
        let in_column = |line: WorthLine| line.in_column();
        assert_eq!(
            in_column(saves(false)).as_deref(),
            Some("gypsum 11, lime 3.5")
        );
        assert_eq!(
            in_column(saves(true)).as_deref(),
            Some("gypsum 11, lime 3.5 (cores in clusters: not known how sure)")
        );
        let no_cash = WorthLine::NoCash("That is no cash".to_owned());
        assert_eq!(in_column(no_cash), None);
        let said = WorthLine::Said("One rate: lime".to_owned());
        assert_eq!(in_column(said).as_deref(), Some("One rate: lime"));
    }

    #[test]
    fn zones_that_are_shown_to_cost_say_so_and_others_do_not() {
        let money = crate::units::MoneyPerArea::from_dollars_per_hectare;
        let saved = |low: f64, high: f64| super::Worth {
            saved: Some(crate::choice::Saving {
                mean: money(f64::midpoint(low, high)),
                standard_error: money(1.0),
                interval: (money(low), money(high)),
            }),
            ..super::Worth::default()
        };
        let told = |worth: &super::Worth| super::cost_more(worth, super::UnitSystem::Metric);
        let costs = told(&saved(-54.0, -6.0)).unwrap_or_default();
        assert!(
            costs.contains("cost 30 (6 to 54) USD/ha more than one rate"),
            "{costs}"
        );
        assert_eq!(told(&saved(-54.0, 6.0)), None);
        let clustered = super::Worth {
            is_clustered: true,
            ..saved(-54.0, -6.0)
        };
        assert_eq!(told(&clustered), None);
    }
}

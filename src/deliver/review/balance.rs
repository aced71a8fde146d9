//! The removal sheet in words: what the crops take, what the products bring, what is left over harvests.

use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;
use crate::rates::{Balance, CropTake, NutrientBalance};
use crate::units::{MassPerArea, UnitSystem};

/// The heads of its table; those that start with `#` are numbers.
pub const HEADS: [&str; 7] = [
    "Zone",
    "Nutrient",
    "#Acts this season",
    "#In all",
    "#Left after 1 harvest",
    "#2 harvests",
    "#4 harvests",
];

/// The removal sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct BalanceFacts {
    /// What each harvest takes, what is missing, and how to read the table.
    pub lines: Vec<String>,
    /// A row for each zone and nutrient; empty where nothing is known of a yield.
    pub rows: Vec<Vec<String>>,
}

impl BalanceFacts {
    /// Puts the balance into words.
    pub(super) fn new(overview: &Overview<'_>) -> Self {
        let Some(balance) = &overview.stages.prescription.balance else {
            return Self::default();
        };
        let units = overview.units;
        let zones = balance.zones.iter();
        Self {
            lines: lines(balance, units),
            rows: zones
                .flat_map(|zone| zone.nutrients.iter().map(|of| row(zone.number, of, units)))
                .collect(),
        }
    }
}

fn lines(balance: &Balance, units: UnitSystem) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    lines.extend(
        balance
            .last
            .iter()
            .map(|take| takes("The last crop took", take, units)),
    );
    lines.extend(
        balance
            .goal
            .iter()
            .map(|take| takes("This crop takes", take, units)),
    );
    lines.extend(
        balance
            .missing
            .iter()
            .map(|why| format!("Not counted: {why}.")),
    );
    if !balance.last.is_empty() {
        lines.push(
            "A soil test from after the last harvest shows what that took already; it is not taken off once more."
                .to_owned(),
        );
    }
    lines.push(format!(
        "The table is in {}: what the products of this plan bring, and what is left of it after so many harvests like the goal without more; less than \
         nothing is what the soil gave. Straw that leaves the field takes more.",
        MassPerArea::unit_in(units)
    ));
    lines
}

/// "This crop takes (corn, 180 bu/ac): 67 lb/ac phosphate (P2O5), 41 lb/ac potash (K2O); source".
fn takes(head: &str, take: &CropTake, units: UnitSystem) -> String {
    let known = take
        .takes
        .iter()
        .filter(|(_, mass)| *mass > MassPerArea::ZERO);
    let parts: Vec<String> = known
        .map(|(nutrient, mass)| format!("{} {}", mass.show(units, 0), nutrient.label()))
        .collect();
    format!(
        "{head} ({}, {}): {}. Source: {}.",
        take.crop,
        take.harvest,
        parts.join(", "),
        take.source
    )
}

fn row(zone: u32, of: &NutrientBalance, units: UnitSystem) -> Vec<String> {
    let number = |mass: MassPerArea| {
        let text = grouped(mass.number_in(units), 0);
        if text == "-0" { "0".to_owned() } else { text }
    };
    let left = |at: usize| {
        of.left
            .get(at)
            .map_or_else(|| "-".to_owned(), |left| number(left.1))
    };
    vec![
        zone.to_string(),
        of.nutrient.label().to_owned(),
        number(of.brings_now),
        number(of.brings_in_all),
        left(0),
        left(1),
        left(2),
    ]
}

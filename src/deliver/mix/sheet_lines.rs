//! The lines and rows of the mix sheet, in words: what to buy, the recipe, each load.

use super::sheet::{Measured, Purchase, Sheet};
use crate::deliver::numbers::grouped;
use crate::rates::{Ingredient, Load};
use crate::rulebook::PriceSource;
use crate::units::{Mass, Volume, decimal};

/// Said where nothing is needed.
pub const NOTHING: &str = "Nothing to buy: every rate is 0.";
/// Said over the table of loads.
pub const ORDER: &str = "Add in this order, from top to bottom:";

/// What is printed for the cost of something, from its number as printed: a price that nobody gave is a guess and says so.
pub(in crate::deliver) fn cost(printed: Option<String>, source: PriceSource) -> String {
    match (printed, source) {
        (None, PriceSource::InTheBlend) => "in the mix".to_owned(),
        (None, _) => "no price".to_owned(),
        (Some(number), PriceSource::BuiltIn) => format!("about {number}"),
        (Some(number), _) => number,
    }
}

impl<'a> Sheet<'a> {
    /// Product, amount, unit, packs, cost.
    #[must_use]
    pub fn purchase_rows(&self) -> Vec<Vec<String>> {
        let row = |line: &Purchase<'_>| {
            let packs = line
                .packs
                .map(|(count, pack)| format!("{count} x {pack}"))
                .unwrap_or_default();
            let cost = cost(
                line.dollars.map(|dollars| grouped(dollars, 0)),
                line.price_source,
            );
            vec![
                line.label.to_owned(),
                self.number(line.amount),
                line.amount.unit(self.units).to_owned(),
                packs,
                cost,
            ]
        };
        self.purchases.iter().map(row).collect()
    }

    /// What stands behind the table of purchases.
    #[must_use]
    pub fn purchase_notes(&self) -> String {
        let lines = self.purchases();
        let on_hand: Vec<String> = lines
            .iter()
            .filter_map(|line| Some(format!("{} {}", line.on_hand.as_ref()?, line.label)))
            .collect();
        let costs = "Costs are of the amounts, not of whole packs.";
        if on_hand.is_empty() {
            costs.to_owned()
        } else {
            format!("{costs} Of the amounts on hand: {}.", on_hand.join("; "))
        }
    }

    /// Name of the recipe, where there is one.
    #[must_use]
    pub fn recipe_name(&self) -> Option<&'a str> {
        self.recipe.map(|recipe| recipe.name.as_str())
    }

    /// What the recipe is made for, its weight, its salt.
    #[must_use]
    pub fn recipe_lines(&self) -> Vec<String> {
        let Some(recipe) = self.recipe else {
            return Vec::new();
        };
        let system = self.units;
        let (least, most) = (
            decimal(recipe.range.0.number_in(system), 1),
            recipe.range.1.show(system, 1),
        );
        let (salt, limit) = (
            recipe.seed_salt.show(system, 2),
            recipe.seed_salt_limit.show(system, 2),
        );
        let mut lines = vec![
            format!(
                "Made for {least} to {most}; the mix weighs {}.",
                recipe.density.show(system, 2)
            ),
            format!(
                "Nitrogen plus potash that touches the seed at the highest rate: {salt}; limit {limit} ({}).",
                recipe.seed_salt_source
            ),
        ];
        if recipe.loads.iter().all(|load| load.count == 0) {
            lines.push("No load: the starter is held back everywhere.".to_owned());
        }
        lines
    }

    /// Notes on filling.
    pub fn notes(&self) -> impl Iterator<Item = &'a String> {
        self.recipe.into_iter().flat_map(|recipe| &recipe.notes)
    }

    /// Heads and rows of the loads: ingredient, unit, then one column per kind of load.
    #[must_use]
    pub fn load_table(&self) -> Option<(Vec<String>, Vec<Vec<String>>)> {
        let recipe = self.recipe?;
        let loads: Vec<&Load> = recipe.loads.iter().filter(|load| load.count > 0).collect();
        if loads.is_empty() {
            return None;
        }
        let amounts: Vec<Vec<(&Ingredient, Measured)>> = loads
            .iter()
            .map(|load| Self::load_amounts(recipe, load).collect())
            .collect();
        let mut rows: Vec<Vec<String>> = Vec::new();
        for (at, ingredient) in recipe.ingredients.iter().enumerate() {
            let column = amounts.iter().map(|load| {
                load.get(at)
                    .map_or_else(String::new, |(_, amount)| self.number(*amount))
            });
            let unit = if ingredient.is_dry {
                Mass::unit_in(self.units)
            } else {
                Volume::unit_in(self.units)
            };
            rows.push(
                [format!("{}. {}", at + 1, ingredient.label), unit.to_owned()]
                    .into_iter()
                    .chain(column)
                    .collect(),
            );
        }
        let total = |label: &str, unit: &str, of: fn(&Load) -> Measured| {
            [label.to_owned(), unit.to_owned()]
                .into_iter()
                .chain(loads.iter().map(|load| self.number(of(load))))
                .collect()
        };
        rows.push(total("in the tank", Volume::unit_in(self.units), |load| {
            Measured::Volume(load.volume)
        }));
        rows.push(total("its weight", Mass::unit_in(self.units), |load| {
            Measured::Mass(load.mass)
        }));
        Some((
            ["Ingredient".to_owned(), "Unit".to_owned()]
                .into_iter()
                .chain(load_names(&loads))
                .collect(),
            rows,
        ))
    }
}

/// `Load 1`, `Loads 2-5, each`.
fn load_names(loads: &[&Load]) -> Vec<String> {
    let mut first = 1;
    let mut names = Vec::new();
    for load in loads {
        let last = first + load.count - 1;
        names.push(if load.count == 1 {
            format!("Load {first}")
        } else {
            format!("Loads {first}-{last}, each")
        });
        first = last + 1;
    }
    names
}

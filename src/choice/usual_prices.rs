//! What a product counts for in the choice of zones. One that costs nothing, because it is on hand or paid for, is still worth something: put
//! where nobody needs it, it is lost, and where it is missing the crop lacks it. It counts by the rulebook's price.

use std::collections::{BTreeMap, BTreeSet};

use crate::plan::Price;
use crate::rates::{Fix, Ingredient, ProductUse, Recipe};
use crate::rulebook::{Factor, FixRule, Product, Rulebook};
use crate::units::Quantity;

/// The rulebook's prices.
#[derive(Debug, Clone)]
pub(super) struct UsualPrices {
    /// USD per kg of a dry product or litre of a liquid one.
    by_name: BTreeMap<String, f64>,
    /// What a point of effort counts for, USD/ha.
    of_effort: f64,
    /// Products that lime the ground: one does what another does.
    limes: BTreeSet<String>,
}

impl UsualPrices {
    /// Of a rulebook.
    pub fn new(rulebook: &Rulebook) -> Self {
        let priced = |product: &Product| Some((product.name.clone(), product.price?));
        Self {
            by_name: rulebook.products.iter().filter_map(priced).collect(),
            of_effort: rulebook.numbers.cost_of_effort.dollars_per_hectare(),
            limes: limes(rulebook),
        }
    }

    /// The price in force, or where that is nothing the usual one; USD per kg or litre.
    pub fn worth(&self, product: &ProductUse, recipe: Option<&Recipe>) -> f64 {
        let in_force = product.price.map_or(0.0, dollars);
        if in_force > 0.0 {
            return in_force;
        }
        let recipe = recipe.filter(|recipe| recipe.product == product.name);
        match recipe {
            Some(recipe) => self.of_a_litre(recipe),
            None => self.of(product.name.as_str()),
        }
    }

    /// The cost of work, or where that is nothing what its effort counts for; USD/ha.
    pub fn of_work(&self, fix: &Fix) -> f64 {
        let cost = fix.cost.dollars_per_hectare();
        if cost > 0.0 {
            cost
        } else {
            fix.effort * self.of_effort
        }
    }

    /// Whether a product limes the ground.
    pub fn is_lime(&self, name: &str) -> bool {
        self.limes.contains(name)
    }

    fn of_a_litre(&self, recipe: &Recipe) -> f64 {
        let of = |ingredient: &Ingredient| {
            let amount = if ingredient.is_dry {
                ingredient.kilograms_per_litre
            } else {
                ingredient.volume_share
            };
            amount * self.of(&ingredient.product)
        };
        recipe.ingredients.iter().map(of).sum()
    }

    fn of(&self, name: &str) -> f64 {
        self.by_name.get(name).copied().unwrap_or(0.0)
    }
}

/// The products of the fixes of acidity.
fn limes(rulebook: &Rulebook) -> BTreeSet<String> {
    let mend = |fix: &&FixRule| fix.mends.contains(&Factor::Acidity);
    let fixes = rulebook.fixes.iter().filter(mend);
    fixes
        .filter_map(|fix| Some(fix.product.as_ref()?.to_string()))
        .collect()
}

/// USD per kg or litre.
fn dollars(price: Price) -> f64 {
    match price {
        Price::PerMass(price) => price.stored(),
        Price::PerVolume(price) => price.stored(),
    }
}

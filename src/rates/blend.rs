//! The starter's blend: what a litre of it holds, weighs and costs.

use super::RatesError;
use super::prices::Prices;
use crate::rulebook::{Rulebook, StarterRecipe};
use crate::units::Metering;
use crate::units::decimal;

/// One ingredient of a litre of blend.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub product: String,
    pub volume_share: f64,
    pub kilograms: f64,
    pub is_dry: bool,
}

/// A litre of the blend.
#[derive(Debug, Clone)]
pub(super) struct Blend<'a> {
    pub recipe: &'a StarterRecipe,
    pub parts: Vec<Part>,
    /// Kilograms in a litre.
    pub density: f64,
    /// What is in a litre, kilograms by the names of the analysis.
    pub supplies: Vec<(&'static str, f64)>,
    /// Whether all of it is meant as organic input.
    pub is_organic_input: bool,
    /// Whether an ingredient counts as a product that carries salt.
    has_salty_ingredient: bool,
    /// United States dollars for a litre; `None` where an ingredient has no price.
    pub price: Option<f64>,
}

impl<'a> Blend<'a> {
    /// The blend of the recipe in force; `None` where the rulebook has no recipe.
    pub fn from_rulebook(
        rulebook: &'a Rulebook,
        prices: &Prices,
        errors: &mut Vec<RatesError>,
    ) -> Option<Self> {
        let recipe = rulebook.recipe()?;
        let mut parts = Vec::new();
        for ingredient in &recipe.ingredients {
            let product = rulebook.product(&ingredient.product)?;
            let density = product
                .density
                .map(crate::units::Density::kilograms_per_litre);
            let (volume_share, kilograms) = match (ingredient.share, ingredient.kilograms_per_litre)
            {
                (Some(share), _) => (share, share * density.unwrap_or(1.0)),
                (None, Some(kilograms)) => (
                    density.map_or(0.0, |density| kilograms / density),
                    kilograms,
                ),
                (None, None) => (0.0, 0.0),
            };
            parts.push(Part {
                product: product.name.clone(),
                volume_share,
                kilograms,
                is_dry: product.metering == Metering::Dry,
            });
        }
        let taken: f64 = parts.iter().map(|part| part.volume_share).sum();
        if taken > 1.0 + 1e-9 {
            errors.push(RatesError::RecipeTooFull {
                recipe: recipe.name.clone(),
                percent: decimal(100.0 * taken, 1),
            });
            return None;
        }
        for (part, ingredient) in parts
            .iter_mut()
            .zip(&recipe.ingredients)
            .filter(|(_, ingredient)| ingredient.fills)
        {
            let density = rulebook
                .product(&ingredient.product)?
                .density
                .map_or(1.0, crate::units::Density::kilograms_per_litre);
            part.volume_share = (1.0 - taken).max(0.0);
            part.kilograms = part.volume_share * density;
        }
        Some(Self::add_up(recipe, parts, rulebook, prices))
    }

    fn add_up(
        recipe: &'a StarterRecipe,
        parts: Vec<Part>,
        rulebook: &Rulebook,
        prices: &Prices,
    ) -> Self {
        let mut blend = Self {
            recipe,
            density: parts.iter().map(|part| part.kilograms).sum(),
            supplies: Vec::new(),
            is_organic_input: true,
            has_salty_ingredient: false,
            price: Some(0.0),
            parts,
        };
        for part in &blend.parts {
            let Some(product) = rulebook.product(&part.product) else {
                continue;
            };
            for (name, percent) in product.analysis.parts() {
                let kilograms = part.kilograms * percent / 100.0;
                match blend.supplies.iter_mut().find(|(known, _)| *known == name) {
                    Some((_, sum)) => *sum += kilograms,
                    None => blend.supplies.push((name, kilograms)),
                }
            }
            blend.has_salty_ingredient |= product.carries_salt;
            let is_water = product.analysis.parts().next().is_none();
            blend.is_organic_input &= product.is_organic_input || is_water;
            let amount = if part.is_dry {
                part.kilograms
            } else {
                part.volume_share
            };
            let price = prices
                .price_of(&part.product)
                .or_else(|| is_water.then_some(0.0));
            blend.price = blend
                .price
                .zip(price)
                .map(|(sum, price)| sum + amount * price);
        }
        blend.price = prices.of_starter().or(blend.price);
        blend
    }

    /// Whether salty ground closes it: it brings nitrogen or potash, or an ingredient counts as salty.
    pub fn carries_salt(&self) -> bool {
        self.has_salty_ingredient || self.seed_salt() > 0.0
    }

    /// Nitrogen plus potash (K2O) in a litre, kg.
    pub fn seed_salt(&self) -> f64 {
        self.supplies
            .iter()
            .filter(|(name, _)| matches!(*name, "nitrogen" | "potash"))
            .map(|(_, kilograms)| kilograms)
            .sum()
    }
}

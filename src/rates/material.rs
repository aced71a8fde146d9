//! What is applied: the starter's mix or a product, asked the same questions.

use super::blend::Blend;
use super::prices::Prices;
use crate::rulebook::{Product, ProductName, Rulebook};
use crate::units::Density;
use crate::units::Metering;

/// The starter's mix, or a product.
#[derive(Debug, Clone, Copy)]
pub(super) enum Material<'a> {
    Starter(&'a Blend<'a>),
    Product(&'a Product),
}

impl<'a> Material<'a> {
    /// The material of a name; `None` for a product that the rulebook does not know, and for the starter where there is no recipe.
    pub fn of_name(
        name: &ProductName,
        blend: Option<&'a Blend<'a>>,
        rulebook: &'a Rulebook,
    ) -> Option<Self> {
        match name {
            ProductName::Starter => blend.map(Self::Starter),
            ProductName::Product(name) => rulebook.product(name).map(Self::Product),
        }
    }

    /// Its name in the rulebook.
    pub fn name(self) -> ProductName {
        match self {
            Self::Starter(_) => ProductName::Starter,
            Self::Product(product) => ProductName::Product(product.name.clone()),
        }
    }

    /// What people call it.
    pub fn label(self) -> &'a str {
        match self {
            Self::Starter(blend) => &blend.recipe.label,
            Self::Product(product) => &product.label,
        }
    }

    /// Whether it is measured by mass or by volume.
    pub fn metering(self) -> Metering {
        match self {
            Self::Starter(_) => Metering::Liquid,
            Self::Product(product) => product.metering,
        }
    }

    /// Kilograms in a litre, of a liquid.
    pub fn density(self) -> Option<f64> {
        match self {
            Self::Starter(blend) => Some(blend.density),
            Self::Product(product) => product
                .density
                .filter(|_| product.metering == Metering::Liquid)
                .map(Density::kilograms_per_litre),
        }
    }

    /// Kilograms in a unit of its rate: a kilogram of a dry one, a litre of a liquid.
    pub fn kilograms_per_unit(self) -> f64 {
        self.density().unwrap_or(1.0)
    }

    /// United States dollars for a kilogram or a litre.
    pub fn price(self, prices: &Prices) -> Option<f64> {
        match self {
            Self::Starter(blend) => blend.price,
            Self::Product(product) => prices.price_of(&product.name),
        }
    }

    /// What it is sold in: the pack, and how many kilograms or litres it holds.
    pub fn pack(self) -> Option<(String, f64)> {
        match self {
            Self::Starter(_) => None,
            Self::Product(product) => product.pack.clone(),
        }
    }

    /// Whether it is meant as an input of an organic field; no permission follows from it.
    pub fn is_organic_input(self) -> bool {
        match self {
            Self::Starter(blend) => blend.is_organic_input,
            Self::Product(product) => product.is_organic_input,
        }
    }

    /// Whether salty ground closes it.
    pub fn carries_salt(self) -> bool {
        match self {
            Self::Starter(blend) => blend.carries_salt(),
            Self::Product(product) => product.carries_salt,
        }
    }

    /// What a unit of its rate supplies, kilograms by the names of the analysis.
    pub fn supplies(self) -> Vec<(&'static str, f64)> {
        match self {
            Self::Starter(blend) => blend.supplies.clone(),
            Self::Product(product) => product
                .analysis
                .parts()
                .map(|(name, percent)| (name, self.kilograms_per_unit() * percent / 100.0))
                .collect(),
        }
    }

    /// Its cautions; of a mix those of the ingredients, each once.
    pub fn cautions(self, rulebook: &Rulebook) -> Vec<String> {
        let blend = match self {
            Self::Product(product) => return product.cautions.clone(),
            Self::Starter(blend) => blend,
        };
        let mut cautions: Vec<String> = Vec::new();
        let products = blend
            .parts
            .iter()
            .filter_map(|part| rulebook.product(&part.product));
        for caution in products.flat_map(|product| &product.cautions) {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
        cautions
    }
}

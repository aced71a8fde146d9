//! The mix that was found, asked what it brings and takes.

use super::program::{Choice, MixProblem};
use crate::rates::material::Material;
use crate::rulebook::{Nutrient, Product};

/// The mix that was found, and what it was found for.
pub(super) struct Found<'a> {
    pub problem: &'a MixProblem,
    /// The needs, in the programme's order.
    pub wanted: &'a [Nutrient],
    pub products: &'a [&'a Product],
    pub best: &'a Choice,
}

impl Found<'_> {
    /// The rates, zone by zone.
    pub fn rates(&self) -> &[Vec<f64>] {
        &self.best.rates
    }

    /// Where a nutrient stands among the needs.
    pub fn place_of(&self, nutrient: Nutrient) -> Option<usize> {
        self.wanted.iter().position(|wanted| *wanted == nutrient)
    }

    /// What the mix brings a zone of a part, whatever it is meant for, kg/ha.
    pub fn brought(&self, zone: usize, part: &str) -> f64 {
        let of = |product: &Product| {
            let supplies = Material::Product(product).supplies();
            let found = supplies.iter().find(|(name, _)| *name == part);
            found.map_or(0.0, |(_, kilograms)| *kilograms)
        };
        let rates = self.products.iter().zip(&self.best.rates[zone]);
        rates.map(|(product, rate)| rate * of(product)).sum()
    }

    /// What of a need the mix meets in a zone, kg/ha.
    pub fn met(&self, zone: usize, need: usize) -> f64 {
        let rates = self.best.rates[zone].iter().zip(&self.problem.products);
        rates
            .map(|(rate, product)| rate * product.brings[need])
            .sum()
    }

    /// What the mix takes of a ceiling in a zone, kg/ha.
    pub fn counted(&self, zone: usize, ceiling: usize) -> f64 {
        let rates = self.best.rates[zone].iter().zip(&self.problem.products);
        rates
            .map(|(rate, product)| rate * product.counts[ceiling])
            .sum()
    }
}

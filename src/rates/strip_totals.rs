//! Totals, loads and the recipe where strips of the field get other rates than their zone.

use super::{Load, Prescription, ProductUse, Recipe};
use crate::rulebook::{ProductName, Rulebook};
use crate::units::{Density, Mass, MassPerArea, Volume};
use crate::units::{Metering, ProductRate};

/// A strip inside a zone with rates of its own.
#[derive(Debug, Clone, Copy)]
pub struct StripRates<'a> {
    /// Number of the zone that it is cut from.
    pub zone: u32,
    /// Its area, hectares.
    pub hectares: f64,
    /// Its rates, in the order of the prescription's products.
    pub rates: &'a [ProductRate],
}

impl Prescription {
    /// Counts strips in: totals of the products, of the recipe and its loads, and the cautions of what is applied on strips alone. Rates, costs an area
    /// and reasons are the zones' own.
    pub fn count_strips(&mut self, strips: &[StripRates<'_>], tank: Volume, rulebook: &Rulebook) {
        if strips.is_empty() {
            return;
        }
        let rates: Vec<Vec<ProductRate>> = self
            .zones
            .iter()
            .map(|zone| zone.rates.iter().map(|rate| rate.amount).collect())
            .collect();
        let numbers: Vec<u32> = self.zones.iter().map(|zone| zone.number).collect();
        let of_zone = |number: u32, at: usize| {
            let zone = numbers.iter().position(|known| *known == number)?;
            Some(rates.get(zone)?.get(at)?.per_hectare())
        };
        for (at, product) in self.products.iter_mut().enumerate() {
            let change: f64 = strips
                .iter()
                .filter_map(|strip| {
                    let own = strip.rates.get(at)?.per_hectare();
                    Some(strip.hectares * (own - of_zone(strip.zone, at)?))
                })
                .sum();
            let highest = strips
                .iter()
                .filter_map(|strip| strip.rates.get(at).map(|own| own.per_hectare()))
                .chain(
                    rates
                        .iter()
                        .filter_map(|zone| zone.get(at).map(|rate| rate.per_hectare())),
                )
                .fold(0.0, f64::max);
            match product.form {
                Metering::Dry => {
                    let total = product.total_mass.kilograms() + change;
                    product.total_mass = Mass::from_kilograms(total.max(0.0));
                }
                Metering::Liquid => {
                    let total = (product.total_volume.litres() + change).max(0.0);
                    let density = product.density.map_or(0.0, Density::kilograms_per_litre);
                    product.total_volume = Volume::from_litres(total);
                    product.total_mass = Mass::from_kilograms(total * density);
                    if let (true, Some(recipe)) =
                        (product.name == ProductName::Starter, self.recipe.as_mut())
                    {
                        recipe.fill(total, highest, tank);
                    }
                }
            }
        }
        self.cautions = cautions(rulebook, &self.products);
    }
}

/// The cautions of what is applied: labels, dust, setbacks, certifier.
pub(super) fn cautions(rulebook: &Rulebook, products: &[ProductUse]) -> Vec<String> {
    let is_used = |name: &String| {
        products
            .iter()
            .any(|product| product.name == name.as_str() && product.total_mass.kilograms() > 0.0)
    };
    rulebook
        .cautions
        .iter()
        .filter(|c| c.products.is_empty() || c.products.iter().any(is_used))
        .map(|c| c.what.clone())
        .collect()
}

impl Recipe {
    /// Totals of the ingredients, salt at the highest rate (L/ha) and the tank's loads, for so many litres of the blend.
    pub fn fill(&mut self, litres: f64, highest: f64, tank: Volume) {
        for ingredient in &mut self.ingredients {
            ingredient.total_mass = Mass::from_kilograms(litres * ingredient.kilograms_per_litre);
            ingredient.total_volume = Volume::from_litres(if ingredient.is_dry {
                0.0
            } else {
                litres * ingredient.volume_share
            });
        }
        self.seed_salt =
            MassPerArea::from_kilograms_per_hectare(highest * self.seed_salt_per_litre);
        self.loads = self.loads_of(litres, tank.litres());
    }

    /// Full loads, then the last part load.
    fn loads_of(&self, total: f64, tank: f64) -> Vec<Load> {
        if !(total > 0.0 && tank > 0.0) {
            return Vec::new();
        }
        // A remainder of less than a millionth of a tank is rounding, not a load.
        let full = (total / tank + 1e-6).floor();
        let last = total - full * tank;
        let mut loads = Vec::new();
        if full >= 1.0 {
            loads.push(self.load(full, tank));
        }
        if last > tank * 1e-6 {
            loads.push(self.load(1.0, last));
        }
        loads
    }

    fn load(&self, count: f64, litres: f64) -> Load {
        let amounts = self.ingredients.iter().map(|ingredient| {
            litres
                * if ingredient.is_dry {
                    ingredient.kilograms_per_litre
                } else {
                    ingredient.volume_share
                }
        });
        Load {
            count: count as u32,
            volume: Volume::from_litres(litres),
            mass: Mass::from_kilograms(litres * self.density.kilograms_per_litre()),
            amounts: amounts.collect(),
        }
    }
}

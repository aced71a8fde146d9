//! Totals over the field, the tank's loads, and the recipe as it is mixed.

use super::blend::Blend;
use super::pending_rate::PendingRate;
use super::prices::{Prices, as_price};
use super::zone_context::FieldContext;
use super::{Ingredient, Load, ProductForm, ProductUse, Recipe, rounding};
use crate::rulebook::{Metering, Rulebook};
use crate::soil::SeedSaltLimit;
use crate::units::{Density, Mass, MassPerArea, Volume};

/// A column of the prescription: totals of a product over the zones (each with its hectares).
pub(super) fn product_use(
    bench: &FieldContext<'_>,
    name: &str,
    zones: &[(f64, &PendingRate)],
    blend: Option<&Blend<'_>>,
    prices: &Prices,
) -> ProductUse {
    let product = bench.rulebook.product(name);
    let is_starter = name == Rulebook::STARTER;
    let metering = product
        .filter(|_| !is_starter)
        .map_or(Metering::Liquid, |product| product.metering);
    let total: f64 = zones
        .iter()
        .map(|(hectares, pending)| hectares * pending.amount)
        .sum();
    let density = if is_starter {
        blend.map(|blend| blend.density)
    } else {
        product
            .and_then(|p| p.density)
            .map(Density::kilograms_per_litre)
    };
    let price = if is_starter {
        blend.and_then(|blend| blend.price)
    } else {
        prices.price_of(name)
    };
    let (total_mass, total_volume) = match metering {
        Metering::Dry => (total, 0.0),
        Metering::Liquid => (total * density.unwrap_or(1.0), total),
    };
    ProductUse {
        name: name.to_owned(),
        label: if is_starter {
            blend.map_or_else(String::new, |blend| blend.recipe.label.clone())
        } else {
            product.map_or_else(String::new, |p| p.label.clone())
        },
        form: match metering {
            Metering::Dry => ProductForm::Dry,
            Metering::Liquid => ProductForm::Liquid,
        },
        price: price.map(|price| as_price(price, metering)),
        density: density
            .filter(|_| metering == Metering::Liquid)
            .map(Density::from_kilograms_per_litre),
        step: rounding::amount(bench.steps.of_metering(metering), metering),
        total_mass: Mass::from_kilograms(total_mass),
        total_volume: Volume::from_litres(total_volume),
        pack: if is_starter {
            None
        } else {
            product.and_then(|product| product.pack.clone())
        },
        is_organic_input: if is_starter {
            blend.is_some_and(|blend| blend.is_organic_input)
        } else {
            product.is_some_and(|p| p.is_organic_input)
        },
        cautions: if is_starter {
            mix_cautions(bench, blend)
        } else {
            product.map_or_else(Vec::new, |product| product.cautions.clone())
        },
    }
}

/// Cautions of the ingredients, each once.
fn mix_cautions(bench: &FieldContext<'_>, blend: Option<&Blend<'_>>) -> Vec<String> {
    let mut cautions: Vec<String> = Vec::new();
    for part in blend.iter().flat_map(|blend| &blend.parts) {
        for caution in bench
            .rulebook
            .product(&part.product)
            .iter()
            .flat_map(|product| &product.cautions)
        {
            if !cautions.contains(caution) {
                cautions.push(caution.clone());
            }
        }
    }
    cautions
}

/// The recipe with the field's totals and the tank's loads.
pub(super) fn recipe(
    bench: &FieldContext<'_>,
    blend: &Blend<'_>,
    zones: &[(f64, &PendingRate)],
    limit: Option<&SeedSaltLimit>,
    prices: &Prices,
) -> Recipe {
    let total: f64 = zones
        .iter()
        .map(|(hectares, pending)| hectares * pending.amount)
        .sum();
    let highest = zones
        .iter()
        .map(|(_, pending)| pending.amount)
        .fold(0.0, f64::max);
    let ingredients = blend.parts.iter().map(|part| {
        let product = bench.rulebook.product(&part.product);
        let metering = if part.is_dry {
            Metering::Dry
        } else {
            Metering::Liquid
        };
        Ingredient {
            product: part.product.clone(),
            label: product.map_or_else(|| part.product.clone(), |product| product.label.clone()),
            volume_share: part.volume_share,
            kilograms_per_litre: part.kilograms,
            total_mass: Mass::from_kilograms(total * part.kilograms),
            total_volume: Volume::from_litres(if part.is_dry {
                0.0
            } else {
                total * part.volume_share
            }),
            is_dry: part.is_dry,
            price: prices
                .price_of(&part.product)
                .map(|price| as_price(price, metering)),
            pack: product.and_then(|product| product.pack.clone()),
        }
    });
    Recipe {
        name: blend.recipe.label.clone(),
        ingredients: ingredients.collect(),
        density: Density::from_kilograms_per_litre(blend.density),
        range: (blend.recipe.least, blend.recipe.most),
        seed_salt: MassPerArea::from_kilograms_per_hectare(highest * blend.seed_salt()),
        seed_salt_limit: limit.map_or(MassPerArea::ZERO, |limit| limit.nitrogen_plus_potash),
        seed_salt_source: limit.map_or_else(String::new, |limit| limit.source.to_owned()),
        notes: blend.recipe.notes.clone(),
        loads: loads(blend, total, bench.settings.machine.tank.litres()),
    }
}

/// Full loads, then the last part load.
fn loads(blend: &Blend<'_>, total: f64, tank: f64) -> Vec<Load> {
    if !(total > 0.0 && tank > 0.0) {
        return Vec::new();
    }
    // A remainder of less than a millionth of a tank is rounding, not a load.
    let full = (total / tank + 1e-6).floor();
    let last = total - full * tank;
    let load = |count: f64, litres: f64| Load {
        count: count as u32,
        volume: Volume::from_litres(litres),
        mass: Mass::from_kilograms(litres * blend.density),
        amounts: blend
            .parts
            .iter()
            .map(|part| {
                litres
                    * if part.is_dry {
                        part.kilograms
                    } else {
                        part.volume_share
                    }
            })
            .collect(),
    };
    let mut loads = Vec::new();
    if full >= 1.0 {
        loads.push(load(full, tank));
    }
    if last > tank * 1e-6 {
        loads.push(load(1.0, last));
    }
    loads
}

//! Totals over the field, the tank's loads, and the recipe as it is mixed.

use super::blend::Blend;
use super::pending_rate::PendingRate;
use super::prices::as_price;
use super::zone_context::FieldContext;
use super::{Ingredient, ProductUse, Recipe, rounding};
use crate::rulebook::{PriceSource, ProductName};
use crate::soil::SeedSaltLimit;
use crate::units::Metering;
use crate::units::{Density, Mass, MassPerArea, Volume};

/// A column of the prescription: totals of a product over the zones (each with its hectares).
pub(super) fn product_use(
    field: &FieldContext<'_>,
    name: &ProductName,
    zones: &[(f64, &PendingRate)],
) -> Option<ProductUse> {
    let material = field.material(name)?;
    let metering = material.metering();
    let total: f64 = zones
        .iter()
        .map(|(hectares, pending)| hectares * pending.amount)
        .sum();
    let (total_mass, total_volume) = match metering {
        Metering::Dry => (total, 0.0),
        Metering::Liquid => (total * material.kilograms_per_unit(), total),
    };
    Some(ProductUse {
        name: name.clone(),
        label: material.label().to_owned(),
        form: match metering {
            Metering::Dry => Metering::Dry,
            Metering::Liquid => Metering::Liquid,
        },
        price: material
            .price(field.prices)
            .map(|price| as_price(price, metering)),
        price_source: field.price_source(name.as_str()),
        density: material.density().map(Density::from_kilograms_per_litre),
        step: rounding::amount(field.steps.of_metering(metering), metering),
        total_mass: Mass::from_kilograms(total_mass),
        total_volume: Volume::from_litres(total_volume),
        pack: material.pack(),
        is_organic_input: material.is_organic_input(),
        cautions: material.cautions(field.rulebook),
    })
}

/// The recipe with the field's totals and the tank's loads.
pub(super) fn recipe(
    field: &FieldContext<'_>,
    blend: &Blend<'_>,
    zones: &[(f64, &PendingRate)],
    limit: Option<&SeedSaltLimit>,
) -> Recipe {
    let total: f64 = zones
        .iter()
        .map(|(hectares, pending)| hectares * pending.amount)
        .sum();
    let highest = zones
        .iter()
        .map(|(_, pending)| pending.amount)
        .fold(0.0, f64::max);
    let is_priced_whole = field.prices.of_starter().is_some();
    let ingredients = blend.parts.iter().map(|part| {
        let product = field.rulebook.product(&part.product);
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
            total_mass: Mass::ZERO,
            total_volume: Volume::ZERO,
            is_dry: part.is_dry,
            price: field
                .prices
                .price_of(&part.product)
                .filter(|_| !is_priced_whole)
                .map(|price| as_price(price, metering)),
            price_source: if is_priced_whole {
                PriceSource::InTheBlend
            } else {
                field.price_source(&part.product)
            },
            pack: product.and_then(|product| product.pack.clone()),
        }
    });
    let mut recipe = Recipe {
        product: crate::rulebook::ProductName::Starter,
        name: blend.recipe.label.clone(),
        ingredients: ingredients.collect(),
        density: Density::from_kilograms_per_litre(blend.density),
        range: (blend.recipe.least, blend.recipe.most),
        seed_salt: MassPerArea::ZERO,
        seed_salt_per_litre: blend.seed_salt(),
        seed_salt_limit: limit.map_or(MassPerArea::ZERO, |limit| limit.nitrogen_plus_potash),
        seed_salt_source: limit.map_or_else(String::new, |limit| limit.source.to_owned()),
        notes: blend.recipe.notes.clone(),
        loads: Vec::new(),
    };
    recipe.fill(total, highest, field.settings.machine.tank);
    recipe
}

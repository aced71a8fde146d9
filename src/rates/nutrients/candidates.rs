//! Which products may go into the mix: those of the shed, or, where the plan has none, those that are meant as an organic input.

use crate::plan::Stock;
use crate::rates::zone_context::FieldContext;
use crate::rulebook::{Nutrient, Product};

/// Most products that are weighed against each other; each set of a few of them is tried.
const MOST: usize = 8;

/// The products that can meet one of some needs, the cheapest suppliers of each first.
pub(super) fn candidates<'a>(field: &FieldContext<'a>, wanted: &[Nutrient]) -> Vec<&'a Product> {
    let mut chosen: Vec<&Product> = Vec::new();
    let mut ranked: Vec<Vec<&Product>> = wanted.iter().map(|n| suppliers(field, *n)).collect();
    // Turn by turn, so that each need keeps a supplier.
    while chosen.len() < MOST && ranked.iter().any(|list| !list.is_empty()) {
        for list in &mut ranked {
            if !list.is_empty() && chosen.len() < MOST {
                let product = list.remove(0);
                if chosen.iter().all(|known| known.name != product.name) {
                    chosen.push(product);
                }
            }
        }
    }
    chosen.sort_by(|a, b| a.name.cmp(&b.name));
    chosen
}

fn suppliers<'a>(field: &FieldContext<'a>, nutrient: Nutrient) -> Vec<&'a Product> {
    let dollars = |product: &Product| {
        let part = product.analysis.part(nutrient.part()).unwrap_or(0.0);
        let price = field
            .prices
            .price_of(&product.name)
            .unwrap_or(f64::INFINITY);
        price / part.max(f64::MIN_POSITIVE)
    };
    let products = field.rulebook.products.iter();
    let mut suppliers: Vec<&Product> = products
        .filter(|product| product.feeds.contains(&nutrient) && is_open(field, product))
        .filter(|product| product.analysis.part(nutrient.part()).unwrap_or(0.0) > 0.0)
        .collect();
    suppliers.sort_by(|a, b| {
        dollars(a)
            .total_cmp(&dollars(b))
            .then_with(|| a.name.cmp(&b.name))
    });
    suppliers
}

/// Whether the plan lets a product be used.
pub(in crate::rates) fn is_open(field: &FieldContext<'_>, product: &Product) -> bool {
    match &field.settings.supply.shed {
        Some(shed) if !shed.products.is_empty() => shed.products.contains(&product.name),
        _ => !product.is_shed_only,
    }
}

/// How much of a product is on hand, kilograms or litres.
pub(super) fn on_hand(field: &FieldContext<'_>, product: &Product) -> Option<f64> {
    let shed = field.settings.supply.shed.as_ref()?;
    let (_, stock) = shed
        .on_hand
        .iter()
        .find(|(name, _)| *name == product.name)?;
    Some(match stock {
        Stock::Mass(mass) => mass.kilograms(),
        Stock::Volume(volume) => volume.litres(),
    })
}

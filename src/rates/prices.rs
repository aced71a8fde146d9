//! Prices in force: the plan's, laid over the rulebook's.

use super::RatesError;
use crate::plan::{Price, Settings};
use crate::provenance::Place;
use crate::rulebook::{Product, ProductName, Rulebook};
use crate::units::Metering;
use crate::units::{MoneyPerMass, MoneyPerVolume, Quantity};

/// Price of each product in United States dollars per kilogram (dry) or litre (liquid).
#[derive(Debug, Clone)]
pub(super) struct Prices {
    by_name: Vec<(String, Option<f64>)>,
    starter: Option<f64>,
}

impl Prices {
    /// The rulebook's prices with the plan's over them; names that are not known go to the errors.
    pub fn gather(settings: &Settings, rulebook: &Rulebook, errors: &mut Vec<RatesError>) -> Self {
        let mut prices = Self {
            by_name: rulebook
                .products
                .iter()
                .map(|p| (p.name.clone(), p.price))
                .collect(),
            starter: None,
        };
        for (name, price) in &settings.prices {
            let place = settings.place_of(&format!("prices.{name}"));
            if let Err(error) = prices.set(name, *price, &place, rulebook) {
                errors.push(error);
            }
        }
        prices
    }

    fn set(
        &mut self,
        name: &str,
        price: Price,
        place: &Place,
        rulebook: &Rulebook,
    ) -> Result<(), RatesError> {
        let place = || place.clone();
        let number = match ProductName::new(name) {
            ProductName::Starter => in_form(price, Metering::Liquid, None),
            ProductName::Product(name) => {
                let product = rulebook
                    .product(&name)
                    .ok_or_else(|| unknown(&name, place(), rulebook))?;
                in_form(price, product.metering, Some(product))
            }
        };
        let metering = rulebook
            .product(name)
            .map_or(Metering::Liquid, |product| product.metering);
        let number = number.ok_or_else(|| wrong_form(name, metering, true, place()))?;
        if !(number >= 0.0 && number.is_finite()) {
            let found = crate::units::decimal(number, 4);
            return Err(RatesError::Negative {
                place: place(),
                product: name.to_owned(),
                what: "price",
                found,
            });
        }
        match self.by_name.iter_mut().find(|(known, _)| known == name) {
            Some((_, known)) => *known = Some(number),
            None => self.starter = Some(number),
        }
        Ok(())
    }

    /// Price of a product.
    pub fn price_of(&self, name: &str) -> Option<f64> {
        self.by_name
            .iter()
            .find(|(known, _)| known == name)
            .and_then(|(_, price)| *price)
    }

    /// Price of a litre of the starter, where the plan sets it as a whole.
    pub fn of_starter(&self) -> Option<f64> {
        self.starter
    }
}

fn in_form(price: Price, metering: Metering, product: Option<&Product>) -> Option<f64> {
    match (price, metering) {
        (Price::PerMass(price), Metering::Dry) => Some(price.stored()),
        (Price::PerVolume(price), Metering::Liquid) => Some(price.stored()),
        (Price::PerMass(price), Metering::Liquid) => {
            Some(price.stored() * product?.density?.kilograms_per_litre())
        }
        (Price::PerVolume(_), Metering::Dry) => None,
    }
}

/// A price as the prescription carries it.
pub(super) fn as_price(number: f64, metering: Metering) -> Price {
    match metering {
        Metering::Dry => Price::PerMass(MoneyPerMass::from_stored(number)),
        Metering::Liquid => Price::PerVolume(MoneyPerVolume::from_stored(number)),
    }
}

pub(super) fn unknown(name: &str, place: Place, rulebook: &Rulebook) -> RatesError {
    let mut known: Vec<&str> = rulebook
        .products
        .iter()
        .map(|product| product.name.as_str())
        .collect();
    known.push(Rulebook::STARTER);
    RatesError::UnknownProduct {
        place,
        product: name.to_owned(),
        nearest: rulebook.nearest_product(name),
        known: known.join(", "),
    }
}

pub(super) fn wrong_form(
    name: &str,
    metering: Metering,
    is_price: bool,
    place: Place,
) -> RatesError {
    let (metered, wanted) = match (metering, is_price) {
        (Metering::Dry, true) => ("mass", "USD/ton, USD/lb, USD/tonne or USD/kg"),
        (Metering::Liquid, true) => ("volume", "USD/gal or USD/L"),
        (Metering::Dry, false) => ("mass", "lb/ac, ton/ac, kg/ha or tonne/ha"),
        (Metering::Liquid, false) => ("volume", "gal/ac or L/ha"),
    };
    RatesError::WrongForm {
        place,
        product: name.to_owned(),
        metered,
        wanted,
    }
}

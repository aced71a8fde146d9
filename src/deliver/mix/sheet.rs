//! What to buy and how to fill each load, as facts that every writer takes.

use crate::deliver::columns::{RateColumn, printed_total};
use crate::deliver::numbers::with_commas;
use crate::deliver::overview::Overview;
use crate::plan::{Price, Stock, Supply};
use crate::rates::{Ingredient, Load, Prescription, ProductUse, Recipe};
use crate::rulebook::PriceSource;
use crate::units::{Density, Mass, Metering, UnitSystem, Volume};

/// An amount of something, in the unit it is measured in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::deliver) enum Measured {
    Mass(Mass),
    Volume(Volume),
}

impl Measured {
    pub(super) fn number(self, system: UnitSystem) -> f64 {
        match self {
            Self::Mass(mass) => mass.number_in(system),
            Self::Volume(volume) => volume.number_in(system),
        }
    }

    pub(super) fn unit(self, system: UnitSystem) -> &'static str {
        match self {
            Self::Mass(_) => Mass::unit_in(system),
            Self::Volume(_) => Volume::unit_in(system),
        }
    }

    /// The number in the unit that packs are given in: kilograms or litres.
    pub(in crate::deliver) fn stored(self) -> f64 {
        match self {
            Self::Mass(mass) => mass.kilograms(),
            Self::Volume(volume) => volume.litres(),
        }
    }
}

/// A line of the shopping list.
#[derive(Debug)]
pub(in crate::deliver) struct Purchase<'a> {
    pub(in crate::deliver) label: &'a str,
    pub(in crate::deliver) amount: Measured,
    /// Whole packs that hold what is not on hand.
    pub(super) packs: Option<(u64, &'a str)>,
    /// What it is bought in, see [`ProductUse::pack`].
    pub(in crate::deliver) pack: Option<&'a (String, f64)>,
    pub(in crate::deliver) dollars: Option<f64>,
    /// Where the price comes from.
    pub(in crate::deliver) price_source: PriceSource,
    /// What the whole packs cost.
    pack_dollars: Option<f64>,
    /// What of the amount stands in the shed.
    on_hand: Option<Measured>,
}

impl<'a> Purchase<'a> {
    fn new(
        label: &'a str,
        amount: Measured,
        pack: Option<&'a (String, f64)>,
        (dollars, price_source): (Option<f64>, PriceSource),
    ) -> Self {
        Self {
            label,
            amount,
            packs: packs(amount, pack),
            pack,
            dollars,
            price_source,
            pack_dollars: pack_dollars(amount, pack, dollars),
            on_hand: None,
        }
    }

    /// The same where a part of it stands in the shed: packs are bought for the rest alone.
    pub(in crate::deliver) fn with_stock(self, on_hand: Option<Measured>) -> Self {
        let Some(stock) = on_hand else { return self };
        let all = self.amount.stored();
        let rest = (all - stock.stored()).max(0.0);
        let bought = self
            .pack
            .filter(|(_, size)| *size > 0.0)
            .map(|(name, size)| (whole_packs(rest, *size), name.as_str()));
        let packs = bought.filter(|(count, _)| *count > 0);
        let of_packs = self.packs.zip(packs).zip(self.pack_dollars);
        Self {
            packs,
            // As many of the packs that hold all.
            pack_dollars: of_packs.map(|((whole, bought), dollars)| {
                dollars * bought.0 as f64 / whole.0.max(1) as f64
            }),
            on_hand,
            ..self
        }
    }

    /// What the amount that is not on hand costs, United States dollars.
    fn rest_dollars(&self) -> Option<f64> {
        let stock = self.on_hand.map_or(0.0, Measured::stored);
        let share = 1.0 - stock / self.amount.stored();
        self.dollars.map(|dollars| dollars * share)
    }

    /// What the whole packs cost more than the amount to buy, United States dollars.
    pub(in crate::deliver) fn packs_more(&self) -> f64 {
        let both = self.pack_dollars.zip(self.rest_dollars());
        both.map_or(0.0, |(packs, amount)| (packs - amount).max(0.0))
    }
}

/// A line of the shopping list as it is printed.
#[derive(Debug, Clone, PartialEq)]
pub struct PurchaseLine {
    /// What people call it.
    pub label: String,
    /// Amount with unit.
    pub amount: String,
    /// Whole packs that hold what is not on hand.
    pub packs: Option<String>,
    /// What the amount costs, United States dollars; nothing without a price.
    pub dollars: Option<f64>,
    /// Where the price comes from.
    pub price_source: PriceSource,
    /// What of the amount stands in the shed, with unit.
    pub on_hand: Option<String>,
    /// What the whole packs cost, where that is more than the amount by half and by a dollar (own): less is not worth a line on the sheet.
    pub pack_dollars: Option<f64>,
}

/// What a product's zones take.
#[derive(Debug)]
pub(super) struct ByZone<'a> {
    pub(super) label: &'a str,
    pub(super) unit: &'static str,
    /// Number of the zone, and its amount.
    pub(super) amounts: Vec<(u32, f64)>,
}

/// What to buy and how to fill the tank.
#[derive(Debug)]
pub struct Sheet<'a> {
    pub(super) units: UnitSystem,
    pub(super) purchases: Vec<Purchase<'a>>,
    pub(super) by_zone: Vec<ByZone<'a>>,
    pub(super) recipe: Option<&'a Recipe>,
    pub(super) cautions: Vec<&'a str>,
}

impl<'a> Sheet<'a> {
    /// Puts the sheet together.
    #[must_use]
    pub fn new(overview: &'a Overview<'a>) -> Self {
        let prescription = overview.stages.prescription;
        let recipe = prescription.recipe.as_ref();
        let is_mixed = |product: &ProductUse| {
            recipe.is_some_and(|recipe: &Recipe| product.name == recipe.product)
        };
        let supply = &overview.stages.settings.supply;
        let mut purchases: Vec<Purchase<'_>> = exact_purchases(prescription)
            .into_iter()
            .map(|(name, line)| {
                let stock = on_hand(supply, &name, line.amount);
                line.with_stock(stock)
            })
            .collect();
        // Whole dollars that add up to the total, the same wherever they are printed.
        let dollars: Vec<f64> = purchases.iter().filter_map(|line| line.dollars).collect();
        let mut whole = crate::deliver::numbers::rounded_to_sum(&dollars).into_iter();
        for line in &mut purchases {
            line.dollars = line.dollars.and_then(|_| whole.next()).map(|w| w as f64);
        }
        let cautions = prescription
            .products
            .iter()
            .filter(|product| is_mixed(product))
            .flat_map(|product| product.cautions.iter().map(String::as_str));
        Self {
            units: overview.units,
            purchases,
            by_zone: by_zone(overview),
            recipe,
            cautions: cautions.collect(),
        }
    }

    pub(super) fn number(&self, amount: Measured) -> String {
        with_commas(&printed_total(amount.number(self.units)))
    }

    fn shown(&self, amount: Measured) -> String {
        format!("{} {}", self.number(amount), amount.unit(self.units))
    }

    /// What has to be bought, line by line.
    #[must_use]
    pub fn purchases(&self) -> Vec<PurchaseLine> {
        let line = |line: &Purchase<'_>| PurchaseLine {
            label: line.label.to_owned(),
            amount: self.shown(line.amount),
            packs: line.packs.map(|(count, pack)| format!("{count} x {pack}")),
            dollars: line.dollars,
            price_source: line.price_source,
            on_hand: line.on_hand.map(|amount| self.shown(amount)),
            pack_dollars: line.pack_dollars.filter(|whole| {
                line.rest_dollars()
                    .is_some_and(|part| *whole >= (1.5 * part).max(part + 1.0))
            }),
        };
        self.purchases.iter().map(line).collect()
    }

    pub(super) fn load_amounts<'s>(
        recipe: &'s Recipe,
        load: &'s Load,
    ) -> impl Iterator<Item = (&'s Ingredient, Measured)> {
        recipe
            .ingredients
            .iter()
            .zip(&load.amounts)
            .map(|(ingredient, amount)| {
                let kilograms = || Measured::Mass(Mass::from_kilograms(*amount));
                (
                    ingredient,
                    if ingredient.is_dry {
                        kilograms()
                    } else {
                        Measured::Volume(Volume::from_litres(*amount))
                    },
                )
            })
    }
}

/// What has to be bought, by name in the rulebook, with its cost to the cent.
pub(in crate::deliver) fn exact_purchases(
    prescription: &Prescription,
) -> Vec<(String, Purchase<'_>)> {
    let recipe = prescription.recipe.as_ref();
    // The blend itself is a line where the plan prices it as a whole: its ingredients then have no price of their own.
    let is_bought = |product: &&ProductUse| {
        recipe.is_none_or(|recipe: &Recipe| {
            let mut parts = recipe.ingredients.iter();
            product.name != recipe.product
                || parts.any(|part| part.price_source == PriceSource::InTheBlend)
        })
    };
    let products = prescription
        .products
        .iter()
        .filter(is_bought)
        .map(|product| (product.name.to_string(), product_purchase(product)));
    let ingredients = recipe
        .into_iter()
        .flat_map(|recipe| &recipe.ingredients)
        .map(|ingredient| (ingredient.product.clone(), ingredient_purchase(ingredient)));
    products
        .chain(ingredients)
        .filter(|(_, line)| line.amount.stored() > 0.0)
        .collect()
}

/// What of an amount stands in the shed by the plan; nothing where the plan does not say, or says none.
pub(in crate::deliver) fn on_hand(
    supply: &Supply,
    name: &str,
    amount: Measured,
) -> Option<Measured> {
    let shed = supply.shed.as_ref()?;
    let (_, stock) = shed.on_hand.iter().find(|(known, _)| known == name)?;
    let part = match (*stock, amount) {
        (Stock::Mass(stock), Measured::Mass(amount)) => {
            Measured::Mass(if stock < amount { stock } else { amount })
        }
        (Stock::Volume(stock), Measured::Volume(amount)) => {
            Measured::Volume(if stock < amount { stock } else { amount })
        }
        // The plan is refused where a stock is in the other form.
        _ => return None,
    };
    (part.stored() > 0.0).then_some(part)
}

fn product_purchase(product: &ProductUse) -> Purchase<'_> {
    let density = product.density.map_or(0.0, Density::kilograms_per_litre);
    let (amount, mass, volume) = match product.form {
        Metering::Dry => (
            Measured::Mass(product.total_mass),
            product.total_mass,
            Volume::ZERO,
        ),
        Metering::Liquid => {
            let volume = product.total_volume;
            (
                Measured::Volume(volume),
                Mass::from_kilograms(volume.litres() * density),
                volume,
            )
        }
    };
    let dollars = dollars(product.price, mass, volume);
    let price = (dollars, product.price_source);
    Purchase::new(&product.label, amount, product.pack.as_ref(), price)
}

fn ingredient_purchase(ingredient: &Ingredient) -> Purchase<'_> {
    let amount = if ingredient.is_dry {
        Measured::Mass(ingredient.total_mass)
    } else {
        Measured::Volume(ingredient.total_volume)
    };
    let dollars = dollars(
        ingredient.price,
        ingredient.total_mass,
        ingredient.total_volume,
    );
    let price = (dollars, ingredient.price_source);
    Purchase::new(&ingredient.label, amount, ingredient.pack.as_ref(), price)
}

/// Whole packs that hold the amount.
fn packs(amount: Measured, pack: Option<&(String, f64)>) -> Option<(u64, &str)> {
    let (name, size) = pack?;
    (*size > 0.0).then(|| (whole_packs(amount.stored(), *size), name.as_str()))
}

/// What the whole packs cost that hold an amount.
fn pack_dollars(
    amount: Measured,
    pack: Option<&(String, f64)>,
    dollars: Option<f64>,
) -> Option<f64> {
    let (count, _) = packs(amount, pack)?;
    let share = count as f64 * pack?.1 / amount.stored();
    // To the cent, so that rounding of the amount moves no dollar.
    dollars
        .map(|dollars| (100.0 * dollars * share).round() / 100.0)
        .filter(|dollars| dollars.is_finite())
}

/// How many packs of a size hold an amount; a thousandth of a pack is not worth another one.
pub(in crate::deliver) fn whole_packs(amount: f64, size: f64) -> u64 {
    (amount / size - 0.001).ceil().max(0.0) as u64
}

/// What an amount costs; `None` without a price, or where the price is per measure that is not known.
fn dollars(price: Option<Price>, mass: Mass, volume: Volume) -> Option<f64> {
    match price? {
        Price::PerMass(price) if mass > Mass::ZERO => {
            Some(price.dollars_per_kilogram() * mass.kilograms())
        }
        Price::PerVolume(price) if volume > Volume::ZERO => {
            Some(price.dollars_per_litre() * volume.litres())
        }
        _ => None,
    }
}

fn by_zone<'a>(overview: &'a Overview<'a>) -> Vec<ByZone<'a>> {
    let amounts = |at: usize| {
        let of_zone = |place: usize| -> f64 {
            let pieces = overview.pieces.iter().filter(|piece| piece.place == place);
            pieces
                .map(|piece| piece.rates[at] * piece.area.number_in(overview.units))
                .sum()
        };
        let zones = overview.zones.iter().enumerate();
        zones
            .map(|(place, view)| (view.number, of_zone(place)))
            .collect()
    };
    let of = |(at, column): (usize, &'a RateColumn<'a>)| ByZone {
        label: &column.product.label,
        unit: column.total(overview.units).1,
        amounts: amounts(at),
    };
    overview.columns.iter().enumerate().map(of).collect()
}

#[cfg(test)]
#[path = "sheet_tests.rs"]
mod tests;

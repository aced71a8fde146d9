//! What to buy and how to fill each load: `mix.csv` and `mix.txt`.

mod sheet_lines;

use std::fmt::Write;

use super::columns::printed_total;
use super::delivery::OutputFile;
use super::error::DeliverError;
use super::escape::csv;
use super::format_input::FormatInput;
use super::overview::Overview;
use crate::deliver::numbers::with_commas;
use crate::plan::Price;
use crate::rates::{Ingredient, Load, ProductUse, Recipe};
use crate::text::{Column, Page};
use crate::units::Metering;
use crate::units::{Density, Mass, UnitSystem, Volume, decimal, fixed};

pub use sheet_lines::{NOTHING, ORDER};

/// An amount of something, in the unit it is measured in.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Measured {
    Mass(Mass),
    Volume(Volume),
}

impl Measured {
    fn number(self, system: UnitSystem) -> f64 {
        match self {
            Self::Mass(mass) => mass.number_in(system),
            Self::Volume(volume) => volume.number_in(system),
        }
    }

    fn unit(self, system: UnitSystem) -> &'static str {
        match self {
            Self::Mass(_) => Mass::unit_in(system),
            Self::Volume(_) => Volume::unit_in(system),
        }
    }

    /// The number in the unit that packs are given in: kilograms or litres.
    fn stored(self) -> f64 {
        match self {
            Self::Mass(mass) => mass.kilograms(),
            Self::Volume(volume) => volume.litres(),
        }
    }
}

/// A line of the shopping list.
#[derive(Debug)]
struct Purchase<'a> {
    label: &'a str,
    amount: Measured,
    packs: Option<(u64, &'a str)>,
    dollars: Option<f64>,
}

/// A line of the shopping list as it is printed.
#[derive(Debug, Clone, PartialEq)]
pub struct PurchaseLine {
    /// What people call it.
    pub label: String,
    /// Amount with unit.
    pub amount: String,
    /// Whole packs that hold it.
    pub packs: Option<String>,
    /// What the amount costs, United States dollars; nothing without a price.
    pub dollars: Option<f64>,
}

/// What a product's zones take.
#[derive(Debug)]
struct ByZone<'a> {
    label: &'a str,
    unit: &'static str,
    /// Number of the zone, and its amount.
    amounts: Vec<(u32, f64)>,
}

/// What to buy and how to fill the tank.
#[derive(Debug)]
pub struct Sheet<'a> {
    units: UnitSystem,
    purchases: Vec<Purchase<'a>>,
    by_zone: Vec<ByZone<'a>>,
    recipe: Option<&'a Recipe>,
    cautions: Vec<&'a str>,
}

impl<'a> Sheet<'a> {
    /// Puts the sheet together.
    #[must_use]
    pub fn new(overview: &'a Overview<'a>) -> Self {
        let prescription = overview.stages.prescription;
        let recipe = prescription.recipe.as_ref();
        let is_mixed = |product: &ProductUse| recipe.is_some() && product.name == "starter";
        let products = prescription
            .products
            .iter()
            .filter(|product| !is_mixed(product))
            .map(product_purchase);
        let ingredients = recipe
            .into_iter()
            .flat_map(|recipe| &recipe.ingredients)
            .map(ingredient_purchase);
        let mut purchases: Vec<Purchase<'_>> = products
            .chain(ingredients)
            .filter(|line| line.amount.stored() > 0.0)
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

    fn number(&self, amount: Measured) -> String {
        with_commas(&printed_total(amount.number(self.units)))
    }

    /// What has to be bought, line by line.
    #[must_use]
    pub fn purchases(&self) -> Vec<PurchaseLine> {
        let line = |line: &Purchase<'_>| PurchaseLine {
            label: line.label.to_owned(),
            amount: format!(
                "{} {}",
                self.number(line.amount),
                line.amount.unit(self.units)
            ),
            packs: line.packs.map(|(count, pack)| format!("{count} x {pack}")),
            dollars: line.dollars,
        };
        self.purchases.iter().map(line).collect()
    }

    fn load_amounts<'s>(
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
    Purchase {
        label: &product.label,
        amount,
        packs: packs(amount, product.pack.as_ref()),
        dollars: dollars(product.price, mass, volume),
    }
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
    Purchase {
        label: &ingredient.label,
        amount,
        packs: packs(amount, ingredient.pack.as_ref()),
        dollars,
    }
}

/// Whole packs that hold the amount; a thousandth of a pack is not worth another one.
fn packs(amount: Measured, pack: Option<&(String, f64)>) -> Option<(u64, &str)> {
    let (name, size) = pack?;
    (*size > 0.0).then(|| {
        (
            (amount.stored() / size - 0.001).ceil().max(0.0) as u64,
            name.as_str(),
        )
    })
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
    let of = |(at, column): (usize, &'a super::columns::RateColumn<'a>)| ByZone {
        label: &column.product.label,
        unit: column.total(overview.units).1,
        amounts: amounts(at),
    };
    overview.columns.iter().enumerate().map(of).collect()
}

/// Both files.
///
/// # Errors
/// None; the signature is that of every format.
#[expect(clippy::unnecessary_wraps, reason = "every format has this front door")]
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let sheet = Sheet::new(input.overview);
    Ok(vec![
        OutputFile::new("mix.csv", table(&sheet)),
        OutputFile::new("mix.txt", page(input.overview, &sheet)),
    ])
}

/// `mix.csv`: one row per thing to buy, per product and zone, and per ingredient and load.
#[expect(
    clippy::too_many_lines,
    reason = "a table: a block for each part of the sheet"
)]
fn table(sheet: &Sheet<'_>) -> String {
    let mut out = String::from("sheet,number,order,item,amount,unit,packs,pack,cost_usd\n");
    for (at, line) in sheet.purchases.iter().enumerate() {
        let (packs, pack) = line.packs.map_or((String::new(), ""), |(count, pack)| {
            (count.to_string(), pack)
        });
        let cost = line
            .dollars
            .map(|dollars| fixed(dollars, 0))
            .unwrap_or_default();
        let (amount, unit) = (
            printed_total(line.amount.number(sheet.units)),
            line.amount.unit(sheet.units),
        );
        let _ = writeln!(
            out,
            "buy,,{},{},{amount},{unit},{packs},{},{cost}",
            at + 1,
            csv(line.label),
            csv(pack)
        );
    }
    for (
        at,
        ByZone {
            label,
            unit,
            amounts,
        },
    ) in sheet.by_zone.iter().enumerate()
    {
        for (zone, amount) in amounts {
            let _ = writeln!(
                out,
                "zone,{zone},{},{},{},{unit},,,",
                at + 1,
                csv(label),
                decimal(*amount, 2)
            );
        }
    }
    let Some(recipe) = sheet.recipe else {
        return out;
    };
    let mut number = 0;
    for load in &recipe.loads {
        for _ in 0..load.count {
            number += 1;
            for (order, (ingredient, amount)) in Sheet::load_amounts(recipe, load).enumerate() {
                let (amount, unit) = (
                    decimal(amount.number(sheet.units), 2),
                    amount.unit(sheet.units),
                );
                let _ = writeln!(
                    out,
                    "load,{number},{},{},{amount},{unit},,,",
                    order + 1,
                    csv(&ingredient.label)
                );
            }
        }
    }
    out
}

/// `mix.txt`: the same as a page for tank and shed.
fn page(overview: &Overview<'_>, sheet: &Sheet<'_>) -> String {
    let settings = overview.stages.settings;
    let mut page = Page::default();
    page.chapter(&format!(
        "Buying and filling: {}, {} {}",
        settings.field, settings.crop, settings.season
    ));
    push_sheet(&mut page, sheet);
    page.finish()
}

/// The sheet's sections.
pub fn push_sheet(page: &mut Page, sheet: &Sheet<'_>) {
    if sheet.purchases.is_empty() {
        page.paragraph(NOTHING);
        return;
    }
    page.section("To buy");
    let columns = [
        Column::text("Product"),
        Column::number("Amount", ""),
        Column::text("Unit"),
        Column::text("Packs"),
        Column::number("Cost", "USD"),
    ];
    page.table(&columns, &sheet.purchase_rows());
    page.paragraph("Costs are of the amounts, not of whole packs.");
    if let Some(recipe) = sheet.recipe {
        page.section(&format!("Recipe \"{}\"", recipe.name));
        sheet
            .recipe_lines()
            .iter()
            .for_each(|line| page.paragraph(line));
    }
    if let Some((heads, rows)) = sheet.load_table() {
        page.blank();
        page.paragraph(ORDER);
        let numbers = heads.iter().skip(2).map(|head| Column::number(head, ""));
        let columns: Vec<Column> = heads
            .iter()
            .take(2)
            .map(|head| Column::text(head))
            .chain(numbers)
            .collect();
        page.table(&columns, &rows);
    }
    page.blank();
    sheet.notes().for_each(|note| page.item("- ", note));
    sheet
        .cautions
        .iter()
        .for_each(|caution| page.item("Caution: ", caution));
}

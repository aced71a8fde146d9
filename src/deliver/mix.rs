//! What to buy and how to fill each load: `mix.csv` and `mix.txt`.

use std::fmt::Write;

use super::escape::csv;
use super::overview::Overview;
use super::report_text::{Column, Page};
use super::review::grouped;
use crate::plan::Price;
use crate::rates::{Ingredient, Load, ProductForm, ProductUse, Recipe};
use crate::units::{Density, Mass, UnitSystem, Volume, decimal, fixed};

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

/// The mixing room's sheet.
#[derive(Debug)]
pub struct Sheet<'a> {
    units: UnitSystem,
    purchases: Vec<Purchase<'a>>,
    /// Per product: label, unit, and per zone its number and amount.
    by_zone: Vec<(&'a str, &'static str, Vec<(u32, f64)>)>,
    recipe: Option<&'a Recipe>,
    cautions: Vec<&'a str>,
}

impl<'a> Sheet<'a> {
    /// Puts the sheet together.
    #[must_use]
    pub fn new(overview: &'a Overview<'a>) -> Self {
        let prescription = overview.case.prescription;
        let recipe = prescription.recipe.as_ref();
        let is_mixed = |product: &ProductUse| recipe.is_some() && product.name == "starter";
        let products = prescription.products.iter().filter(|product| !is_mixed(product)).map(product_purchase);
        let ingredients = recipe.into_iter().flat_map(|recipe| &recipe.ingredients).map(ingredient_purchase);
        let purchases = products.chain(ingredients).filter(|line| line.amount.stored() > 0.0).collect();
        let cautions = prescription
            .products
            .iter()
            .filter(|product| is_mixed(product))
            .flat_map(|product| product.cautions.iter().map(String::as_str));
        Self { units: overview.units, purchases, by_zone: by_zone(overview), recipe, cautions: cautions.collect() }
    }

    fn number(&self, amount: Measured) -> String {
        grouped(amount.number(self.units), 1)
    }

    fn load_amounts<'s>(&self, recipe: &'s Recipe, load: &'s Load) -> impl Iterator<Item = (&'s Ingredient, Measured)> {
        recipe.ingredients.iter().zip(&load.amounts).map(|(ingredient, amount)| {
            let kilograms = || Measured::Mass(Mass::from_kilograms(*amount));
            (ingredient, if ingredient.is_dry { kilograms() } else { Measured::Volume(Volume::from_litres(*amount)) })
        })
    }
}

fn product_purchase(product: &ProductUse) -> Purchase<'_> {
    let density = product.density.map_or(0.0, Density::kilograms_per_litre);
    let (amount, mass, volume) = match product.form {
        ProductForm::Dry => (Measured::Mass(product.total_mass), product.total_mass, Volume::ZERO),
        ProductForm::Liquid => {
            let volume = product.total_volume;
            (Measured::Volume(volume), Mass::from_kilograms(volume.litres() * density), volume)
        }
    };
    Purchase { label: &product.label, amount, packs: packs(amount, product.pack.as_ref()), dollars: dollars(product.price, mass, volume) }
}

fn ingredient_purchase(ingredient: &Ingredient) -> Purchase<'_> {
    let amount = if ingredient.is_dry { Measured::Mass(ingredient.total_mass) } else { Measured::Volume(ingredient.total_volume) };
    let dollars = dollars(ingredient.price, ingredient.total_mass, ingredient.total_volume);
    Purchase { label: &ingredient.label, amount, packs: packs(amount, ingredient.pack.as_ref()), dollars }
}

/// Whole packs that hold the amount; a thousandth of a pack is not worth another one.
fn packs(amount: Measured, pack: Option<&(String, f64)>) -> Option<(u64, &str)> {
    let (name, size) = pack?;
    (*size > 0.0).then(|| ((amount.stored() / size - 0.001).ceil().max(0.0) as u64, name.as_str()))
}

/// What an amount costs; `None` without a price, or where the price is per measure that is not known.
fn dollars(price: Option<Price>, mass: Mass, volume: Volume) -> Option<f64> {
    match price? {
        Price::PerMass(price) if mass > Mass::ZERO => Some(price.dollars_per_kilogram() * mass.kilograms()),
        Price::PerVolume(price) if volume > Volume::ZERO => Some(price.dollars_per_litre() * volume.litres()),
        _ => None,
    }
}

fn by_zone<'a>(overview: &'a Overview<'a>) -> Vec<(&'a str, &'static str, Vec<(u32, f64)>)> {
    let amounts = |column: &super::columns::RateColumn<'_>| {
        let zones = overview.zones.iter().zip(&column.rates);
        zones.map(|(view, rate)| (view.number, rate * view.area().number_in(overview.units))).collect()
    };
    overview.columns.iter().map(|column| (column.product.label.as_str(), column.total(overview.units).1, amounts(column))).collect()
}

/// `mix.csv`: one row per thing to buy, per product and zone, and per ingredient and load.
#[must_use]
pub fn table(sheet: &Sheet<'_>) -> String {
    let mut out = String::from("sheet,number,order,item,amount,unit,packs,pack,cost_usd\n");
    for (at, line) in sheet.purchases.iter().enumerate() {
        let (packs, pack) = line.packs.map_or((String::new(), ""), |(count, pack)| (count.to_string(), pack));
        let cost = line.dollars.map(|dollars| fixed(dollars, 2)).unwrap_or_default();
        let (amount, unit) = (decimal(line.amount.number(sheet.units), 2), line.amount.unit(sheet.units));
        let _ = writeln!(out, "buy,,{},{},{amount},{unit},{packs},{},{cost}", at + 1, csv(line.label), csv(pack));
    }
    for (at, (label, unit, zones)) in sheet.by_zone.iter().enumerate() {
        for (zone, amount) in zones {
            let _ = writeln!(out, "zone,{zone},{},{},{},{unit},,,", at + 1, csv(label), decimal(*amount, 2));
        }
    }
    let Some(recipe) = sheet.recipe else { return out };
    let mut number = 0;
    for load in &recipe.loads {
        for _ in 0..load.count {
            number += 1;
            for (order, (ingredient, amount)) in sheet.load_amounts(recipe, load).enumerate() {
                let (amount, unit) = (decimal(amount.number(sheet.units), 2), amount.unit(sheet.units));
                let _ = writeln!(out, "load,{number},{},{},{amount},{unit},,,", order + 1, csv(&ingredient.label));
            }
        }
    }
    out
}

/// `mix.txt`: the same as a page for the mixing room.
#[must_use]
pub fn page(overview: &Overview<'_>, sheet: &Sheet<'_>) -> String {
    let settings = overview.case.settings;
    let mut page = Page::default();
    page.chapter(&format!("Mixing and loading: {}, {} {}", settings.field, settings.crop, settings.season));
    push_sheet(&mut page, sheet);
    page.finish()
}

/// The sheet's sections.
pub fn push_sheet(page: &mut Page, sheet: &Sheet<'_>) {
    if sheet.purchases.is_empty() {
        page.paragraph("Nothing to buy: every rate is 0.");
        return;
    }
    shopping(page, sheet);
    if let Some(recipe) = sheet.recipe {
        fill(page, sheet, recipe);
    }
    sheet.cautions.iter().for_each(|caution| page.item("Caution: ", caution));
}

fn shopping(page: &mut Page, sheet: &Sheet<'_>) {
    page.section("To buy");
    let columns =
        [Column::text("Product"), Column::number("Amount", ""), Column::text("Unit"), Column::text("Packs"), Column::number("Cost", "USD")];
    let mut rows: Vec<Vec<String>> = Vec::new();
    for line in &sheet.purchases {
        let packs = line.packs.map(|(count, pack)| format!("{count} x {pack}")).unwrap_or_default();
        let cost = line.dollars.map_or_else(|| "no price".to_owned(), |dollars| grouped(dollars, 0));
        rows.push(vec![line.label.to_owned(), sheet.number(line.amount), line.amount.unit(sheet.units).to_owned(), packs, cost]);
    }
    page.table(&columns, &rows);
    page.paragraph("Costs are of the amounts, not of whole packs.");
}

fn fill(page: &mut Page, sheet: &Sheet<'_>, recipe: &Recipe) {
    let system = sheet.units;
    page.section(&format!("Recipe \"{}\"", recipe.name));
    let (least, most) = recipe.range;
    let (range_from, weight) = (decimal(least.number_in(system), 1), recipe.density.show(system, 2));
    page.paragraph(&format!("Made for {range_from} to {}; the mix weighs {weight}.", most.show(system, 1)));
    page.paragraph(&format!(
        "Nitrogen plus potash that touches the seed at the highest rate: {}; limit {} ({}).",
        recipe.seed_salt.show(system, 2),
        recipe.seed_salt_limit.show(system, 2),
        recipe.seed_salt_source
    ));
    loads(page, sheet, recipe);
    if !recipe.notes.is_empty() {
        page.blank();
        recipe.notes.iter().for_each(|note| page.item("- ", note));
    }
}

fn loads(page: &mut Page, sheet: &Sheet<'_>, recipe: &Recipe) {
    if recipe.loads.iter().all(|load| load.count == 0) {
        page.paragraph("No load: the starter is held back everywhere.");
        return;
    }
    page.blank();
    page.paragraph("Add in this order, from top to bottom:");
    let mut columns = vec![Column::text("Ingredient"), Column::text("Unit")];
    let mut first = 1;
    for load in recipe.loads.iter().filter(|load| load.count > 0) {
        let last = first + load.count.saturating_sub(1);
        let name = if load.count == 1 { format!("Load {first}") } else { format!("Loads {first}-{last}") };
        columns.push(Column::number(&name, if load.count == 1 { "" } else { "each" }));
        first = last + 1;
    }
    let filled: Vec<&Load> = recipe.loads.iter().filter(|load| load.count > 0).collect();
    let amounts: Vec<Vec<(&Ingredient, Measured)>> = filled.iter().map(|load| sheet.load_amounts(recipe, load).collect()).collect();
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (at, ingredient) in recipe.ingredients.iter().enumerate() {
        let column = amounts.iter().map(|load| load.get(at).map_or_else(String::new, |(_, amount)| sheet.number(*amount)));
        let unit = if ingredient.is_dry { Mass::unit_in(sheet.units) } else { Volume::unit_in(sheet.units) };
        rows.push([format!("{}. {}", at + 1, ingredient.label), unit.to_owned()].into_iter().chain(column).collect());
    }
    let total = |label: &str, unit: &str, of: fn(&Load) -> Measured| {
        [label.to_owned(), unit.to_owned()].into_iter().chain(filled.iter().map(|load| sheet.number(of(load)))).collect()
    };
    rows.push(total("in the tank", Volume::unit_in(sheet.units), |load| Measured::Volume(load.volume)));
    rows.push(total("its weight", Mass::unit_in(sheet.units), |load| Measured::Mass(load.mass)));
    page.table(&columns, &rows);
}

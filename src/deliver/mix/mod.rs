//! What to buy and how to fill each load: `mix.csv` and `mix.txt`.

pub(super) mod sheet;
pub(super) mod sheet_lines;

use std::fmt::Write;

use super::columns::printed_total;
use super::error::DeliverError;
use super::escape::csv;
use super::format_input::FormatInput;
use super::output_file::OutputFile;
use super::overview::Overview;
use crate::rates::Recipe;
use crate::text::{Column, Page};
use crate::units::{decimal, fixed};
use sheet::ByZone;

pub use sheet::Sheet;
pub use sheet_lines::{NOTHING, ORDER};

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
pub fn table(sheet: &Sheet<'_>) -> String {
    let mut out = String::from("sheet,number,order,item,amount,unit,packs,pack,cost_usd\n");
    push_purchases(&mut out, sheet);
    for (at, product) in sheet.by_zone.iter().enumerate() {
        push_zones(&mut out, at + 1, product);
    }
    if let Some(recipe) = sheet.recipe {
        push_loads(&mut out, sheet, recipe);
    }
    out
}

fn push_purchases(out: &mut String, sheet: &Sheet<'_>) {
    for (at, line) in sheet.purchases.iter().enumerate() {
        let (packs, pack) = line.packs.map_or((String::new(), ""), |(count, pack)| {
            (count.to_string(), pack)
        });
        let cost = line.dollars.map(|dollars| fixed(dollars, 0));
        let amount = printed_total(line.amount.number(sheet.units));
        let _ = writeln!(
            out,
            "buy,,{},{},{amount},{},{packs},{},{}",
            at + 1,
            csv(line.label),
            line.amount.unit(sheet.units),
            csv(pack),
            cost.unwrap_or_default()
        );
    }
}

fn push_zones(out: &mut String, order: usize, product: &ByZone<'_>) {
    let (item, unit) = (csv(product.label), product.unit);
    for (zone, amount) in &product.amounts {
        let amount = decimal(*amount, 2);
        let _ = writeln!(out, "zone,{zone},{order},{item},{amount},{unit},,,");
    }
}

fn push_loads(out: &mut String, sheet: &Sheet<'_>, recipe: &Recipe) {
    let loads = recipe.loads.iter();
    let each = loads.flat_map(|load| std::iter::repeat_n(load, load.count as usize));
    for (number, load) in each.enumerate() {
        for (order, (ingredient, amount)) in Sheet::load_amounts(recipe, load).enumerate() {
            let _ = writeln!(
                out,
                "load,{},{},{},{},{},,,",
                number + 1,
                order + 1,
                csv(&ingredient.label),
                decimal(amount.number(sheet.units), 2),
                amount.unit(sheet.units)
            );
        }
    }
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
    push_purchase_table(page, sheet);
    if let Some(recipe) = sheet.recipe {
        page.section(&format!("Recipe \"{}\"", recipe.name));
        sheet
            .recipe_lines()
            .iter()
            .for_each(|line| page.paragraph(line));
    }
    push_load_table(page, sheet);
    page.blank();
    sheet.notes().for_each(|note| page.item("- ", note));
    sheet
        .cautions
        .iter()
        .for_each(|caution| page.item("Caution: ", caution));
}

/// What to buy, as a table.
pub fn push_purchase_table(page: &mut Page, sheet: &Sheet<'_>) {
    page.section("To buy");
    let columns = [
        Column::text("Product"),
        Column::number("Amount", ""),
        Column::text("Unit"),
        Column::text("Packs"),
        Column::number("Cost", "USD"),
    ];
    page.table(&columns, &sheet.purchase_rows());
    page.paragraph(&sheet.purchase_notes());
}

/// What goes into each load, as a table. Tells whether there is one: without a tank there is none.
pub fn push_load_table(page: &mut Page, sheet: &Sheet<'_>) -> bool {
    let Some((heads, rows)) = sheet.load_table() else {
        return false;
    };
    page.blank();
    page.paragraph(ORDER);
    let numbers = heads.iter().skip(2).map(|head| Column::number(head, ""));
    let texts = heads.iter().take(2).map(|head| Column::text(head));
    let columns: Vec<Column> = texts.chain(numbers).collect();
    page.table(&columns, &rows);
    true
}

//! `bill.csv`, `mix.csv` and `mix.txt` of a farm.

use std::fmt::Write;

use super::bill::{Bill, usd};
use super::facts::{LoadFacts, cents};
use super::input::{FarmField, FarmInput};
use super::purchases::FarmPurchase;
use crate::deliver::columns::printed_total;
use crate::deliver::escape::csv;
use crate::deliver::mix::sheet_lines::cost;
use crate::deliver::mix::{NOTHING, ORDER};
use crate::deliver::numbers::with_commas;
use crate::deliver::output_file::OutputFile;
use crate::text::{Column, Page};
use crate::units::{Mass, UnitSystem, Volume, decimal};

pub(super) fn files(input: &FarmInput<'_>, bill: &Bill) -> [OutputFile; 3] {
    [
        OutputFile::new("bill.csv", bill_table(input, bill)),
        OutputFile::new("mix.csv", mix_table(input)),
        OutputFile::new("mix.txt", mix_page(input, bill)),
    ]
}

/// An amount in the unit that is printed, and the unit.
pub(super) fn shown(amount: f64, is_liquid: bool, units: UnitSystem) -> (f64, &'static str) {
    match is_liquid {
        true => (
            Volume::from_litres(amount).number_in(units),
            Volume::unit_in(units),
        ),
        false => (
            Mass::from_kilograms(amount).number_in(units),
            Mass::unit_in(units),
        ),
    }
}

fn dollars(cents: i64) -> String {
    decimal(cents as f64 / 100.0, 2)
}

/// One row per thing to buy, then one per field and thing, then the other work of each field, then the sums.
fn bill_table(input: &FarmInput<'_>, bill: &Bill) -> String {
    let mut out =
        String::from("sheet,field,item,amount,unit,on_hand,buy,packs,pack,cost_usd,paid_usd\n");
    for line in &bill.purchases {
        push_purchase(&mut out, line, input.units);
    }
    for (field, money) in input.fields.iter().zip(&bill.fields) {
        let name = csv(field.id);
        for line in &field.facts.purchases {
            let (amount, unit) = shown(line.amount, line.is_liquid, input.units);
            let cost = line.dollars.map(|cost| dollars(cents(cost)));
            let (item, amount) = (csv(&line.label), decimal(amount, 2));
            let cost = cost.unwrap_or_default();
            let _ = writeln!(out, "field,{name},{item},{amount},{unit},,,,,{cost},");
        }
        let _ = writeln!(out, "work,{name},other work,,,,,,,{},", dollars(money.1));
    }
    let (cost, paid) = (bill.products() + bill.work(), bill.paid() + bill.work());
    let _ = writeln!(out, "total,,,,,,,,,{},{}", dollars(cost), dollars(paid));
    out
}

fn push_purchase(out: &mut String, line: &FarmPurchase, units: UnitSystem) {
    let number = |amount: f64| decimal(shown(amount, line.is_liquid, units).0, 2);
    let unit = shown(0.0, line.is_liquid, units).1;
    let packs = line.packs().map(|packs| packs.to_string());
    let pack = line.pack.as_ref().map_or("", |(name, _)| name);
    let money = |cents: Option<i64>| cents.map(dollars).unwrap_or_default();
    let _ = writeln!(
        out,
        "buy,,{},{},{unit},{},{},{},{},{},{}",
        csv(&line.label),
        number(line.amount),
        number(line.on_hand),
        number(line.bought()),
        packs.unwrap_or_default(),
        csv(pack),
        money(line.cents),
        money(line.paid())
    );
}

/// One row per field, load and ingredient.
fn mix_table(input: &FarmInput<'_>) -> String {
    let mut out = String::from("field,load,order,item,amount,unit\n");
    for field in &input.fields {
        let Some(facts) = &field.facts.loads else {
            continue;
        };
        let each = facts
            .loads
            .iter()
            .flat_map(|load| std::iter::repeat_n(load, load.0 as usize));
        for (number, (_, _, amounts)) in each.enumerate() {
            let ingredients = facts.ingredients.iter().zip(amounts);
            for (order, ((label, is_dry), amount)) in ingredients.enumerate() {
                let (amount, unit) = shown(*amount, !is_dry, input.units);
                let _ = writeln!(
                    out,
                    "{},{},{},{},{},{unit}",
                    csv(field.id),
                    number + 1,
                    order + 1,
                    csv(label),
                    decimal(amount, 2)
                );
            }
        }
    }
    out
}

/// The shopping list, then the loads field by field.
fn mix_page(input: &FarmInput<'_>, bill: &Bill) -> String {
    let mut page = Page::default();
    page.chapter(&format!("Buying and filling: {}", input.farm));
    push_list(&mut page, input, bill);
    for field in &input.fields {
        let loads = field.facts.loads.as_ref();
        if let Some(facts) = loads.filter(|facts| !facts.loads.is_empty()) {
            push_loads(&mut page, input.units, field, facts);
        }
    }
    page.finish()
}

/// What to buy, as a table.
pub(super) fn push_list(page: &mut Page, input: &FarmInput<'_>, bill: &Bill) {
    if bill.purchases.is_empty() {
        page.paragraph(NOTHING);
        return;
    }
    page.section("To buy, for all fields together");
    let columns = [
        Column::text("Product"),
        Column::number("Goes out", ""),
        Column::number("Buy", ""),
        Column::text("Unit"),
        Column::text("Packs"),
        Column::number("Pay", "USD"),
    ];
    let row = |line: &FarmPurchase| {
        let number =
            |amount: f64| with_commas(&printed_total(shown(amount, line.is_liquid, input.units).0));
        let packs = line.packs().zip(line.pack.as_ref());
        vec![
            line.label.clone(),
            number(line.amount),
            number(line.bought()),
            shown(0.0, line.is_liquid, input.units).1.to_owned(),
            packs.map_or_else(String::new, |(count, (name, _))| {
                format!("{count} x {name}")
            }),
            cost(line.paid().map(usd), line.price_source),
        ]
    };
    let rows: Vec<Vec<String>> = bill.purchases.iter().map(row).collect();
    page.table(&columns, &rows);
    page.paragraph("Packs are bought whole, once for the farm.");
}

fn push_loads(page: &mut Page, units: UnitSystem, field: &FarmField<'_>, facts: &LoadFacts) {
    page.section(&format!("{}: recipe \"{}\"", field.field, facts.recipe));
    page.paragraph(ORDER);
    let mut columns = vec![Column::text("Ingredient"), Column::text("Unit")];
    let mut first = 1;
    for (count, _, _) in &facts.loads {
        let head = match count {
            1 => format!("Load {first}"),
            _ => format!("Loads {first}-{}, each", first + count - 1),
        };
        columns.push(Column::number(&head, ""));
        first += count;
    }
    let number = |amount: f64| with_commas(&printed_total(amount));
    let ingredients = facts.ingredients.iter().enumerate();
    let mut rows: Vec<Vec<String>> = ingredients
        .map(|(at, (label, is_dry))| {
            let amounts = facts.loads.iter().map(|(_, _, amounts)| {
                let amount = amounts.get(at).copied().unwrap_or_default();
                number(shown(amount, !is_dry, units).0)
            });
            let unit = shown(0.0, !is_dry, units).1.to_owned();
            [format!("{}. {label}", at + 1), unit]
                .into_iter()
                .chain(amounts)
                .collect()
        })
        .collect();
    let whole = facts
        .loads
        .iter()
        .map(|(_, litres, _)| number(shown(*litres, true, units).0));
    let heads = ["in the tank".to_owned(), Volume::unit_in(units).to_owned()];
    rows.push(heads.into_iter().chain(whole).collect());
    page.table(&columns, &rows);
    page.blank();
}

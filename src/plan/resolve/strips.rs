//! Check strips.

use super::crop_yield::crop_yield;
use super::money::rate;
use super::results::said;
use super::words::Resolver;
use crate::plan::fixed_or_auto::FixedOrAuto;
use crate::plan::limits;
use crate::plan::reading::{AutoOr, Typed};
use crate::plan::strip_settings::{
    EarlierYield, POSITION_ERROR, SEED, SHORTEST, StripSettings, StripTreatment,
};
use crate::plan::strips_table::{StripsTable, TreatmentEntry};

/// Fewest and most strips of one treatment.
const COUNTS: std::ops::RangeInclusive<f64> = 2.0..=40.0;

/// The strips of a plan; `None` where it asks for none.
pub(super) fn strips(
    typed: &Typed<StripsTable>,
    crop: &str,
    resolver: &Resolver<'_>,
) -> Option<StripSettings> {
    let table = &typed.given()?.value;
    let amount = |typed: &Typed<String>| crop_yield(typed.given()?, crop, resolver);
    Some(StripSettings {
        treatments: treatments(table, resolver)?,
        count: count(&table.count, resolver),
        worth: amount(&table.worth),
        length: resolver
            .within(&table.length, &limits::STRIP_LENGTH)
            .unwrap_or(SHORTEST),
        header: resolver.within(&table.header, &limits::SWATH),
        position_error: resolver
            .within(&table.position_error, &limits::POSITION_ERROR)
            .unwrap_or(POSITION_ERROR),
        spread: spread(&table.spread, crop, resolver),
        earlier_harvest: earlier(table, resolver),
        avoid_passes: whole_numbers(
            &table.avoid_passes,
            "passes counted from 1 at the left edge",
            resolver,
        ),
        seed: table.seed.given().map_or(SEED, |seed| seed.value),
        place: table.place.clone(),
    })
}

/// How much strips differ by themselves: never by nothing.
fn spread(typed: &Typed<String>, crop: &str, resolver: &Resolver<'_>) -> Option<f64> {
    let written = typed.given()?;
    let spread = crop_yield(written, crop, resolver)?;
    if spread <= 0.0 {
        resolver.out_of_range(&written.place, &written.value, "more than 0");
        return None;
    }
    Some(spread)
}

fn earlier(table: &StripsTable, resolver: &Resolver<'_>) -> Option<EarlierYield> {
    let written = table.earlier_harvest.given()?;
    if table.spread.given().is_some() {
        resolver.contradiction(
            &written.place,
            "both spread and earlier_harvest say how much neighbouring passes differ",
            "take one of them out",
        );
    }
    let file = resolver.required_file(
        &table.earlier_harvest,
        &table.place,
        "earlier_harvest = \"harvest-2026.csv\"",
    )?;
    let columns = table.earlier_columns.iter();
    Some(EarlierYield {
        file,
        columns: columns
            .filter_map(|column| said(column, resolver))
            .collect(),
    })
}

fn treatments(table: &StripsTable, resolver: &Resolver<'_>) -> Option<Vec<StripTreatment>> {
    let entries = resolver.required(
        &table.products,
        &table.place,
        "products",
        "products = [\"starter\"]",
    )?;
    if entries.value.is_empty() {
        resolver.contradiction(
            &entries.place,
            "check strips without a product to leave out",
            "write products = [\"starter\"], or take [strips] out",
        );
    }
    let mut found: Vec<StripTreatment> = entries
        .value
        .iter()
        .filter_map(|entry| treatment(entry, resolver))
        .collect();
    for (at, treatment) in found.iter().enumerate() {
        if found[..at].iter().any(|known| known.name == treatment.name) {
            resolver.contradiction(
                &treatment.place,
                format!("two treatments are called \"{}\"", treatment.name),
                "give each a name of its own",
            );
        }
    }
    found.extend(both(table, &found, resolver));
    Some(found)
}

/// Strips without two products at once, where the plan asks for them: what each does depends on the other or not.
fn both(
    table: &StripsTable,
    found: &[StripTreatment],
    resolver: &Resolver<'_>,
) -> Option<StripTreatment> {
    let asked = table.together.given().filter(|asked| asked.value)?;
    let (Some(first), Some(second), None) = (found.first(), found.get(1), found.get(2)) else {
        resolver.contradiction(
            &asked.place,
            "strips without both products need two products",
            "write products = [\"starter\", \"gypsum\"]",
        );
        return None;
    };
    let is_plain = |treatment: &StripTreatment| {
        treatment.rates.len() == 1 && treatment.rates.iter().all(|(_, rate)| rate.is_none())
    };
    if !is_plain(first) || !is_plain(second) {
        resolver.contradiction(
            &asked.place,
            "together leaves two products out, and the plan tries other rates of them",
            "name the products alone, products = [\"starter\", \"gypsum\"]",
        );
        return None;
    }
    let rates: Vec<_> = first.rates.iter().chain(&second.rates).cloned().collect();
    let names: Vec<String> = rates
        .iter()
        .map(|(product, _)| product.replace('_', " "))
        .collect();
    Some(StripTreatment {
        name: format!("no {}", names.join(", no ")),
        rates,
        zones: Vec::new(),
        is_joint: true,
        place: asked.place.clone(),
    })
}

fn treatment(entry: &TreatmentEntry, resolver: &Resolver<'_>) -> Option<StripTreatment> {
    if let Some(product) = &entry.product {
        return Some(StripTreatment {
            name: format!("no {}", product.value.replace('_', " ")),
            rates: vec![(product.value.clone(), None)],
            zones: Vec::new(),
            is_joint: false,
            place: entry.place.clone(),
        });
    }
    let name = resolver.required(&entry.name, &entry.place, "name", "name = \"no starter\"")?;
    if entry.rates.is_empty() {
        resolver.missing(&entry.place, "rates", "rates = { starter = \"0 gal/ac\" }");
    }
    let rates = entry
        .rates
        .iter()
        .filter_map(|(product, text)| Some((product.value.clone(), Some(rate(text, resolver)?))));
    Some(StripTreatment {
        name: name.value.clone(),
        rates: rates.collect(),
        zones: zones(&entry.zones, resolver)
            .into_iter()
            .map(|zone| zone as u32)
            .collect(),
        is_joint: false,
        place: entry.place.clone(),
    })
}

/// The zones of a treatment; an empty list would leave the treatment out without a word.
fn zones(typed: &Typed<Vec<f64>>, resolver: &Resolver<'_>) -> Vec<usize> {
    if let Some(written) = typed.given().filter(|written| written.value.is_empty()) {
        resolver.contradiction(
            &written.place,
            "a treatment for no zone",
            "name the zones, or leave zones out for all of them",
        );
    }
    whole_numbers(typed, "zone numbers from 1", resolver)
}

fn count(typed: &Typed<AutoOr>, resolver: &Resolver<'_>) -> FixedOrAuto<usize> {
    let Some(written) = typed.given() else {
        return FixedOrAuto::Auto;
    };
    let AutoOr::Number(number) = written.value else {
        return FixedOrAuto::Auto;
    };
    if number.fract() == 0.0 && COUNTS.contains(&number) {
        return FixedOrAuto::Fixed(number as usize);
    }
    resolver.out_of_range(
        &written.place,
        number,
        "\"auto\", or a whole number from 2 to 40",
    );
    FixedOrAuto::Auto
}

fn whole_numbers(
    typed: &Typed<Vec<f64>>,
    allowed: &'static str,
    resolver: &Resolver<'_>,
) -> Vec<usize> {
    let Some(written) = typed.given() else {
        return Vec::new();
    };
    let mut whole = Vec::new();
    for number in &written.value {
        if number.fract() == 0.0 && (1.0..=100_000.0).contains(number) {
            whole.push(*number as usize);
        } else {
            resolver.out_of_range(&written.place, number, allowed);
        }
    }
    whole
}

//! Prices, the budget, and the consultant's own rates.

use std::collections::BTreeMap;

use crate::plan::error::PlanError;
use crate::plan::file::{BudgetTable, OverrideTable};
use crate::plan::limits;
use crate::plan::reading::{Typed, Written};
use crate::plan::settings::{Override, Price};
use crate::units::ProductRate;
use crate::units::{
    MassPerArea, MoneyPerArea, MoneyPerMass, MoneyPerVolume, Quantity, UnitError, VolumePerArea,
    split_number_and_unit,
};

use super::crop_yield::crop_price;
use super::words::Resolver;

/// What the plan's crop sells for, United States dollars a kilogram, where `[prices]` names it.
pub(super) fn price_of_crop(
    entries: &[(Written<String>, Written<String>)],
    crop: &str,
    resolver: &Resolver<'_>,
) -> Option<f64> {
    let of_crop = entries.iter().find(|(name, _)| is_crop(name, crop));
    of_crop.and_then(|(_, text)| crop_price(text, crop, resolver))
}

/// Whether a name in `[prices]` is that of the plan's crop.
fn is_crop(name: &Written<String>, crop: &str) -> bool {
    name.value.trim().eq_ignore_ascii_case(crop.trim())
}

/// Prices of products in the order of the plan.
pub(super) fn prices(
    entries: &[(Written<String>, Written<String>)],
    crop: &Typed<String>,
    resolver: &Resolver<'_>,
) -> Vec<(String, Price)> {
    let crop = crop.given();
    let name_of_crop = crop.map_or("", |crop| crop.value.as_str());
    entries
        .iter()
        .filter(|(name, _)| !is_crop(name, name_of_crop))
        .filter(|(name, text)| !is_of_another_crop(name, text, crop, resolver))
        .filter_map(|(product, text)| {
            Some((product.value.trim().to_owned(), price(text, resolver)?))
        })
        .collect()
}

/// Whether a price is by the bushel, in which no product is sold; reported as the price of a crop that is not the plan's.
fn is_of_another_crop(
    name: &Written<String>,
    text: &Written<String>,
    crop: Option<&Written<String>>,
    resolver: &Resolver<'_>,
) -> bool {
    let is_by_the_bushel =
        split_number_and_unit(&text.value).is_some_and(|(_, unit)| unit == "USD/bu");
    if is_by_the_bushel {
        let row = crop.and_then(|crop| crop.place.row);
        let what = format!(
            "\"{}\" has a price by the bushel, as a crop has, but the crop of this plan is \"{}\"{}",
            name.value.trim(),
            crop.map_or("", |crop| crop.value.trim()),
            row.map_or(String::new(), |row| format!(" (row {row})"))
        );
        let help = "write the crop's name alike in both places; a product is priced by mass or volume, such as \"5 USD/lb\"";
        resolver.contradiction(&text.place, what, help);
    }
    is_by_the_bushel
}

fn price(text: &Written<String>, resolver: &Resolver<'_>) -> Option<Price> {
    let price = MoneyPerMass::parse(&text.value)
        .map(Price::PerMass)
        .or_else(|_| MoneyPerVolume::parse(&text.value).map(Price::PerVolume));
    let price = one_of_two::<MoneyPerMass, MoneyPerVolume, _>(price, "price", text, resolver)?;
    let (is_possible, allowed) = match price {
        Price::PerMass(price) => limits::PRICE_OF_MASS.check(price),
        Price::PerVolume(price) => limits::PRICE_OF_VOLUME.check(price),
    };
    (is_not_negative(text, resolver) && is_within(is_possible, allowed, text, resolver))
        .then_some(price)
}

pub(super) fn budget(budget: &Typed<BudgetTable>, resolver: &Resolver<'_>) -> Option<MoneyPerArea> {
    let budget = &budget.given()?.value;
    if budget.interest.is_written() && !budget.limit.is_written() {
        return None;
    }
    resolver.required(
        &budget.limit,
        &budget.place,
        "limit",
        "limit = \"60 USD/ac\"",
    )?;
    let limit = resolver.not_negative(&budget.limit)?;
    let text = budget.limit.given()?;
    let (is_possible, allowed) = limits::BUDGET.check(limit);
    is_within(is_possible, allowed, text, resolver).then_some(limit)
}

/// The consultant's rates in the order of the plan; one for each zone and product.
pub(super) fn overrides(tables: &[OverrideTable], resolver: &Resolver<'_>) -> Vec<Override> {
    let mut seen = BTreeMap::new();
    let overrides: Vec<Override> = tables
        .iter()
        .filter_map(|table| one_override(table, resolver))
        .collect();
    for found in overrides.iter().filter(|found| found.is_by_number()) {
        if let Some(first) = seen.insert((found.zone, found.product.as_str()), &found.place) {
            let first_row = first.row.unwrap_or_default();
            let what = format!(
                "zone {} has two rates of \"{}\" (the other in row {first_row})",
                found.zone, found.product
            );
            resolver.contradiction(&found.place, what, "keep one of them");
        }
    }
    overrides
}

/// Most corners of a drawn place (own: far more than a hand draws).
const MOST_CORNERS: usize = 1_000;

/// The ground that an override is for.
enum Ground {
    Number(u32),
    At((f64, f64)),
    Inside(Vec<(f64, f64)>),
}

/// The ground that an override is for: a zone's number, a place in it, or a place that is drawn.
fn ground_of(table: &OverrideTable, resolver: &Resolver<'_>) -> Option<Ground> {
    let said = [
        table.zone.given().is_some(),
        table.at.given().is_some(),
        table.inside.given().is_some(),
    ];
    if said.iter().filter(|is_said| **is_said).count() > 1 {
        let what = "an override says twice where it is meant".to_owned();
        resolver.contradiction(
            &table.place,
            what,
            "keep one of `zone`, `at` and `inside`; a number may lie elsewhere in the next run",
        );
    }
    if let Some(inside) = table.inside.given() {
        return corners(inside, resolver).map(Ground::Inside);
    }
    if let Some(at) = table.at.given() {
        let place = degrees(&at.value);
        if place.is_none() {
            let found = format!("{:?}", at.value);
            resolver.out_of_range(
                &at.place,
                found,
                "longitude and latitude in degrees, at = [-83.61, 40.91]",
            );
        }
        return place.map(Ground::At);
    }
    let zone = resolver.required(&table.zone, &table.place, "zone", "zone = 3")?;
    let number = u32::try_from(zone.value).ok().filter(|number| *number > 0);
    if number.is_none() {
        resolver.out_of_range(&zone.place, zone.value, "a zone number from 1");
    }
    number.map(Ground::Number)
}

fn degrees(pair: &[f64]) -> Option<(f64, f64)> {
    match pair {
        [longitude, latitude] if longitude.abs() <= 180.0 && latitude.abs() <= 90.0 => {
            Some((*longitude, *latitude))
        }
        _ => None,
    }
}

/// The corners of a drawn place; a first corner that is said again at the end is one corner.
fn corners(inside: &Written<Vec<Vec<f64>>>, resolver: &Resolver<'_>) -> Option<Vec<(f64, f64)>> {
    let mut corners = Vec::with_capacity(inside.value.len());
    for pair in &inside.value {
        let Some(corner) = degrees(pair) else {
            resolver.out_of_range(
                &inside.place,
                format!("the corner {pair:?}"),
                "longitude from -180 to 180, then latitude from -90 to 90, in degrees (are the two swapped?): inside = [[-83.61, 40.91], [-83.60, 40.91], [-83.60, 40.92]]",
            );
            return None;
        };
        corners.push(corner);
    }
    if corners.len() > 1 && corners.first() == corners.last() {
        corners.pop();
    }
    if !(3..=MOST_CORNERS).contains(&corners.len()) {
        resolver.out_of_range(
            &inside.place,
            format!("{} corners", corners.len()),
            "3 to 1000 different corners: inside = [[-83.61, 40.91], [-83.60, 40.91], [-83.60, 40.92]]",
        );
        return None;
    }
    if is_a_line(&corners) {
        resolver.out_of_range(
            &inside.place,
            "corners that all lie on one line",
            "corners round some ground: inside = [[-83.61, 40.91], [-83.60, 40.91], [-83.60, 40.92]]",
        );
        return None;
    }
    Some(corners)
}

/// Whether corners hold no ground between them: none lies off the line from the first corner to the one farthest from it.
fn is_a_line(corners: &[(f64, f64)]) -> bool {
    /// Of the length of the line: less than the rounding of degrees to 1e-8 in a place of a hundred metres (own).
    const HAIR: f64 = 1e-4;
    let Some(&(x, y)) = corners.first() else {
        return true;
    };
    let away = |corner: &(f64, f64)| (corner.0 - x).hypot(corner.1 - y);
    let farthest = corners
        .iter()
        .max_by(|a, b| away(a).total_cmp(&away(b)))
        .map_or((0.0, 0.0), |far| (far.0 - x, far.1 - y));
    let square = farthest.0.powi(2) + farthest.1.powi(2);
    let off =
        |corner: &(f64, f64)| (farthest.0 * (corner.1 - y) - farthest.1 * (corner.0 - x)).abs();
    corners.iter().all(|corner| off(corner) <= HAIR * square)
}

fn one_override(table: &OverrideTable, resolver: &Resolver<'_>) -> Option<Override> {
    let ground = ground_of(table, resolver);
    let product = resolver.required(
        &table.product,
        &table.place,
        "product",
        "product = \"starter\"",
    );
    let rate = resolver
        .required(&table.rate, &table.place, "rate", "rate = \"4 gal/ac\"")
        .and_then(|text| rate(text, resolver));
    let why = resolver.required(
        &table.why,
        &table.place,
        "why",
        "why = \"old feedlot, seen on foot\"; the report prints it",
    );
    let (zone, at, inside) = match ground? {
        Ground::Number(zone) => (zone, None, Vec::new()),
        Ground::At(at) => (0, Some(at), Vec::new()),
        Ground::Inside(inside) => (0, None, inside),
    };
    Some(Override {
        zone,
        at,
        inside,
        product: product?.value.clone(),
        rate: rate?,
        why: why?.value.clone(),
        force: table.force.given().is_some_and(|force| force.value),
        place: table.place.clone(),
    })
}

pub(super) fn rate(text: &Written<String>, resolver: &Resolver<'_>) -> Option<ProductRate> {
    let rate = VolumePerArea::parse(&text.value)
        .map(ProductRate::Volume)
        .or_else(|_| MassPerArea::parse(&text.value).map(ProductRate::Mass));
    let rate = one_of_two::<MassPerArea, VolumePerArea, _>(rate, "rate", text, resolver)?;
    let (is_possible, allowed) = match rate {
        ProductRate::Mass(rate) => limits::OWN_DRY_RATE.check(rate),
        ProductRate::Volume(rate) => limits::OWN_LIQUID_RATE.check(rate),
    };
    (is_not_negative(text, resolver) && is_within(is_possible, allowed, text, resolver))
        .then_some(rate)
}

/// The value of a text that may be one of two quantities; where it is neither, the message names the units of both.
fn one_of_two<Dry: Quantity, Liquid: Quantity, T>(
    parsed: Result<T, UnitError>,
    quantity: &'static str,
    text: &Written<String>,
    resolver: &Resolver<'_>,
) -> Option<T> {
    let both = || {
        format!(
            "{} (dry) or {} (liquid)",
            Dry::unit_names(),
            Liquid::unit_names()
        )
    };
    let cause = match parsed {
        Ok(value) => return Some(value),
        Err(UnitError::UnknownUnit { unit, .. }) => UnitError::UnknownUnit {
            unit,
            quantity,
            allowed: both(),
            near: None,
        },
        Err(UnitError::NoNumber { text, .. }) => UnitError::NoNumber {
            text,
            quantity,
            example: format!("5 {}\" or \"5 {}", first::<Dry>(), first::<Liquid>()),
        },
        Err(UnitError::NoUnit { text, .. }) => UnitError::NoUnit {
            text,
            quantity,
            allowed: both(),
        },
        Err(other) => other,
    };
    resolver.note(PlanError::Unit {
        place: text.place.clone(),
        cause,
    });
    None
}

/// The first unit of a quantity.
fn first<Q: Quantity>() -> &'static str {
    Q::UNITS.first().map_or("", |(name, _)| name)
}

fn is_not_negative(text: &Written<String>, resolver: &Resolver<'_>) -> bool {
    let is_negative = split_number_and_unit(&text.value).is_some_and(|(number, _)| number < 0.0);
    if is_negative {
        resolver.out_of_range(&text.place, &text.value, "0 or more");
    }
    !is_negative
}

fn is_within(
    is_possible: bool,
    allowed: &'static str,
    text: &Written<String>,
    resolver: &Resolver<'_>,
) -> bool {
    if !is_possible {
        resolver.out_of_range(&text.place, &text.value, allowed);
    }
    is_possible
}

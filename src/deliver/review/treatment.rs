//! What is done where: zones in which the same thing comes first form one treatment, with one letter and one colour.

use crate::deliver::columns::RateColumn;
use crate::deliver::numbers::{grouped, zones_in_words};
use crate::deliver::overview::Overview;
use crate::deliver::zone_view::ZoneView;
use crate::rates::{Fix, NOTHING_FIRST};
use crate::units::Area;

/// Zones in which the same thing comes first.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Treatment {
    /// `A` for the one of zone 1, and so on.
    pub letter: String,
    /// What is done first, an order: "Spread gypsum, 530 to 3,870 lb/ac".
    pub order: String,
    /// Positions of its zones, rising.
    pub zones: Vec<usize>,
    /// Where: "zones 5, 7; 42.6 ac".
    pub place: String,
    /// Whether nothing needs to be done there.
    pub is_nothing: bool,
}

/// The first thing to do in a zone that the budget did not leave out.
#[must_use]
pub fn first_fix<'a>(view: &'a ZoneView<'_>) -> Option<&'a Fix> {
    view.rates.fixes.iter().find(|fix| !fix.left_out)
}

/// The first thing to do in a zone without its rate; where the budget left all out, what is needed first.
#[must_use]
pub fn first_order(view: &ZoneView<'_>) -> String {
    first_fix(view).map_or_else(
        || unpaid(view).unwrap_or_else(|| view.rates.do_first.clone()),
        |fix| fix.what.trim_end_matches('.').to_owned(),
    )
}

/// What the budget left out of a zone in which it left nothing in: "Not paid for by this budget, but needed first: spread lime".
fn unpaid(view: &ZoneView<'_>) -> Option<String> {
    let fix = view.rates.fixes.first()?;
    let what = fix.what.trim_end_matches('.');
    let mut letters = what.chars();
    let first = letters.next()?;
    let what = first.to_lowercase().chain(letters).collect::<String>();
    Some(format!(
        "Not paid for by this budget, but needed first: {what}"
    ))
}

/// The first thing to do in a zone, as an order.
#[must_use]
pub fn do_first(overview: &Overview<'_>, place: usize) -> String {
    let view = &overview.zones[place];
    match first_fix(view) {
        Some(_) => view.rates.do_first.clone(),
        None => first_order(view),
    }
}

/// The treatments, in the order of their first zone.
#[must_use]
pub fn treatments(overview: &Overview<'_>) -> Vec<Treatment> {
    let key = |place: usize| first_order(&overview.zones[place]);
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for place in 0..overview.zones.len() {
        match groups.iter_mut().find(|group| key(group[0]) == key(place)) {
            Some(group) => group.push(place),
            None => groups.push(vec![place]),
        }
    }
    let numbered = groups.into_iter().enumerate();
    numbered
        .map(|(at, zones)| Treatment {
            letter: letter(at),
            order: order(overview, &zones),
            place: place_line(overview, &zones),
            is_nothing: key(zones[0]) == NOTHING_FIRST,
            zones,
        })
        .collect()
}

/// `A` to `Z`, then `AA`.
fn letter(at: usize) -> String {
    let last = char::from(b'A' + (at % 26) as u8);
    match at / 26 {
        0 => last.to_string(),
        more => letter(more - 1) + &last.to_string(),
    }
}

/// What comes first in zones that share it, with the rates of its product.
fn order(overview: &Overview<'_>, zones: &[usize]) -> String {
    let Some(fix) = zones
        .first()
        .and_then(|&place| first_fix(&overview.zones[place]))
    else {
        return zones.first().map_or_else(
            || NOTHING_FIRST.to_owned(),
            |&place| first_order(&overview.zones[place]),
        );
    };
    let what = fix.what.trim_end_matches('.');
    let column = fix.product.as_ref().and_then(|product| {
        let mut columns = overview.columns.iter();
        columns.find(|column| column.product.name == *product)
    });
    column.map_or_else(
        || what.to_owned(),
        |column| format!("{what}, {}", rates(column, zones)),
    )
}

/// "2,000 lb/ac", or "530 to 3,870 lb/ac" where the zones differ.
fn rates(column: &RateColumn<'_>, zones: &[usize]) -> String {
    let rates = || zones.iter().map(|&place| column.rates[place]);
    let (low, high) = (
        rates().fold(f64::INFINITY, f64::min),
        rates().fold(0.0, f64::max),
    );
    let number = |rate| grouped(rate, column.decimals);
    if low < high {
        format!("{} to {} {}", number(low), number(high), column.unit)
    } else {
        format!("{} {}", number(high), column.unit)
    }
}

fn place_line(overview: &Overview<'_>, zones: &[usize]) -> String {
    let views = zones.iter().map(|&place| &overview.zones[place]);
    let numbers: Vec<u32> = views.map(|view| view.number).collect();
    let area: Area = zones
        .iter()
        .map(|&place| overview.zones[place].area())
        .sum();
    format!(
        "{}; {} {}",
        zones_in_words(&numbers),
        grouped(area.number_in(overview.units), 1),
        Area::unit_in(overview.units)
    )
}

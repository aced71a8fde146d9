//! The ground cut into pieces of one rate each: every zone without its check strips, then the strips. What the files for machines hold.

use super::columns::RateColumn;
use super::degrees::{Part, Spot, cut_at_180, doubled_area};
use super::zone_view::ZoneView;
use crate::trial::{Strip, StripPlan};
use crate::units::ProductRate;
use crate::units::{Area, MoneyPerArea, UnitSystem};

/// A piece of ground on which every product has one rate.
#[derive(Debug)]
pub struct Piece<'a> {
    /// Position of its zone.
    pub place: usize,
    /// The check strip that it is; `None` for a zone.
    pub strip: Option<&'a Strip>,
    /// Its outline in whole steps of degrees.
    pub parts: Vec<Part>,
    /// Its area.
    pub area: Area,
    /// One rate per column, in the column's unit.
    pub rates: Vec<f64>,
    /// The same as amounts.
    pub amounts: Vec<ProductRate>,
    /// Cost of all products.
    pub cost: MoneyPerArea,
}

impl Piece<'_> {
    /// What a machine shows: `zone 3`, `zone 3, no starter 1`.
    #[must_use]
    pub fn name(&self, zone: u32) -> String {
        match self.strip {
            Some(strip) => format!("zone {zone}, {}", strip.name),
            None => format!("zone {zone}"),
        }
    }
}

/// All pieces: the zones by rising number, then the strips in the order of the plan.
#[must_use]
pub fn pieces<'a>(
    zones: &[ZoneView<'a>],
    columns: &[RateColumn<'a>],
    strips: &'a StripPlan,
    units: UnitSystem,
) -> Vec<Piece<'a>> {
    let mut found: Vec<Piece<'a>> = zones
        .iter()
        .enumerate()
        .map(|(place, view)| of_zone(place, view, columns))
        .collect();
    let mut laid = Vec::new();
    for strip in strips.strips() {
        let Some(place) = zones.iter().position(|view| view.number == strip.zone) else {
            continue;
        };
        let outer: Vec<Spot> = strip
            .outline
            .iter()
            .map(|&(lon, lat)| Spot::from_degrees(lon, lat))
            .collect();
        let of_zone = &mut found[place];
        cut_out(&mut of_zone.parts, &outer);
        of_zone.area = of_zone.area - Area::from_square_metres(strip.area_m2);
        laid.push(Piece {
            place,
            strip: Some(strip),
            parts: vec![Part {
                outer,
                holes: Vec::new(),
            }],
            area: Area::from_square_metres(strip.area_m2),
            rates: strip
                .rates
                .iter()
                .map(|rate| rate.number_in(units))
                .collect(),
            amounts: strip.rates.clone(),
            cost: zones[place].rates.cost + strip.cost_change,
        });
    }
    found.extend(laid);
    for piece in &mut found {
        piece.parts = cut_at_180(std::mem::take(&mut piece.parts));
    }
    found
}

fn of_zone<'a>(place: usize, view: &ZoneView<'a>, columns: &[RateColumn<'a>]) -> Piece<'a> {
    Piece {
        place,
        strip: None,
        parts: view.parts.clone(),
        area: view.area(),
        rates: columns.iter().map(|column| column.rates[place]).collect(),
        amounts: view.rates.rates.iter().map(|rate| rate.amount).collect(),
        cost: view.rates.cost,
    }
}

/// Cuts a strip, which lies wholly inside one part, out of it as a hole. The hole runs clockwise, corner for corner the strip's own.
fn cut_out(parts: &mut [Part], strip: &[Spot]) {
    let Some(first) = strip.first() else {
        return;
    };
    let holder = parts.iter_mut().find(|part| {
        holds(&part.outer, *first) && !part.holes.iter().any(|hole| holds(hole, *first))
    });
    if let Some(part) = holder {
        let mut hole = strip.to_vec();
        if doubled_area(&hole) > 0 {
            hole.reverse();
        }
        part.holes.push(hole);
    }
}

/// Whether a ring holds a spot: an even or odd number of its edges lies east of it.
fn holds(ring: &[Spot], spot: Spot) -> bool {
    let mut is_inside = false;
    for (a, b) in ring.iter().zip(ring.iter().cycle().skip(1)) {
        if (a.lat > spot.lat) != (b.lat > spot.lat) {
            let rise = i128::from(b.lat - a.lat);
            let side = i128::from(b.lon - a.lon) * i128::from(spot.lat - a.lat)
                - i128::from(spot.lon - a.lon) * rise;
            is_inside ^= (side > 0) == (rise > 0);
        }
    }
    is_inside
}

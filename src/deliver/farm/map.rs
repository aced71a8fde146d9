//! The farm's map: its fields as they lie, coloured by what is done first. Fields that lie far apart stand side by side at one scale.

use std::fmt::Write;

use maud::{Markup, html};

use super::facts::Rings;
use super::input::{FarmField, FarmInput};
use super::orders::FarmOrders;
use crate::deliver::colours::{hex, treatment};
use crate::deliver::report_html::plain;

/// Most fields on a map.
const MOST_FIELDS: usize = 200;
/// Width of the sheet in steps.
const WIDTH: f64 = 1_600.0;
/// Blank steps round what is drawn, and below it for names.
const RIM: f64 = 24.0;
const NAME: f64 = 56.0;
/// Share of the sheet that fields cover at least where they are drawn as they lie.
const LEAST_COVER: f64 = 0.04;
/// Metres in a degree of latitude, near enough for a sheet.
const METRES_PER_DEGREE: f64 = 111_132.0;

/// A field's box in metres on the sheet's plane.
struct Ground {
    west: f64,
    south: f64,
    width: f64,
    height: f64,
    /// Cosine of its latitude.
    shrink: f64,
}

/// Where a field stands: metres to steps, and the corner.
struct Placed<'a> {
    field: &'a FarmField<'a>,
    ground: Ground,
    x: f64,
    y: f64,
}

/// The map; `None` where there are too many fields for one.
pub(super) fn farm_map(input: &FarmInput<'_>, orders: &FarmOrders) -> Option<Markup> {
    if input.fields.len() > MOST_FIELDS {
        return None;
    }
    let (placed, scale, size, apart) = laid_out(input)?;
    Some(html! {
        svg.map.farm viewBox={ "0 0 " (size.0 as i64) " " (size.1 as i64) } role="group" aria-label={ "Map of " (placed.len()) " fields, coloured by what is done first" } {
            @for one in &placed {
                a href={ "#field-" (one.field.id) } aria-label=(plain(one.field.field)) {
                    (field_shapes(one, scale, orders))
                }
            }
            g.labels { @for one in &placed { (name(one, scale)) } }
        }
        @if apart { p.small { "Fields lie far apart: they stand side by side in the order of the list, all at one scale, north up." } }
    })
}

/// One field alone, over its whole width.
pub(super) fn field_map(field: &FarmField<'_>, orders: &FarmOrders) -> Markup {
    let Some(ground) = ground(field) else {
        return html! {};
    };
    let scale = (WIDTH - 2.0 * RIM) / ground.width.max(ground.height).max(1.0);
    let size = (
        ground.width * scale + 2.0 * RIM,
        ground.height * scale + 2.0 * RIM,
    );
    let placed = Placed {
        field,
        ground,
        x: RIM,
        y: RIM,
    };
    html! {
        svg.map.farm.one viewBox={ "0 0 " (size.0 as i64) " " (size.1 as i64) } role="img" aria-label={ "Map of " (plain(field.field)) } {
            (field_shapes(&placed, scale, orders))
            g.labels { (zone_numbers(&placed, scale)) }
        }
    }
}

type Layout<'a> = (Vec<Placed<'a>>, f64, (f64, f64), bool);

fn laid_out<'a>(input: &'a FarmInput<'_>) -> Option<Layout<'a>> {
    let grounds: Vec<(&FarmField<'_>, Ground)> = input
        .fields
        .iter()
        .filter_map(|field| Some((field, ground(field)?)))
        .collect();
    let least = |of: fn(&Ground) -> f64| {
        grounds
            .iter()
            .map(|(_, ground)| of(ground))
            .fold(f64::INFINITY, f64::min)
    };
    let most = |of: fn(&Ground) -> f64| {
        grounds
            .iter()
            .map(|(_, ground)| of(ground))
            .fold(f64::NEG_INFINITY, f64::max)
    };
    if grounds.is_empty() {
        return None;
    }
    let (west, south) = (least(|g| g.west), least(|g| g.south));
    let width = most(|g| g.west + g.width) - west;
    let height = most(|g| g.south + g.height) - south;
    let covered: f64 = grounds.iter().map(|(_, g)| g.width * g.height).sum();
    let is_together = covered / (width * height).max(1.0) >= LEAST_COVER;
    let inner = WIDTH - 2.0 * RIM;
    if is_together {
        let scale = inner / width.max(height * 0.9).max(1.0);
        let placed = grounds
            .into_iter()
            .map(|(field, ground)| Placed {
                field,
                x: RIM + (ground.west - west) * scale,
                y: RIM + (height - (ground.south - south) - ground.height) * scale,
                ground,
            })
            .collect();
        let size = (width * scale + 2.0 * RIM, height * scale + 2.0 * RIM);
        return Some((placed, scale, size, false));
    }
    let largest = (most(|g| g.width), most(|g| g.height));
    Some(side_by_side(grounds, largest))
}

/// Fields that lie far apart: one beside the other, in rows of places of one size.
fn side_by_side<'a>(
    grounds: Vec<(&'a FarmField<'_>, Ground)>,
    (wide, tall): (f64, f64),
) -> Layout<'a> {
    let inner = WIDTH - 2.0 * RIM;
    let columns = (grounds.len() as f64).sqrt().ceil().max(1.0);
    let scale = (inner / columns - RIM) / wide.max(1.0);
    let row = tall * scale + NAME + RIM;
    let rows = (grounds.len() as f64 / columns).ceil();
    let placed = grounds
        .into_iter()
        .enumerate()
        .map(|(at, (field, ground))| {
            let (down, right) = ((at as f64 / columns).floor(), at as f64 % columns);
            Placed {
                field,
                x: RIM + right * inner / columns,
                y: RIM + down * row + (tall - ground.height) * scale,
                ground,
            }
        });
    let size = (WIDTH, rows * row + 2.0 * RIM);
    (placed.collect(), scale, size, true)
}

fn ground(field: &FarmField<'_>) -> Option<Ground> {
    let places = || field.facts.boundary.iter().flatten().flatten();
    let least = |at: usize| {
        places()
            .map(|place| place[at])
            .fold(f64::INFINITY, f64::min)
    };
    let most = |at: usize| {
        places()
            .map(|place| place[at])
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let (west, south, east, north) = (least(0), least(1), most(0), most(1));
    if !(west.is_finite() && east.is_finite()) {
        return None;
    }
    let shrink = south.to_radians().cos();
    Some(Ground {
        west: west * METRES_PER_DEGREE * shrink,
        south: south * METRES_PER_DEGREE,
        width: (east - west) * METRES_PER_DEGREE * shrink,
        height: (north - south) * METRES_PER_DEGREE,
        shrink,
    })
}

fn at(placed: &Placed<'_>, scale: f64, place: &[f64; 2]) -> (f64, f64) {
    let ground = &placed.ground;
    let (x, y) = (
        place[0] * METRES_PER_DEGREE * ground.shrink - ground.west,
        place[1] * METRES_PER_DEGREE - ground.south,
    );
    (placed.x + x * scale, placed.y + (ground.height - y) * scale)
}

fn path(placed: &Placed<'_>, scale: f64, parts: &[Rings]) -> String {
    let mut out = String::new();
    for ring in parts.iter().flatten() {
        let mut last = (i64::MIN, i64::MIN);
        let mut is_first = true;
        for place in ring {
            let (x, y) = at(placed, scale, place);
            let here = (x.round() as i64, y.round() as i64);
            if here == last {
                continue;
            }
            // Writing to a string cannot fail.
            let _ = write!(
                out,
                "{}{} {}",
                if is_first { "M" } else { "L" },
                here.0,
                here.1
            );
            (last, is_first) = (here, false);
        }
        out.push('Z');
    }
    out
}

fn field_shapes(placed: &Placed<'_>, scale: f64, orders: &FarmOrders) -> Markup {
    let facts = placed.field.facts;
    let order_of = |zone: u32| {
        let row = facts.sheet.rows.iter().find(|row| row.zone == zone);
        row.map_or(0, |row| orders.at(&row.order))
    };
    let pieces = facts.pieces.iter().zip(&placed.field.outlines);
    html! {
        @for ((_, zone), parts) in pieces {
            path.ground fill=(hex(treatment(order_of(*zone)))) fill-rule="evenodd" d=(path(placed, scale, parts)) {}
        }
        path.edge d=(path(placed, scale, &facts.boundary)) {}
    }
}

fn name(placed: &Placed<'_>, scale: f64) -> Markup {
    let x = placed.x + placed.ground.width * scale / 2.0;
    let y = placed.y + placed.ground.height * scale / 2.0;
    html! { text x=(x as i64) y=(y as i64) { (plain(placed.field.field)) } }
}

/// The number of each zone in the middle of the longest line across its largest part.
fn zone_numbers(placed: &Placed<'_>, scale: f64) -> Markup {
    let pieces = placed.field.facts.pieces.iter().zip(&placed.field.outlines);
    let zones = placed.field.facts.sheet.rows.len();
    let middles = pieces.take(zones).filter_map(|((_, zone), parts)| {
        let largest = parts
            .iter()
            .max_by_key(|rings| rings.first().map_or(0, Vec::len))?;
        let ring: Vec<Vec<(f64, f64)>> = largest
            .iter()
            .map(|ring| ring.iter().map(|place| at(placed, scale, place)).collect())
            .collect();
        Some((*zone, inside(&ring)?))
    });
    html! {
        @for (zone, (x, y)) in middles {
            text x=(x as i64) y=(y as i64) { (zone) }
        }
    }
}

/// A place inside: the middle of the widest span on the line half-way up.
fn inside(rings: &[Vec<(f64, f64)>]) -> Option<(f64, f64)> {
    let outer = rings.first()?;
    let low = outer
        .iter()
        .map(|place| place.1)
        .fold(f64::INFINITY, f64::min);
    let high = outer
        .iter()
        .map(|place| place.1)
        .fold(f64::NEG_INFINITY, f64::max);
    let y = f64::midpoint(low, high) + 0.25;
    let mut crossings: Vec<f64> = Vec::new();
    for ring in rings {
        for pair in ring.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            if (a.1 > y) != (b.1 > y) {
                crossings.push(a.0 + (y - a.1) / (b.1 - a.1) * (b.0 - a.0));
            }
        }
    }
    crossings.sort_by(f64::total_cmp);
    let spans = crossings.chunks_exact(2);
    let widest = spans.max_by(|a, b| (a[1] - a[0]).total_cmp(&(b[1] - b[0])))?;
    Some((f64::midpoint(widest[0], widest[1]), y))
}

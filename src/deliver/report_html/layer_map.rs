//! A small map per layer: the surface as a picture, the observations on it, and what the map is worth.

use maud::{Markup, html};

use super::insets::Inset;
use super::labels::grid_window;
use super::map_frame::MapFrame;
use super::plain;
use super::png::data_address;
use crate::deliver::colours::{Colour, hex, layer};
use crate::deliver::numbers::{file_name, layer_number, layer_unit, with_unit};
use crate::deliver::overview::Overview;
use crate::deliver::review::MapFacts;
use crate::field::{FieldLayer, Grid, Places};
use crate::surface::{Map, Surface};

/// Most pixels on the longer side of a picture.
const SIDE: usize = 320;
/// More observations than this are not drawn one by one.
const MOST_POINTS: usize = 300;

/// The figure of one layer.
#[must_use]
pub fn layer_map(
    overview: &Overview<'_>,
    frame: &MapFrame,
    surface: &Surface,
    facts: &MapFacts,
) -> Markup {
    let range = range(overview, surface);
    let name = plain(&facts.layer);
    html! {
        figure.layer {
            figcaption { b { (name) } ": " (plain(&facts.verdict)) "." }
            svg.map viewBox=(frame.view_box()) role="group" aria-label={ "Map of " (name) } {
                @match &surface.map {
                    Map::Drawn { values, .. } => @for inset in &frame.insets {
                        (picture(overview, frame, inset, values, range))
                    },
                    Map::Flat { .. } => use.flat href="#edge" {},
                }
                @for view in &overview.zones {
                    use.line href={ "#z" (view.number) } {}
                }
                (frame.furniture(overview.units))
                (points(overview, frame, surface, range))
            }
            (legend(overview, surface, range))
            output.say {}
        }
    }
}

/// Least and most of surface and observations.
fn range(overview: &Overview<'_>, surface: &Surface) -> (f64, f64) {
    let mut range = match &surface.map {
        Map::Drawn { values, .. } => least_and_most(values),
        Map::Flat { .. } => least_and_most::<f64>(&[]),
    };
    for observed in layers_of(overview, surface) {
        let (low, high) = least_and_most(&observed.values);
        range = (range.0.min(low), range.1.max(high));
    }
    if range.0 <= range.1 {
        range
    } else {
        (0.0, 0.0)
    }
}

/// Least and most of the finite numbers, eight at a time: a layer may hold millions.
fn least_and_most<T: Copy + Into<f64>>(numbers: &[T]) -> (f64, f64) {
    let (mut low, mut high) = ([f64::INFINITY; 8], [f64::NEG_INFINITY; 8]);
    let mut look = |lane: usize, number: T| {
        let number: f64 = number.into();
        let is_finite = number.abs() < f64::INFINITY;
        low[lane] = if is_finite && number < low[lane] {
            number
        } else {
            low[lane]
        };
        high[lane] = if is_finite && number > high[lane] {
            number
        } else {
            high[lane]
        };
    };
    let (eights, rest) = numbers.as_chunks::<8>();
    for eight in eights {
        (0..8).for_each(|lane| look(lane, eight[lane]));
    }
    rest.iter().for_each(|number| look(0, *number));
    (
        low.into_iter().fold(f64::INFINITY, f64::min),
        high.into_iter().fold(f64::NEG_INFINITY, f64::max),
    )
}

fn layers_of<'a>(
    overview: &'a Overview<'_>,
    surface: &'a Surface,
) -> impl Iterator<Item = &'a FieldLayer> {
    overview
        .stages
        .field
        .layers
        .iter()
        .filter(|observed| observed.key == surface.key)
}

fn share((low, high): (f64, f64), value: f64) -> f64 {
    if high > low {
        (value - low) / (high - low)
    } else {
        0.5
    }
}

/// The cells of an inset as a picture.
fn picture(
    overview: &Overview<'_>,
    frame: &MapFrame,
    inset: &Inset,
    values: &[f32],
    range: (f64, f64),
) -> Markup {
    let grid = &overview.stages.field.grid;
    let window = grid_window(grid, inset);
    let step = window
        .columns
        .len()
        .max(window.rows.len())
        .div_ceil(SIDE)
        .max(1);
    let (width, height) = (
        window.columns.len().div_ceil(step),
        window.rows.len().div_ceil(step),
    );
    let mut pixels = vec![0_u8; width * height];
    for (row, pixels) in pixels.chunks_mut(width.max(1)).enumerate() {
        let first = (window.rows.start + row * step) * grid.columns;
        let from = grid
            .cells
            .partition_point(|&cell| (cell as usize) < first + window.columns.start);
        let of_row = grid.cells[from..]
            .iter()
            .zip(&values[from..])
            .take_while(|(cell, _)| (**cell as usize) < first + window.columns.end);
        for (&cell, &value) in of_row {
            let column = cell as usize - first - window.columns.start;
            if column.is_multiple_of(step) && value.is_finite() {
                pixels[column / step] = 1 + (share(range, f64::from(value)) * 254.0).round() as u8;
            }
        }
    }
    let palette: Vec<Colour> = (0..=255)
        .map(|index| layer((f64::from(index) - 1.0) / 254.0))
        .collect();
    let corner = (
        grid.west + window.columns.start as f64 * grid.cell,
        grid.north - window.rows.start as f64 * grid.cell,
    );
    let (x, y) = frame.at_in(inset, corner.0, corner.1);
    let size = |pixels: usize| {
        let metres = pixels as f64 * step as f64 * grid.cell;
        format!("{:.1}", frame.length(metres))
    };
    html! {
        image.raster x=(x) y=(y) width=(size(width)) height=(size(height)) preserveAspectRatio="none" clip-path="url(#in)"
            href=(data_address(width, &pixels, &palette)) {}
    }
}

/// The observations, each with its name and value.
fn points(
    overview: &Overview<'_>,
    frame: &MapFrame,
    surface: &Surface,
    range: (f64, f64),
) -> Markup {
    let count: usize = layers_of(overview, surface).map(FieldLayer::count).sum();
    html! {
        @if count <= MOST_POINTS {
            g.points {
                @for observed in layers_of(overview, surface) {
                    @if let Some(places) = overview.stages.field.places.get(observed.places) {
                        @for (at, &value) in observed.values.iter().enumerate() {
                            @if value.is_finite() {
                                (point(overview, frame, surface, range, (places, at, value)))
                            }
                        }
                    }
                }
            }
        }
    }
}

/// One observation; nothing where it lies outside the boundary.
fn point(
    overview: &Overview<'_>,
    frame: &MapFrame,
    surface: &Surface,
    range: (f64, f64),
    (places, at, value): (&Places, usize, f64),
) -> Markup {
    let system = overview.units;
    let is_outside = places
        .outside
        .binary_search_by_key(&(at as u32), |outside| outside.0)
        .is_ok();
    let (Some(&x), Some(&y), false) = (places.x.get(at), places.y.get(at), is_outside) else {
        return html! {};
    };
    let number = layer_number(&surface.key, &surface.unit, value, system);
    let unit = layer_unit(&surface.key, &surface.unit, system);
    let say = format!("{}: {}", plain(&name(places, at)), with_unit(&number, unit));
    let ((x, y), fill) = (frame.at(x, y), hex(layer(share(range, value))));
    html! {
        circle cx=(x) cy=(y) r="15" fill=(fill) data-say=(say) { title { (say) } }
    }
}

fn name(places: &Places, at: usize) -> String {
    let named = places.id.as_ref().and_then(|ids| ids.get(at));
    named.map_or_else(
        || {
            let row = places.row.get(at).copied().unwrap_or_default();
            format!("{}, row {row}", file_name(&places.file))
        },
        ToString::to_string,
    )
}

fn legend(overview: &Overview<'_>, surface: &Surface, range: (f64, f64)) -> Markup {
    let unit = layer_unit(&surface.key, &surface.unit, overview.units);
    let number = |value: f64| {
        with_unit(
            &layer_number(&surface.key, &surface.unit, value, overview.units),
            unit,
        )
    };
    let stops: Vec<String> = (0..=8)
        .map(|step| hex(layer(f64::from(step) / 8.0)))
        .collect();
    html! {
        p.ramp {
            @if matches!(surface.map, Map::Flat { .. }) {
                span { "cores " (number(range.0)) " to " (number(range.1)) }
            } @else {
                span { (number(range.0)) }
                span.bar style={ "background:linear-gradient(90deg," (stops.join(",")) ")" } {}
                span { (number(range.1)) }
            }
        }
    }
}

/// The size of a cell as drawn, for the caption: the picture may show every n-th cell only.
#[must_use]
pub fn drawn_cell(grid: &Grid) -> f64 {
    grid.columns.max(grid.rows).div_ceil(SIDE).max(1) as f64 * grid.cell
}

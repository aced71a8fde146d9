//! A small map per layer: the surface as a picture, the observations on it, and what the map is worth.

use std::fmt::Write;

use super::map_frame::MapFrame;
use super::png::data_address;
use crate::deliver::colours::{Colour, hex, layer};
use crate::deliver::escape::markup;
use crate::deliver::overview::Overview;
use crate::deliver::review::{MapFacts, layer_number, layer_unit, with_unit};
use crate::field::{FieldLayer, Grid};
use crate::surface::{Map, Surface};

/// Most pixels on the longer side of a picture.
const SIDE: usize = 320;
/// More observations than this are not drawn one by one.
const MOST_POINTS: usize = 300;

/// The figure of one layer.
#[must_use]
pub fn layer_map(
    overview: &Overview<'_>,
    map_frame: &MapFrame,
    surface: &Surface,
    facts: &MapFacts,
) -> String {
    let range = range(overview, surface);
    let name = markup(&facts.layer);
    let verdict = markup(&facts.verdict);
    let mut out =
        format!("<figure class=\"layer\"><figcaption><b>{name}</b>: {verdict}.</figcaption>");
    let _ = write!(
        out,
        "<svg class=\"map\" viewBox=\"{}\" role=\"group\" aria-label=\"Map of {name}\">",
        map_frame.view_box()
    );
    match &surface.map {
        Map::Drawn { values, .. } => out.push_str(&picture(overview, map_frame, values, range)),
        Map::Flat { .. } => out.push_str("<use href=\"#edge\" class=\"flat\"/>"),
    }
    for view in &overview.zones {
        let _ = write!(out, "<use href=\"#z{}\" class=\"line\"/>", view.number);
    }
    out.push_str(&map_frame.furniture(overview.units));
    out.push_str(&points(overview, map_frame, surface, range));
    out.push_str("</svg>");
    out.push_str(&legend(overview, surface, range));
    out.push_str("<output class=\"say\"></output></figure>");
    out
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

fn picture(
    overview: &Overview<'_>,
    map_frame: &MapFrame,
    values: &[f32],
    range: (f64, f64),
) -> String {
    let grid = &overview.stages.field.grid;
    let step = grid.columns.max(grid.rows).div_ceil(SIDE).max(1);
    let (width, height) = (grid.columns.div_ceil(step), grid.rows.div_ceil(step));
    let mut pixels = vec![0_u8; width * height];
    for (row, pixels) in pixels.chunks_mut(width.max(1)).enumerate() {
        let first = row * step * grid.columns;
        let from = grid.cells.partition_point(|&cell| (cell as usize) < first);
        let of_row = grid.cells[from..]
            .iter()
            .zip(&values[from..])
            .take_while(|(cell, _)| (**cell as usize) < first + grid.columns);
        for (&cell, &value) in of_row {
            let column = cell as usize - first;
            if column.is_multiple_of(step) && value.is_finite() {
                pixels[column / step] = 1 + (share(range, f64::from(value)) * 254.0).round() as u8;
            }
        }
    }
    let palette: Vec<Colour> = (0..=255)
        .map(|index| layer((f64::from(index) - 1.0) / 254.0))
        .collect();
    let (x, y) = map_frame.at(grid.west, grid.north);
    let size = |pixels: usize| map_frame.length(pixels as f64 * step as f64 * grid.cell);
    format!(
        "<image x=\"{x}\" y=\"{y}\" width=\"{:.1}\" height=\"{:.1}\" preserveAspectRatio=\"none\" class=\"raster\" clip-path=\"url(#in)\" href=\"{}\"/>",
        size(width),
        size(height),
        data_address(width, &pixels, &palette)
    )
}

/// The observations, each with its name and value.
fn points(
    overview: &Overview<'_>,
    map_frame: &MapFrame,
    surface: &Surface,
    range: (f64, f64),
) -> String {
    let system = overview.units;
    let unit = layer_unit(&surface.key, &surface.unit, system);
    let count: usize = layers_of(overview, surface).map(FieldLayer::count).sum();
    if count > MOST_POINTS {
        return String::new();
    }
    let mut out = String::from("<g class=\"points\">");
    for observed in layers_of(overview, surface) {
        let Some(places) = overview.stages.field.places.get(observed.places) else {
            continue;
        };
        for (at, &value) in observed
            .values
            .iter()
            .enumerate()
            .filter(|(_, value)| value.is_finite())
        {
            let is_outside = places
                .outside
                .binary_search_by_key(&(at as u32), |outside| outside.0)
                .is_ok();
            let (Some(&x), Some(&y), false) = (places.x.get(at), places.y.get(at), is_outside)
            else {
                continue;
            };
            let name = places.id.as_ref().and_then(|ids| ids.get(at)).map_or_else(
                || {
                    format!(
                        "{}, row {}",
                        places.file,
                        places.row.get(at).copied().unwrap_or_default()
                    )
                },
                ToString::to_string,
            );
            let say = markup(&format!(
                "{name}: {}",
                with_unit(
                    &layer_number(&surface.key, &surface.unit, value, system),
                    unit
                )
            ));
            let ((x, y), fill) = (map_frame.at(x, y), hex(layer(share(range, value))));
            let _ = write!(
                out,
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"15\" fill=\"{fill}\" data-say=\"{say}\"><title>{say}</title></circle>"
            );
        }
    }
    out.push_str("</g>");
    out
}

fn legend(overview: &Overview<'_>, surface: &Surface, range: (f64, f64)) -> String {
    let unit = layer_unit(&surface.key, &surface.unit, overview.units);
    let number = |value: f64| {
        markup(&with_unit(
            &layer_number(&surface.key, &surface.unit, value, overview.units),
            unit,
        ))
    };
    if matches!(surface.map, Map::Flat { .. }) {
        return format!(
            "<p class=\"ramp\"><span>cores {} to {}</span></p>",
            number(range.0),
            number(range.1)
        );
    }
    let stops: Vec<String> = (0..=8)
        .map(|step| hex(layer(f64::from(step) / 8.0)))
        .collect();
    format!(
        "<p class=\"ramp\"><span>{}</span><span class=\"bar\" style=\"background:linear-gradient(90deg,{})\"></span><span>{}</span></p>",
        number(range.0),
        stops.join(","),
        number(range.1)
    )
}

/// The size of a cell as drawn, for the caption: the picture may show every n-th cell only.
#[must_use]
pub fn drawn_cell(grid: &Grid) -> f64 {
    grid.columns.max(grid.rows).div_ceil(SIDE).max(1) as f64 * grid.cell
}

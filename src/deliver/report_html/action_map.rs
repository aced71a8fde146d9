//! The map of the first sheet: coloured by what is done first, with the rates written on it.

use maud::{Markup, html};

use super::map_frame::{MapFrame, hatch};
use super::plain;
use crate::deliver::colours::{Colour, hex, ink_on, treatment};
use crate::deliver::overview::Overview;
use crate::deliver::review::{FirstSheet, ZoneRow};

/// Letter sizes on the sheet: the number of a zone and its rates.
const NUMBER: f64 = 72.0;
const RATE: f64 = 50.0;
/// Width of a letter, and height of a line, as shares of its size.
const LETTER: f64 = 0.56;
const LINE: f64 = 1.08;

/// The zones, each a link to its own chapter; the script opens its card in place.
#[must_use]
pub fn action_map(overview: &Overview<'_>, sheet: &FirstSheet, frame: &MapFrame) -> Markup {
    let rows = &sheet.table.rows;
    let views = overview.zones.iter().zip(rows).enumerate();
    html! {
        svg.map.actions viewBox=(frame.view_box()) role="group" aria-label={ "Map of " (rows.len()) " zones, coloured by what is done first" } {
            @for (place, (view, row)) in views {
                a.zone href={ "#zone-" (view.number) } data-card={ "card-" (view.number) } aria-label=(plain(&spoken(sheet, row))) {
                    use href={ "#z" (view.number) } fill=(hex(treatment(row.treatment))) {}
                    use.over href={ "#z" (view.number) } fill={ "url(#h" (hatch(place)) ")" } {}
                }
            }
            (strips(overview, frame))
            (frame.furniture(overview.units))
            (labels(sheet, frame))
        }
    }
}

/// The check strips, in outline.
fn strips(overview: &Overview<'_>, frame: &MapFrame) -> Markup {
    let corners = |places: &[(f64, f64)]| {
        let texts: Vec<String> = places
            .iter()
            .map(|&(x, y)| {
                let (right, down) = frame.at(x, y);
                format!("{right},{down}")
            })
            .collect();
        texts.join(" ")
    };
    html! {
        @for strip in overview.stages.strips.strips() {
            polygon.strip points=(corners(&strip.on_plane)) {
                title { (plain(&format!("check strip {}", strip.name))) }
            }
        }
    }
}

/// A square in the colour of a treatment with its letter.
#[must_use]
pub fn swatch(at: usize, letter: &str) -> Markup {
    let colour = treatment(at);
    html! {
        svg.key width="22" height="22" viewBox="0 0 22 22" aria-hidden="true" {
            rect x="1" y="1" width="20" height="20" fill=(hex(colour)) {}
            text x="11" y="16" text-anchor="middle" fill=(ink_on(colour)) { (letter) }
        }
    }
}

fn spoken(sheet: &FirstSheet, row: &ZoneRow) -> String {
    let rates = row.rates.iter().zip(&sheet.table.products);
    let rates: Vec<String> = rates
        .map(|(rate, product)| format!("{} {rate} {}", product.label, product.unit))
        .collect();
    format!(
        "Zone {}, {} {}: {}. {}",
        row.zone,
        row.area,
        sheet.table.area_unit,
        row.do_first,
        rates.join(", ")
    )
}

/// A text on the map: its lines, the first of them the zone's number, round a middle.
struct Text {
    x: f64,
    y: f64,
    colour: Colour,
    lines: Vec<String>,
}

impl Text {
    fn size(line: usize) -> f64 {
        if line == 0 { NUMBER } else { RATE }
    }

    fn width(&self) -> f64 {
        let width =
            |(at, line): (usize, &String)| line.chars().count() as f64 * LETTER * Self::size(at);
        self.lines.iter().enumerate().map(width).fold(0.0, f64::max)
    }

    fn height(&self) -> f64 {
        (0..self.lines.len()).map(|at| LINE * Self::size(at)).sum()
    }

    fn overlaps(&self, other: &Self) -> bool {
        (self.x - other.x).abs() * 2.0 < self.width() + other.width()
            && (self.y - other.y).abs() * 2.0 < self.height() + other.height()
    }

    fn is_inside(&self, (width, height): (f64, f64)) -> bool {
        let (half, tall) = (self.width() / 2.0, self.height() / 2.0);
        self.x >= half && self.x + half <= width && self.y >= tall && self.y + tall <= height
    }
}

/// Number and rates of each zone at its widest place, the number alone where the rates would lie over another text.
fn labels(sheet: &FirstSheet, frame: &MapFrame) -> Markup {
    let mut texts: Vec<Text> = Vec::new();
    for label in &frame.labels {
        let Some(row) = sheet.table.rows.get(label.zone) else {
            continue;
        };
        let (x, y) = frame.at(label.x, label.y);
        texts.push(Text {
            x: x as f64,
            y: y as f64,
            colour: treatment(row.treatment),
            lines: vec![row.zone.to_string()],
        });
    }
    for at in 0..texts.len() {
        let Some(row) = sheet.table.rows.get(frame.labels[at].zone) else {
            continue;
        };
        texts[at].lines.extend(rate_lines(sheet, row));
        let is_clear = (0..texts.len())
            .filter(|&other| other != at)
            .all(|other| !texts[at].overlaps(&texts[other]));
        if !is_clear || !texts[at].is_inside(frame.size) {
            texts[at].lines.truncate(1);
        }
    }
    html! {
        g.labels aria-hidden="true" {
            @for text in &texts { (drawn(text)) }
        }
    }
}

/// "starter 3", one line per product that the zone gets.
fn rate_lines(sheet: &FirstSheet, row: &ZoneRow) -> Vec<String> {
    let applied = row
        .rates
        .iter()
        .zip(&row.is_applied)
        .zip(&sheet.table.products);
    let lines: Vec<String> = applied
        .filter(|((_, is_applied), _)| **is_applied)
        .map(|((rate, _), product)| format!("{} {rate}", product.word))
        .collect();
    if lines.is_empty() && !sheet.table.products.is_empty() {
        return vec!["no product".to_owned()];
    }
    lines
}

fn drawn(text: &Text) -> Markup {
    let (ink, halo) = (ink_on(text.colour), hex(text.colour));
    let mut y = text.y - text.height() / 2.0;
    let lines: Vec<(f64, f64, &String)> = text
        .lines
        .iter()
        .enumerate()
        .map(|(at, line)| {
            let size = Text::size(at);
            y += LINE * size;
            (y - LINE * size / 2.0, size, line)
        })
        .collect();
    html! {
        @for (y, size, line) in lines {
            text x={ (format!("{:.0}", text.x)) } y={ (format!("{y:.0}")) } font-size={ (format!("{size:.0}")) } fill=(ink) stroke=(halo) { (plain(line)) }
        }
    }
}

//! The zones with their numbers, and one map per product with its rates.

use std::fmt::Write;

use super::map_frame::{MapFrame, hatch, zone_fill};
use crate::deliver::colours::{Colour, hex, ink_on, rate, zone};
use crate::deliver::columns::RateColumn;
use crate::deliver::escape::markup;
use crate::deliver::overview::Overview;
use crate::deliver::review::{Review, grouped};

/// The zones, each a link to its own chapter.
#[must_use]
pub fn zone_map(overview: &Overview<'_>, review: &Review, map_frame: &MapFrame) -> String {
    let count = overview.zones.len();
    let mut out = format!(
        "<svg class=\"map\" viewBox=\"{}\" role=\"group\" aria-label=\"Map of {count} zones\">",
        map_frame.view_box()
    );
    for (place, (view, row)) in overview.zones.iter().zip(&review.actions.rows).enumerate() {
        let say = markup(&format!(
            "Zone {}: {} {}, {} of the field. {}",
            row.zone, row.area, review.actions.area_unit, row.share, row.reason
        ));
        let _ = write!(
            out,
            "<a href=\"#zone-{n}\" class=\"zone\" data-say=\"{say}\" aria-label=\"{say}\"><use href=\"#z{n}\" fill=\"{}\"/>\
             <use href=\"#z{n}\" fill=\"url(#h{})\" class=\"over\"/></a>",
            zone_fill(place, count),
            hatch(place),
            n = view.number,
        );
    }
    out.push_str(&map_frame.furniture(overview.units));
    push_labels(&mut out, map_frame, |place| {
        (overview.zones[place].number.to_string(), zone(place, count))
    });
    out.push_str("</svg>");
    out
}

/// Text over a map, at the widest place of each part, with a halo of the zone's own colour.
fn push_labels(out: &mut String, map_frame: &MapFrame, text: impl Fn(usize) -> (String, Colour)) {
    out.push_str("<g class=\"labels\" aria-hidden=\"true\">");
    for label in &map_frame.labels {
        let (text, colour) = text(label.zone);
        let (x, y) = map_frame.at(label.x, label.y);
        let size = map_frame.letter_size(label, text.chars().count());
        let _ = write!(
            out,
            "<text x=\"{x}\" y=\"{y}\" font-size=\"{size:.0}\" fill=\"{}\" stroke=\"{}\">{}</text>",
            ink_on(colour),
            hex(colour),
            markup(&text)
        );
    }
    out.push_str("</g>");
}

/// One product's rates on the map, with a legend.
#[must_use]
pub fn rate_map(overview: &Overview<'_>, map_frame: &MapFrame, column: &RateColumn<'_>) -> String {
    let most = column.rates.iter().copied().fold(0.0, f64::max);
    let colour = |value: f64| {
        if value > 0.0 {
            rate(0.12 + 0.88 * value / most)
        } else {
            [255, 255, 255]
        }
    };
    let number = |value: f64| grouped(value, column.decimals);
    let label = markup(&column.product.label);
    let mut out = format!(
        "<svg class=\"map\" viewBox=\"{}\" role=\"group\" aria-label=\"Map of {label} rates\">",
        map_frame.view_box()
    );
    for (view, &value) in overview.zones.iter().zip(&column.rates) {
        let say = markup(&format!(
            "Zone {}: {} {} of {}",
            view.number,
            number(value),
            column.unit,
            column.product.label
        ));
        let off = if value > 0.0 { "" } else { " off" };
        let _ = write!(
            out,
            "<g class=\"zone{off}\" data-say=\"{say}\"><title>{say}</title><use href=\"#z{}\" fill=\"{}\"/></g>",
            view.number,
            hex(colour(value))
        );
    }
    out.push_str(&map_frame.furniture(overview.units));
    push_labels(&mut out, map_frame, |place| {
        (number(column.rates[place]), colour(column.rates[place]))
    });
    out.push_str("</svg>");
    let (total, unit) = column.total(overview.units);
    format!(
        "<figure><figcaption><b>{label}</b>, {}; {} {unit} in all</figcaption>{out}{}<output class=\"say\"></output></figure>",
        column.unit,
        grouped(total, 0),
        legend(overview, column, colour)
    )
}

fn legend(
    overview: &Overview<'_>,
    column: &RateColumn<'_>,
    colour: impl Fn(f64) -> Colour,
) -> String {
    let mut rates: Vec<f64> = column.rates.clone();
    rates.sort_by(|a, b| b.total_cmp(a));
    rates.dedup();
    let items = rates.iter().map(|&value| {
        let zones: Vec<String> =
            overview.zones.iter().zip(&column.rates).filter(|(_, rate)| **rate == value).map(|(view, _)| view.number.to_string()).collect();
        let word = if zones.len() == 1 { "zone" } else { "zones" };
        let swatch = hex(colour(value));
        format!("<li><svg width=\"16\" height=\"16\" aria-hidden=\"true\"><rect x=\"1\" y=\"1\" width=\"14\" height=\"14\" fill=\"{swatch}\" class=\"swatch\"/></svg> {}: {word} {}</li>", grouped(value, column.decimals), zones.join(", "))
    });
    format!("<ul class=\"legend\">{}</ul>", items.collect::<String>())
}

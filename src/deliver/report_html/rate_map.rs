//! One map per product with its rates.

use maud::{Markup, html};

use super::map_frame::MapFrame;
use super::plain;
use crate::deliver::colours::{Colour, hex, ink_on, rate};
use crate::deliver::columns::RateColumn;
use crate::deliver::numbers::{grouped, with_commas, zones_in_words};
use crate::deliver::overview::Overview;

const WHITE: Colour = [255, 255, 255];

/// One product's rates on the map, with a legend.
#[must_use]
pub fn rate_map(overview: &Overview<'_>, frame: &MapFrame, column: &RateColumn<'_>) -> Markup {
    let label = plain(&column.product.label);
    let (total, unit) = column.printed_total(overview.units);
    html! {
        figure {
            figcaption { b { (label) } ", " (column.unit) "; " (with_commas(&total)) " " (unit) " for the field" }
            svg.map viewBox=(frame.view_box()) role="group" aria-label={ "Map of " (label) " rates" } {
                @for (view, &value) in overview.zones.iter().zip(&column.rates) {
                    @let say = format!("Zone {}: {} {} of {label}", view.number, number(column, value), column.unit);
                    g.zone.off[value <= 0.0] data-say=(say) {
                        title { (say) }
                        use href={ "#z" (view.number) } fill=(hex(colour(column, value))) {}
                    }
                }
                (frame.furniture(overview.units))
                (labels(frame, column))
            }
            (legend(overview, column))
            output.say {}
        }
    }
}

fn number(column: &RateColumn<'_>, value: f64) -> String {
    grouped(value, column.decimals)
}

fn colour(column: &RateColumn<'_>, value: f64) -> Colour {
    let most = column.rates.iter().copied().fold(0.0, f64::max);
    if value > 0.0 {
        rate(0.12 + 0.88 * value / most)
    } else {
        WHITE
    }
}

/// Text over a map, at the widest place of each part, with a halo of the zone's own colour.
fn labels(frame: &MapFrame, column: &RateColumn<'_>) -> Markup {
    html! {
        g.labels aria-hidden="true" {
            @for label in &frame.labels {
                @let value = column.rates[label.zone];
                @let text = number(column, value);
                @let (x, y) = frame.at(label.x, label.y);
                @let size = format!("{:.0}", frame.letter_size(label, text.chars().count()));
                @let fill = colour(column, value);
                text x=(x) y=(y) font-size=(size) fill=(ink_on(fill)) stroke=(hex(fill)) { (text) }
            }
        }
    }
}

fn legend(overview: &Overview<'_>, column: &RateColumn<'_>) -> Markup {
    let mut rates: Vec<f64> = column.rates.clone();
    rates.sort_by(|a, b| b.total_cmp(a));
    rates.dedup();
    html! {
        ul.legend {
            @for value in rates {
                li {
                    svg width="16" height="16" aria-hidden="true" {
                        rect.swatch x="1" y="1" width="14" height="14" fill=(hex(colour(column, value))) {}
                    }
                    " " (number(column, value)) ": " (zones_with(overview, column, value))
                }
            }
        }
    }
}

fn zones_with(overview: &Overview<'_>, column: &RateColumn<'_>, value: f64) -> String {
    let views = overview.zones.iter().zip(&column.rates);
    let of_value = views.filter(|(_, rate)| **rate == value);
    let numbers: Vec<u32> = of_value.map(|(view, _)| view.number).collect();
    zones_in_words(&numbers)
}

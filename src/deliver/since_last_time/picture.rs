//! Two barrels of one zone, the earlier year over the later one so that a phone shows both: how high each factor stood then and stands now.

use maud::{Markup, html};

use super::facts::ZoneSinceFacts;
use crate::deliver::report_html::plain;

const STAVE: f64 = 58.0;
const GAP: f64 = 5.0;
const HEIGHT: f64 = 120.0;
/// Room over the hoop, with the year in it.
const TOP: f64 = 34.0;
/// A stave at the rule's worst value is still to be seen.
const LOWEST: f64 = 0.05;
/// Distance of two lines of words.
const LINE: f64 = 15.0;

/// Why a stave may stand otherwise than its row in the table.
const MAPS: &str = "Each stave is what that year's maps made of the zone, against that year's thresholds; the table compares the cores that stand here in both years. \
                    Where the two differ, go by the table.";

/// The drawing; nothing where no factor was judged in both years.
pub fn two_barrels(zone: &ZoneSinceFacts, (then, now): (u16, u16)) -> Markup {
    let staves: Vec<(&str, f64, f64)> = zone
        .staves
        .iter()
        .filter_map(|stave| Some((stave.factor.as_str(), stave.then?, stave.now?)))
        .collect();
    let wide = GAP + staves.len() as f64 * (STAVE + GAP);
    let lines = staves
        .iter()
        .map(|(name, ..)| name.split(' ').count())
        .max();
    let ground = TOP + HEIGHT;
    let height = ground + LINE * (lines.unwrap_or(1) as f64 + 1.0);
    let of_then: Vec<(&str, f64)> = staves
        .iter()
        .map(|(name, then, _)| (*name, *then))
        .collect();
    let of_now: Vec<(&str, f64)> = staves.iter().map(|(name, _, now)| (*name, *now)).collect();
    html! {
        @if !staves.is_empty() {
            div.scroll tabindex="0" role="group" aria-label={ "Barrels of zone " (zone.zone) ", " (then) " and " (now) } {
                svg.barrel viewBox=(format!("0 0 {wide:.0} {:.0}", 2.0 * height)) style=(format!("width:{wide:.0}px")) role="img" aria-label=(spoken(&staves, (then, now))) {
                    (barrel(&of_then, then, wide))
                    g transform=(format!("translate(0 {height:.0})")) { (barrel(&of_now, now, wide)) }
                }
            }
            p.small { (MAPS) }
        }
    }
}

fn barrel(staves: &[(&str, f64)], year: u16, wide: f64) -> Markup {
    let left = 0.0_f64;
    let ground = TOP + HEIGHT;
    let lowest = staves
        .iter()
        .map(|(_, severity)| standing(*severity))
        .fold(1.0, f64::min);
    let water = ground - lowest * HEIGHT;
    let across = |y: f64| format!("M{left:.1} {y:.1}h{wide:.1}");
    html! {
        rect.water x=(tenth(left)) y=(tenth(water)) width=(tenth(wide)) height=(tenth(ground - water)) {}
        @for (at, (name, severity)) in staves.iter().enumerate() {
            (stave(name, *severity, left + GAP + at as f64 * (STAVE + GAP)))
        }
        path.hoop d=(across(TOP)) {}
        text.hooptext x=(tenth(left + 4.0)) y=(tenth(TOP - 8.0)) { (year) }
        path.level d=(across(water)) {}
        path.ground d=(across(ground)) {}
    }
}

fn stave(name: &str, severity: f64, x: f64) -> Markup {
    let ground = TOP + HEIGHT;
    let height = standing(severity) * HEIGHT;
    let (top, middle) = (ground - height, x + STAVE / 2.0);
    let is_short = severity > 0.0;
    let shape = format!(
        "M{x:.1} {top:.1}h{STAVE:.1}l-4 {height:.1}h{:.1}z",
        8.0 - STAVE
    );
    let percent = format!("{:.0} %", standing(severity) * 100.0);
    let is_inside = height > 34.0;
    let text_y = if is_inside { top + 18.0 } else { top - 6.0 };
    html! {
        path.stave.short[is_short].full[!is_short] d=(shape) {}
        @if is_short { text.share.in[is_inside] x=(tenth(middle)) y=(tenth(text_y)) { (percent) } }
        @for (line, word) in name.split(' ').enumerate() {
            // What would not fit is squeezed.
            @let squeeze = (word.len() > 7).then(|| format!("{STAVE:.0}"));
            @let adjust = squeeze.as_ref().map(|_| "spacingAndGlyphs");
            text.name x=(tenth(middle)) y=(tenth(ground + LINE * (line as f64 + 1.0))) textLength=[squeeze] lengthAdjust=[adjust] { (plain(word)) }
        }
    }
}

fn standing(severity: f64) -> f64 {
    (1.0 - severity).max(LOWEST)
}

fn tenth(value: f64) -> String {
    format!("{value:.1}")
}

/// The same for ears.
fn spoken(staves: &[(&str, f64, f64)], (then, now): (u16, u16)) -> String {
    let say = |(name, before, after): &(&str, f64, f64)| {
        format!(
            "{name} stood at {:.0} percent of its need in {then} and stands at {:.0} percent in {now}",
            standing(*before) * 100.0,
            standing(*after) * 100.0
        )
    };
    let parts: Vec<String> = staves.iter().map(say).collect();
    plain(&format!("Two barrels: {}.", parts.join("; ")))
}

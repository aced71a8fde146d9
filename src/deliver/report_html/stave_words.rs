//! The words under a stave: name, value and limit, each no wider than the stave.

use maud::{Markup, html};

use super::plain;
use crate::deliver::review::FindingFacts;

/// Distance of two lines.
const LINE: f64 = 17.0;

/// Lines that the words of these staves need.
#[must_use]
pub fn lines(findings: &[&FindingFacts], room: f64) -> usize {
    2 + findings
        .iter()
        .map(|finding| name(finding, room).len())
        .max()
        .unwrap_or(1)
}

/// Height of so many lines, with the blank below.
#[must_use]
pub fn height(lines: usize) -> f64 {
    lines as f64 * LINE + 10.0
}

/// The words of one stave; `lines` is what the staves of the barrel need, so that values stand side by side.
pub fn words(finding: &FindingFacts, (middle, top): (f64, f64), room: f64, lines: usize) -> Markup {
    let names = name(finding, room).into_iter().enumerate();
    let mut rows: Vec<(usize, &str, String)> = names
        .map(|(line, word)| (line, "name", word.to_owned()))
        .collect();
    rows.push((lines - 2, "value", finding.narrow.bare_value.clone()));
    rows.push((lines - 1, "limit", need(finding, room)));
    html! {
        @for (line, class, text) in rows {
            @let y = format!("{:.1}", top + (line as f64 + 1.0) * LINE);
            // What would still not fit is squeezed.
            @let squeeze = (width(&text) > room).then(|| format!("{room:.0}"));
            @let adjust = squeeze.as_ref().map(|_| "spacingAndGlyphs");
            text class=(class) x=(format!("{middle:.1}")) y=(y) textLength=[squeeze] lengthAdjust=[adjust] { (plain(&text)) }
        }
    }
}

/// The factor on one line, or word by word where that is too wide.
fn name(finding: &FindingFacts, room: f64) -> Vec<&str> {
    if width(&finding.factor) > room {
        finding.factor.split(' ').collect()
    } else {
        vec![&finding.factor]
    }
}

/// `need ≥ 20 ppm`: the threshold from the side of the crop; without the first word where that is too wide.
fn need(finding: &FindingFacts, room: f64) -> String {
    let limit = &finding.narrow.bare_limit;
    let sign = if finding.narrow.is_least {
        "\u{2265}"
    } else {
        "\u{2264}"
    };
    let whole = format!("need {sign} {limit}");
    if width(&whole) > room {
        format!("{sign} {limit}")
    } else {
        whole
    }
}

/// Width of a text in the letters of the drawing (14 steps high, bold), a little on the wide side.
fn width(text: &str) -> f64 {
    text.chars()
        .map(|letter| match letter {
            'i' | 'l' | 'j' | 't' | 'f' | 'r' | '.' | ',' | ':' | ' ' => 5.0,
            'm' | 'w' | '%' => 12.5,
            _ => 8.5,
        })
        .sum()
}

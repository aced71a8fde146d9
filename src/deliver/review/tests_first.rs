//! What is not known and the tests that would tell.

use crate::deliver::numbers::grouped;
use crate::deliver::overview::Overview;
use crate::rates::TestFirst;
use crate::text::capital;
use crate::units::UnitSystem;

/// Most tests that stand on the first sheet; the zones' chapters hold all.
const MOST: usize = 4;

/// What to test first, one line each, said once for the field: "Have buffer pH run (zones 2, 7): decides how much lime, up to 3,100 USD".
#[must_use]
pub fn lines(overview: &Overview<'_>) -> Vec<String> {
    let tests = &overview.stages.prescription.test_first;
    let shown = tests.iter().take(MOST);
    let mut lines: Vec<String> = shown.map(|test| line(overview, test)).collect();
    if let Some(more) = tests.len().checked_sub(MOST).filter(|more| *more > 0) {
        lines.push(match more {
            1 => "1 more test stands with the zones".to_owned(),
            more => format!("{more} more tests stand with the zones"),
        });
    }
    lines
}

fn line(overview: &Overview<'_>, test: &TestFirst) -> String {
    let money = if test.dollars >= 1.0 {
        format!(", up to {} USD", grouped(test.dollars, 0))
    } else {
        String::new()
    };
    let cost = test
        .dollars_a_sample
        .map(|dollars| format!(" (about {} USD a sample)", grouped(dollars, 0)));
    format!(
        "{} ({}): decides {}{money}{}",
        capital(&with_depths_of(overview.units, &test.test)),
        zones(overview, &test.zones),
        test.decides,
        cost.unwrap_or_default()
    )
}

/// The rulebook names its depths in inches, as its sources do; a metric plan reads "0-15 cm" for "0-6 in".
fn with_depths_of(units: UnitSystem, text: &str) -> String {
    if units == UnitSystem::UnitedStates {
        return text.to_owned();
    }
    let centimetres = |inches: &str| -> Option<String> {
        let (top, bottom) = inches.split_once('-')?;
        let whole = |inches: &str| Some((inches.parse::<u32>().ok()? * 5).div_ceil(2));
        Some(format!("{}-{} cm", whole(top)?, whole(bottom)?))
    };
    let words: Vec<&str> = text.split(' ').collect();
    let mut said: Vec<String> = Vec::new();
    let mut at = 0;
    while let Some(word) = words.get(at) {
        let unit = words.get(at + 1).and_then(|next| next.strip_prefix("in"));
        let rest = unit.filter(|rest| rest.chars().all(|letter| letter.is_ascii_punctuation()));
        if let (Some(depth), Some(rest)) = (centimetres(word), rest) {
            said.push(format!("{depth}{rest}"));
            at += 2;
        } else {
            said.push((*word).to_owned());
            at += 1;
        }
    }
    said.join(" ")
}

fn zones(overview: &Overview<'_>, numbers: &[u32]) -> String {
    if numbers.len() == overview.zones.len() {
        return "all zones".to_owned();
    }
    let word = if numbers.len() == 1 { "zone" } else { "zones" };
    let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
    format!("{word} {}", numbers.join(", "))
}

/// The factors of a zone that could not be judged, each with why and the test that would tell.
#[must_use]
pub fn not_known(overview: &Overview<'_>, place: usize) -> Vec<String> {
    let unknown = overview.zones[place].rates.not_known.iter();
    unknown.map(crate::diagnosis::NotKnown::line).collect()
}

#[cfg(test)]
mod tests {
    use super::with_depths_of;
    use crate::units::UnitSystem;

    #[test]
    fn a_metric_plan_reads_depths_in_centimetres() {
        let text = "Have zinc tested, 0-6 in, and pull cores 0-2 in and 6-24 in in spring";
        assert_eq!(
            with_depths_of(UnitSystem::Metric, text),
            "Have zinc tested, 0-15 cm, and pull cores 0-5 cm and 15-60 cm in spring"
        );
        assert_eq!(with_depths_of(UnitSystem::UnitedStates, text), text);
    }
}

//! What is not known and the tests that would tell.

use serde::{Deserialize, Serialize};

use crate::deliver::numbers::{grouped, zones_in_words};
use crate::deliver::overview::Overview;
use crate::rates::TestFirst;
use crate::text::capital;

/// Most tests that stand on the first sheet; the zones' chapters hold all.
const MOST: usize = 4;

/// A test that comes first.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TestLine {
    /// What is to be done: "Have buffer pH run".
    pub test: String,
    /// Where, what it costs and what it decides, as it follows on the test; empty where nothing does.
    terms: String,
}

impl TestLine {
    /// A line that says no more than itself.
    #[must_use]
    pub fn bare(test: String) -> Self {
        let terms = String::new();
        Self { test, terms }
    }

    /// The whole line.
    #[must_use]
    pub fn text(&self) -> String {
        format!("{}{}", self.test, self.terms)
    }
}

/// What to test first, one line each, said once for the field: "Have buffer pH run (zones 2, 7; about 12 USD a sample): decides how
/// much lime, and on products for up to 3,100 USD".
#[must_use]
pub fn lines(overview: &Overview<'_>) -> Vec<TestLine> {
    let tests = &overview.stages.prescription.test_first;
    let shown = tests.iter().take(MOST);
    let mut lines: Vec<TestLine> = shown.map(|test| line(overview, test)).collect();
    if let Some(more) = tests.len().checked_sub(MOST).filter(|more| *more > 0) {
        lines.push(TestLine::bare(match more {
            1 => "1 more test stands with the zones".to_owned(),
            more => format!("{more} more tests stand with the zones"),
        }));
    }
    lines
}

fn line(overview: &Overview<'_>, test: &TestFirst) -> TestLine {
    let money = if test.dollars >= 1.0 {
        format!(
            ", and on products for up to {} USD",
            grouped(test.dollars, 0)
        )
    } else {
        String::new()
    };
    let cost = test
        .dollars_a_sample
        .map(|dollars| format!("; about {} USD a sample", grouped(dollars, 0)));
    TestLine {
        test: capital(&test.test),
        terms: format!(
            " ({}{}): decides {}{money}",
            zones(overview, &test.zones),
            cost.unwrap_or_default(),
            test.decides
        ),
    }
}

fn zones(overview: &Overview<'_>, numbers: &[u32]) -> String {
    if numbers.len() == overview.zones.len() {
        return "all zones".to_owned();
    }
    zones_in_words(numbers)
}

/// The factors of a zone that could not be judged, each with why and the test that would tell.
#[must_use]
pub fn not_known(overview: &Overview<'_>, place: usize) -> Vec<String> {
    let unknown = overview.zones[place].rates.not_known.iter();
    unknown.map(crate::diagnosis::NotKnown::line).collect()
}

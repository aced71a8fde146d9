use super::Basis;
use super::reader::Entry;
use crate::analyte::{Analyte, LayerKey, Method};

/// A straight line: `slope * reading + offset`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StraightLine {
    /// Slope.
    pub slope: f64,
    /// Value at a reading of zero.
    pub offset: f64,
}

impl StraightLine {
    fn at(self, reading: f64) -> f64 {
        self.slope * reading + self.offset
    }
}

/// What a reading by one method tells of the value by another: not the value itself, but what it is at least and at most.
///
/// It settles a question only where the whole interval lies on one side of a threshold. The middle of the interval is never used.
#[derive(Debug, Clone)]
pub struct Inference {
    /// Name in the rulebook.
    pub name: String,
    /// What was measured.
    pub analyte: Analyte,
    /// The method of the reading; empty for a reading whose method is not stated.
    pub from: Vec<Method>,
    /// The methods whose value it bounds.
    pub to: Vec<Method>,
    /// The value is at least the smallest of these; no lower bound where empty.
    pub least: Vec<StraightLine>,
    /// The value is never less than the reading itself.
    pub is_at_least_the_reading: bool,
    /// The value is at most the greatest of these; no upper bound where empty.
    pub most: Vec<StraightLine>,
    /// Why, one sentence.
    pub why: String,
    /// What the reader should know where only the lines, and not the reading itself, settle it.
    pub caution: Option<String>,
    /// What the bounds rest on.
    pub basis: Basis,
    /// Where they come from.
    pub source: String,
}

impl Inference {
    /// Whether it speaks of a layer, for a rule or a condition that takes certain methods.
    #[must_use]
    pub fn bridges(&self, key: &LayerKey, wanted: &[Method]) -> bool {
        let is_from = match &key.method {
            None => self.from.is_empty(),
            Some(method) => self.from.contains(method),
        };
        is_from && key.analyte == self.analyte && wanted.iter().any(|m| self.to.contains(m))
    }

    /// The least and the most that the value can be; infinite where there is no bound.
    #[must_use]
    pub fn interval(&self, reading: f64) -> (f64, f64) {
        let lines = |lines: &[StraightLine], pick: fn(f64, f64) -> f64| {
            lines.iter().map(|line| line.at(reading)).reduce(pick)
        };
        let of_lines = lines(&self.least, f64::min).unwrap_or(f64::NEG_INFINITY);
        let least = if self.is_at_least_the_reading {
            of_lines.max(reading)
        } else {
            of_lines
        };
        let most = lines(&self.most, f64::max).unwrap_or(f64::INFINITY);
        (least, most.max(least))
    }

    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        let line = |(slope, offset)| StraightLine { slope, offset };
        let inference = Self {
            name: entry.name.to_owned(),
            analyte: entry.analyte("analyte"),
            from: entry.methods("from"),
            to: entry.methods("to"),
            least: entry.pairs("least").into_iter().map(line).collect(),
            is_at_least_the_reading: entry.flag_or("at_least_the_reading", false),
            most: entry.pairs("most").into_iter().map(line).collect(),
            why: entry.text("why", "say why the reading bounds the value"),
            caution: entry.maybe_text("caution"),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        };
        if inference.to.is_empty() {
            entry.contradiction("to", "name the method whose value the reading bounds");
        }
        inference
    }
}

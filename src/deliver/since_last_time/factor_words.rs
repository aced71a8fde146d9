//! A factor then and now in words.

use crate::deliver::numbers::{layer_number, layer_unit, with_unit};
use crate::past::{Change, FactorSince, Finding};
use crate::units::UnitSystem;

/// One factor as cells and lines.
#[derive(Debug, Clone)]
pub struct FactorWords {
    /// Factor.
    pub factor: String,
    /// The layer that was compared.
    pub layer: String,
    /// Value then; `None` where it is not known.
    pub then: Option<SampleWords>,
    /// Value now.
    pub now: Option<SampleWords>,
    /// The difference with its interval.
    pub difference: String,
    /// The change that could have been seen.
    pub could_see: String,
    /// What came of it: `rose`, `fell`, `no change shown`, `not comparable: ...`, `not known: ...`.
    pub finding: String,
    /// The parts of the error, for whoever wants to redo it.
    pub errors: String,
    /// Whether a change was shown.
    pub is_shown: bool,
}

/// A zone's value of one season.
#[derive(Debug, Clone)]
pub struct SampleWords {
    /// Mean with its unit.
    value: String,
    cores: usize,
}

impl SampleWords {
    /// The value with the number of cores that it rests on: "14.2 ppm (6)"; empty where there is none.
    pub fn cell(sample: Option<&Self>) -> String {
        sample.map_or_else(String::new, |sample| {
            format!("{} ({})", sample.value, sample.cores)
        })
    }

    fn bare(sample: Option<&Self>) -> &str {
        sample.map_or("", |sample| sample.value.as_str())
    }
}

impl FactorWords {
    /// Puts a factor into words.
    pub fn new(since: &FactorSince, units: UnitSystem) -> Self {
        let words = Numbers { since, units };
        let change = since.finding.change();
        let names: Vec<&str> = since.factors.iter().map(|factor| factor.name()).collect();
        let sample = |mean: f64, cores: usize| SampleWords {
            value: words.with_unit(mean),
            cores,
        };
        Self {
            factor: names.join(", "),
            layer: since.layer.show(units),
            then: change.map(|c| sample(c.then.mean, c.then.cores)),
            now: change.map(|c| sample(c.now.mean, c.now.cores)),
            difference: change.map_or_else(String::new, |c| words.difference(c)),
            could_see: change.map_or_else(String::new, |c| words.number(c.least_seen)),
            finding: match &since.finding {
                Finding::Rose(_) => "rose".to_owned(),
                Finding::Fell(_) => "fell".to_owned(),
                Finding::NoneShown(_) => "no change shown".to_owned(),
                Finding::NotComparable(why) => format!("not comparable: {why}"),
                Finding::NotKnown(why) => format!("not known: {why}"),
            },
            errors: change.map_or_else(String::new, |c| words.errors(c)),
            is_shown: since.finding.is_shown(),
        }
    }

    /// One line with everything.
    pub fn line(&self) -> String {
        if self.then.is_none() {
            return format!("{}: {}: {}", self.factor, self.layer, self.finding);
        }
        let seen = if self.is_shown {
            String::new()
        } else {
            format!("; a change of {} could have been seen", self.could_see)
        };
        format!(
            "{}: {} {} then, {} now: {}, {}{seen}. {}",
            self.factor,
            self.layer,
            SampleWords::cell(self.then.as_ref()),
            SampleWords::cell(self.now.as_ref()),
            self.difference,
            self.finding,
            self.errors
        )
    }

    /// A few words: "phosphorus 14.2 ppm -> 21 ppm, +6.8 (2.1 to 11.5)".
    pub fn short(&self) -> String {
        format!(
            "{} {} -> {}, {}",
            self.factor,
            SampleWords::bare(self.then.as_ref()),
            SampleWords::bare(self.now.as_ref()),
            self.difference
        )
    }
}

struct Numbers<'a> {
    since: &'a FactorSince,
    units: UnitSystem,
}

impl Numbers<'_> {
    fn number(&self, value: f64) -> String {
        layer_number(&self.since.layer, &self.since.unit, value, self.units)
    }

    fn with_unit(&self, value: f64) -> String {
        let unit = layer_unit(&self.since.layer, &self.since.unit, self.units);
        with_unit(&self.number(value), unit)
    }

    fn signed(&self, value: f64) -> String {
        let sign = if value > 0.0 { "+" } else { "" };
        format!("{sign}{}", self.number(value))
    }

    fn difference(&self, change: &Change) -> String {
        let (low, high) = change.interval;
        format!(
            "{} ({} to {})",
            self.signed(change.difference),
            self.number(low),
            self.number(high)
        )
    }

    fn errors(&self, change: &Change) -> String {
        format!(
            "Standard errors: sampling {} then and {} now, laboratory {}, time of sampling {}",
            self.number(change.then.standard_error),
            self.number(change.now.standard_error),
            self.number(change.laboratory),
            self.number(change.season)
        )
    }
}

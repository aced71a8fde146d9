use std::ops::RangeInclusive;

use thiserror::Error;

use crate::units::significant;

/// Why a formula of soil science gives no number.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum SoilError {
    /// An input that is not a finite number.
    #[error(
        "{quantity} is not a number; leave the sample out or ask the laboratory for the result"
    )]
    NotANumber {
        /// What was wanted.
        quantity: &'static str,
    },
    /// An input outside the range in which the rule was made or can be true.
    #[error(
        "{quantity} is {}{}; {rule} holds from {} to {}: check the unit and the method, or leave this sample out",
        significant(*found, 6),
        spaced(unit),
        significant(*least, 6),
        significant(*most, 6)
    )]
    OutOfRange {
        /// What it is.
        quantity: &'static str,
        /// Its unit; empty for pH and ratios.
        unit: &'static str,
        /// The value.
        found: f64,
        /// Least value allowed.
        least: f64,
        /// Most allowed.
        most: f64,
        /// The rule that sets the range.
        rule: &'static str,
    },
    /// A buffer that no formula belongs to.
    #[error(
        "the buffer is {}; acidity and lime depend on it. Name it as one of {allowed}: the laboratory's report says which",
        quoted(found)
    )]
    UnknownBuffer {
        /// As written; empty where nobody said it.
        found: String,
        /// Buffers known.
        allowed: String,
    },
    /// A buffer whose acidity only the laboratory can give.
    #[error(
        "no published formula turns a {buffer} buffer pH into acidity; use the acidity that the laboratory prints"
    )]
    NoAcidityFormula {
        /// The buffer.
        buffer: &'static str,
    },
    /// A rule, table or material that is not in the collection.
    #[error("there is no {what} named \"{found}\"; known are {allowed}")]
    UnknownName {
        /// Kind of thing.
        what: &'static str,
        /// As written.
        found: String,
        /// Names known.
        allowed: String,
    },
    /// A number of one test compared with the scale of another.
    #[error("{what} by {found} cannot be read on a scale for {wanted}; {help}")]
    NotComparable {
        /// What was measured.
        what: &'static str,
        /// The test that was run.
        found: String,
        /// The test that the scale is made for.
        wanted: String,
        /// What to do.
        help: &'static str,
    },
    /// An input that a rule cannot do without.
    #[error("{rule} needs {what}")]
    Missing {
        /// What is missing.
        what: &'static str,
        /// The rule that needs it.
        rule: &'static str,
    },
    /// A material that is no richer in carbon than the goal.
    #[error(
        "a material with C:N {} can never bring the soil to {}; choose one with a wider ratio",
        significant(*material, 4),
        significant(*target, 4)
    )]
    RatioOutOfReach {
        /// C:N of the material.
        material: f64,
        /// C:N wanted.
        target: f64,
    },
    /// Too few values for the statistic.
    #[error("{what} needs at least {needed} values and has {found}")]
    NotEnoughData {
        /// The statistic.
        what: &'static str,
        /// Values given.
        found: usize,
        /// Values needed.
        needed: usize,
    },
}

/// The value itself where it is a number inside the range of the rule.
pub(super) fn within(
    found: f64,
    quantity: &'static str,
    unit: &'static str,
    range: RangeInclusive<f64>,
    rule: &'static str,
) -> Result<f64, SoilError> {
    if found.is_nan() {
        return Err(SoilError::NotANumber { quantity });
    }
    if range.contains(&found) {
        return Ok(found);
    }
    Err(SoilError::OutOfRange {
        quantity,
        unit,
        found,
        least: *range.start(),
        most: *range.end(),
        rule,
    })
}

/// A cation exchange capacity, 0.5 to 200 meq/100 g.
pub(super) fn exchange_capacity(meq: f64, rule: &'static str) -> Result<f64, SoilError> {
    within(meq, "CEC", "meq/100 g", 0.5..=200.0, rule)
}

/// A share of a whole, 0 to 100 %.
pub(super) fn percent(found: f64, quantity: &'static str) -> Result<f64, SoilError> {
    within(found, quantity, "%", 0.0..=100.0, "a share of the whole")
}

fn spaced(unit: &str) -> String {
    if unit.is_empty() {
        String::new()
    } else {
        format!(" {unit}")
    }
}

fn quoted(found: &str) -> String {
    if found.is_empty() {
        "not named".to_owned()
    } else {
        format!("\"{found}\", which is not known")
    }
}

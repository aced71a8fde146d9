//! Salt: how much of it does this crop bear?
//!
//! Checks the conductivity of the saturated paste against the crop's own threshold, from which its yield falls in a straight line; the class
//! limit of 4 dS/m holds where no tolerance of the crop is known. A diluted extract bounds the value from below and above and is never turned
//! into it. Severity is the share of the yield that is lost. Fixes: drainage, leaching, a crop that bears it.
//! Who disagrees: tolerances are a guide to the order of crops only; seedlings bear less, and other tables print other thresholds.

use crate::diagnosis::ExpectedYield;
use crate::diagnosis::evidence::Evidence;
use crate::rulebook::Rule;
use crate::soil::relative_yield;
use crate::units::decimal;

/// What is left of the crop's yield; `None` where the rule's number is not the crop's own.
pub(in crate::diagnosis) fn expected_yield(
    rule: &Rule,
    crop: &str,
    evidence: &Evidence,
) -> Option<ExpectedYield> {
    let limit = rule.of_crop(crop)?;
    let threshold = rule.threshold_for(crop);
    let slope = 100.0 / (limit.worst - limit.threshold);
    let left = |conductivity: f64| {
        if conductivity == f64::INFINITY {
            return Some(0.0);
        }
        relative_yield(conductivity.max(0.0), threshold, slope).ok()
    };
    Some(ExpectedYield {
        percent: match evidence.inferred {
            None => Some(left(evidence.value)?),
            Some(_) => None,
        },
        range: (left(evidence.range.1)?, left(evidence.range.0)?),
    })
}

impl ExpectedYield {
    /// In words: "salt leaves corn about 72 % of its yield (90 %: 67 to 77 %)".
    #[must_use]
    pub fn words(&self, crop: &str) -> String {
        let (least, most) = (decimal(self.range.0, 0), decimal(self.range.1, 0));
        let share = match self.percent.map(|percent| decimal(percent, 0)) {
            Some(about) if least == most => format!("about {about} %"),
            Some(about) => {
                return format!(
                    "salt leaves {crop} about {about} % of its yield (90 %: {least} to {most} %)"
                );
            }
            None if self.range.0 <= 0.0 => format!("at most {most} %"),
            None => format!("{least} to {most} %"),
        };
        format!("salt leaves {crop} {share} of its yield")
    }
}

//! A factor that could not be judged, why, and the test that would tell.

use serde::Serialize;

use crate::rulebook::Factor;
use crate::text::listed;

/// Why a factor is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Because {
    /// Nothing was measured.
    NotTested,
    /// Measured by a method that no rule takes.
    OtherMethod,
    /// Measured, but nobody says by which method.
    MethodNotStated,
    /// Measured at a depth that no rule takes, or that is not stated.
    OtherDepth,
    /// Measured in a unit that is not the rule's.
    OtherUnit,
    /// Measured, and between the lowest and the highest limit of the states.
    DependsOnRegion,
    /// Measured by a test that does not read low enough to tell.
    BelowDetection,
    /// Pushes of the cone that all end above the depth that tells.
    NotDeepEnough,
    /// Measured, but the rule does not hold on this ground.
    RuleDoesNotHold,
}

impl Because {
    /// In words, to complete "not known: ...".
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::NotTested => "not tested",
            Self::OtherMethod => "tested by another method",
            Self::MethodNotStated => "tested, but the plan does not name the method",
            Self::OtherDepth => "tested at another depth",
            Self::OtherUnit => "given in another unit",
            Self::DependsOnRegion => "the states draw the line at different values",
            Self::BelowDetection => "the test does not read low enough to tell",
            Self::NotDeepEnough => "no push of the cone goes deep enough",
            Self::RuleDoesNotHold => "no rule holds on this ground",
        }
    }
}

impl Because {
    /// The test that would show it, where the usual one was run already and did not.
    #[must_use]
    pub fn test_instead(self, usual: &str) -> String {
        match self {
            Self::BelowDetection => NotKnown::finer(usual),
            Self::NotDeepEnough => NotKnown::deeper(usual),
            _ => usual.to_owned(),
        }
    }
}

/// A factor that could not be judged.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NotKnown {
    /// The factor.
    pub factor: Factor,
    /// Why it is not known.
    pub because: Because,
    /// The test that would tell, in the imperative: "have the EC of a saturated paste run, 0-6 in".
    pub test: String,
    /// What one sample of that test usually costs, United States dollars; `None` where the rulebook names no test.
    pub dollars_a_sample: Option<f64>,
    /// Severity that is still possible, weighed by the chance of it, 0 to 1.
    pub possible_severity: f64,
    /// The finding behind it, one sentence.
    pub sentence: String,
    /// Numbers of the zones in which it is not known, rising.
    pub zones: Vec<u32>,
}

impl NotKnown {
    /// What to do where results have no method, in the imperative.
    #[must_use]
    pub fn naming_of_methods(analytes: &[String]) -> String {
        format!(
            "name the test method of {} in the plan (the laboratory's sheet says it)",
            listed(analytes)
        )
    }

    /// The test that would show it where the pushes of the cone end too soon, in the imperative.
    #[must_use]
    pub fn deeper(test: &str) -> String {
        format!("{test}, again and deeper")
    }

    /// The test that would show it where the one that was run does not read low enough, in the imperative.
    #[must_use]
    pub fn finer(test: &str) -> String {
        format!("{test}, again and by a method that reads lower")
    }

    /// For a list: "salt: not tested; have the EC of a saturated paste run, 0-6 in (about 15 USD a sample)".
    #[must_use]
    pub fn line(&self) -> String {
        let cost = self
            .dollars_a_sample
            .map(|cost| format!(" (about {} USD a sample)", crate::units::decimal(cost, 2)))
            .unwrap_or_default();
        let (factor, because) = (self.factor.name(), self.because.words());
        format!("{factor}: {because}; {}{cost}", self.test)
    }
}

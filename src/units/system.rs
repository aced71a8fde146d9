use serde::{Deserialize, Serialize};

/// Which customary units the results are printed in. Input may use either.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, Default)]
pub enum UnitSystem {
    /// Acres, gallons, pounds, feet, psi.
    #[default]
    #[serde(rename = "us")]
    UnitedStates,
    /// Hectares, litres, kilograms, metres, kPa.
    #[serde(rename = "metric")]
    Metric,
}

impl UnitSystem {
    /// The word of the plan file: `us` or `metric`.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::UnitedStates => "us",
            Self::Metric => "metric",
        }
    }
}

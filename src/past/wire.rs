//! Small pieces that several records of an earlier run are written with.

use serde::Deserialize;

/// A rate as the record of a run writes it: `{ "mass": "1120.85 kg/ha" }` or `{ "volume": "9.35 L/ha" }`.
#[derive(Debug, Clone, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum WrittenRate {
    /// Liquid.
    Volume(String),
    /// Dry.
    Mass(String),
}

impl WrittenRate {
    /// Kilograms or litres a hectare; nothing where the text is no number.
    pub(super) fn per_hectare(&self) -> f64 {
        let (Self::Volume(text) | Self::Mass(text)) = self;
        stored_number(text)
    }

    /// Whether it is a liquid.
    pub(super) fn is_liquid(&self) -> bool {
        matches!(self, Self::Volume(_))
    }
}

/// The number before the unit of a quantity in its stored unit.
pub(super) fn stored_number(text: &str) -> f64 {
    let number = text.split_whitespace().next();
    number
        .and_then(|number| number.parse::<f64>().ok())
        .filter(|number| number.is_finite())
        .unwrap_or_default()
}

//! A rate that the user sets for a zone or a strip.

use serde::Serialize;

use crate::units::{MassPerArea, VolumePerArea};

/// A rate in the unit that the product is applied in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum OverrideRate {
    /// Liquid.
    Volume(VolumePerArea),
    /// Dry.
    Mass(MassPerArea),
}

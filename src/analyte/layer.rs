use std::fmt;

use serde::Serialize;

use super::{Analyte, DepthRange, Method};
use crate::units::UnitSystem;

/// The identity of a layer: what was measured, how, and at which depth.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
pub struct LayerKey {
    /// What was measured.
    pub analyte: Analyte,
    /// Test method; `None` where neither the file nor the plan says it.
    pub method: Option<Method>,
    /// Sampling depth; `None` where the quantity has none (elevation, yield).
    pub depth: Option<DepthRange>,
}

impl LayerKey {
    /// A key from its three parts.
    #[must_use]
    pub fn new(analyte: Analyte, method: Option<Method>, depth: Option<DepthRange>) -> Self {
        Self {
            analyte,
            method,
            depth,
        }
    }

    /// For people: `pH (water), 0-6 in`.
    #[must_use]
    pub fn show(&self, system: UnitSystem) -> String {
        self.with_depth(|depth| depth.show(system))
    }

    fn with_depth(&self, show: impl Fn(DepthRange) -> String) -> String {
        let mut text = self.analyte.label();
        if let Some(method) = &self.method {
            text.push_str(&format!(" ({method})"));
        }
        if let Some(depth) = self.depth {
            text.push_str(&format!(", {}", show(depth)));
        }
        text
    }

    /// For file names and keys of `run.json`: `ph_water_0-15.2cm`, only `[a-z0-9._-]`.
    #[must_use]
    pub fn slug(&self) -> String {
        let mut parts = vec![self.analyte.name().replace(':', "_")];
        parts.extend(self.method.as_ref().map(|m| m.name().to_owned()));
        parts.extend(self.depth.map(|d| d.to_string().replace(' ', "")));
        parts
            .join("_")
            .to_lowercase()
            .chars()
            .map(|c| {
                if c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_') {
                    c
                } else {
                    '-'
                }
            })
            .collect()
    }
}

impl fmt::Display for LayerKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.with_depth(DepthRange::as_sampled))
    }
}

//! What differs by factor, one file each; a factor that is not named here is a mean against a threshold and nothing more.

pub(super) mod air;
mod carbon;
pub(super) mod salt;
mod surface_acidity;

use crate::analyte::LayerKey;
use crate::diagnosis::{Finding, LayerSummary, Outcome};
use crate::rulebook::Factor;

/// What a factor does otherwise than the rest.
pub(super) struct Hooks {
    /// A better value than the mean of the layer's map; `None` where the mean holds.
    pub value: fn(&LayerKey, &[LayerSummary]) -> Option<f64>,
    /// What to say where the factor is not known.
    pub where_unknown: fn(&[LayerSummary]) -> Vec<String>,
    /// The factor that, where it limits, covers this one.
    pub covered_by: Option<Factor>,
}

impl Hooks {
    const NONE: Self = Self {
        value: |_, _| None,
        where_unknown: |_| Vec::new(),
        covered_by: None,
    };
}

/// What a factor does otherwise.
pub(super) fn hooks(factor: Factor) -> Hooks {
    match factor {
        Factor::Carbon => carbon::HOOKS,
        Factor::SurfaceAcidity => surface_acidity::HOOKS,
        _ => Hooks::NONE,
    }
}

/// Takes out the limits of factors that another limit covers.
pub(super) fn leave_out_covered(findings: &mut Vec<Finding>) {
    let limiting: Vec<Factor> = findings
        .iter()
        .filter(|finding| finding.outcome == Outcome::Limiting)
        .map(|finding| finding.factor)
        .collect();
    findings.retain(|finding| {
        hooks(finding.factor)
            .covered_by
            .is_none_or(|over| !limiting.contains(&over))
    });
}

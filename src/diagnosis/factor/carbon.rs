//! Carbon: is there enough of it for the nitrogen that the soil holds?
//!
//! Checks the C:N ratio by the method that a rule names, and organic carbon. Why it matters: where carbon is short, a starter
//! does nothing to be seen. Accepts the ratio of the water extract for the gate; the C:N of total carbon and nitrogen lies at 10
//! to 12 in any mineral topsoil and says nothing here. Organic matter is not carbon: residue that comes along with a core inflates
//! it, and the share of carbon in it differs from soil to soil. Fixes: test it, compost, cover crops, molasses.
//! Who disagrees: no published trial ties a starter's response to this ratio.

use super::Hooks;
use crate::analyte::{Analyte, LayerKey};
use crate::diagnosis::LayerSummary;
use crate::soil::{CarbonAndNitrogen, RatioKind, carbon_nitrogen_ratio};
use crate::units::significant;

pub(super) const HOOKS: Hooks = Hooks {
    value: ratio_of_means,
    where_unknown: not_measured,
    covered_by: None,
};

/// What to say where carbon was not measured.
fn not_measured(profile: &[LayerSummary]) -> Vec<String> {
    let mut cautions = Vec::new();
    if let Some(matter) = profile
        .iter()
        .find(|summary| summary.key.analyte == Analyte::OrganicMatter)
    {
        cautions.push(format!(
            "organic matter ({} %) is known, but it is not carbon: residue taken along with a core inflates it, and its carbon share differs from soil to soil",
            significant(matter.mean, 3)
        ));
    }
    cautions.push(
        "C:N was not tested, so the starter was not held back for it; have it tested before you rely on a starter"
            .to_owned(),
    );
    cautions
}

/// C:N of the water extract as the ratio of the zone's means, where both pools are mapped at the ratio's depth: the mean of ratios
/// would give too much weight to places with little nitrogen.
///
/// # Source
/// own: the ratio of a mixture is the ratio of its parts' sums.
fn ratio_of_means(key: &LayerKey, profile: &[LayerSummary]) -> Option<f64> {
    if key.analyte != Analyte::CarbonNitrogenRatio
        || key
            .method
            .as_ref()
            .is_none_or(|method| method.name() != RatioKind::WaterExtract.name())
    {
        return None;
    }
    let pool = |analyte: Analyte| {
        let mut found = profile
            .iter()
            .filter(|summary| summary.key.analyte == analyte && summary.key.depth == key.depth);
        found
            .next()
            .filter(|_| found.next().is_none())
            .map(|summary| summary.mean)
    };
    let sample = CarbonAndNitrogen {
        carbon: pool(Analyte::WaterCarbon)?,
        carbon_kind: RatioKind::WaterExtract,
        nitrogen: pool(Analyte::WaterNitrogen)?,
        nitrogen_kind: RatioKind::WaterExtract,
    };
    carbon_nitrogen_ratio(&sample).ok()
}

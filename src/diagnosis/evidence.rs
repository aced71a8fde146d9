//! What the reader should know of a finding: how few observations it rests on, and how good they are.

use crate::diagnosis::LayerSummary;
use crate::rulebook::Rulebook;

/// Cautions on the evidence of one layer in one zone.
pub(super) fn cautions(summary: &LayerSummary, rulebook: &Rulebook) -> Vec<String> {
    let mut cautions = Vec::new();
    if let Some(few) = few_observations(summary.cores, rulebook) {
        cautions.push(few);
    }
    if summary.is_flat {
        cautions.push("no map is drawn of this layer: every zone has the field's mean".to_owned());
    }
    if summary.qualified > 0 {
        cautions.push(format!(
            "{} of the results lie outside the range of the test",
            summary.qualified
        ));
    }
    if !summary.standard_error.is_finite() {
        cautions.push("one observation only: how sure this is cannot be told".to_owned());
    }
    cautions
}

/// A caution where a zone holds fewer observations than the rulebook wants.
pub(super) fn few_observations(count: usize, rulebook: &Rulebook) -> Option<String> {
    let fewest = rulebook.numbers.few_cores;
    ((count as f64) < fewest).then(|| match count {
        0 => "no observation lies inside this zone: the value is taken from its neighbours"
            .to_owned(),
        1 => "rests on one observation inside this zone".to_owned(),
        _ => format!("rests on {count} observations inside this zone"),
    })
}

//! Cores that were sampled at another depth that a rule allows, and that decide nothing because the rule takes one depth only.

use std::collections::BTreeSet;

use super::ZoneDiagnosis;
use super::standing::Standing;
use crate::analyte::{DepthRange, LayerKey};
use crate::remark::Remark;
use crate::rulebook::{Rule, Rulebook, Statistic};
use crate::text::listed;
use crate::units::UnitSystem;

/// What was sampled at a depth that decides nothing, beside the depth that decides.
struct Unused {
    depth: DepthRange,
    instead: DepthRange,
    cores: usize,
    deciding: usize,
    of: Vec<String>,
}

/// One remark for each depth that decides nothing.
pub(super) fn remarks(
    standing: &Standing<'_>,
    rulebook: &Rulebook,
    zones: &[ZoneDiagnosis],
    units: UnitSystem,
) -> Vec<Remark> {
    let used = used(rulebook, zones);
    let mut found: Vec<Unused> = Vec::new();
    for key in standing.keys_of_cores() {
        if used.iter().any(|(_, taken)| *taken == key) {
            continue;
        }
        let instead = used.iter().find(|(rule, _)| rule.takes(key));
        let depths = instead.and_then(|(_, taken)| key.depth.zip(taken.depth));
        let (Some((_, taken)), Some((depth, other))) = (instead, depths) else {
            continue;
        };
        let cores = alone(standing, key, taken);
        if cores == 0 || depth == other {
            continue;
        }
        let deciding = standing.places(taken).len();
        let label = key.analyte.label();
        match found
            .iter_mut()
            .find(|known| known.depth == depth && known.instead == other)
        {
            Some(known) => {
                known.cores = known.cores.max(cores);
                known.deciding = known.deciding.max(deciding);
                known.of.push(label);
            }
            None => found.push(Unused {
                depth,
                instead: other,
                cores,
                deciding,
                of: vec![label],
            }),
        }
    }
    found.iter().map(|unused| unused.remark(units)).collect()
}

/// The rules that settle something by the mean of a layer, each with its layer.
fn used<'a>(rulebook: &'a Rulebook, zones: &'a [ZoneDiagnosis]) -> Vec<(&'a Rule, &'a LayerKey)> {
    let findings = zones.iter().flat_map(|zone| &zone.findings);
    findings
        .filter(|finding| finding.is_settled())
        .filter_map(|finding| {
            let rule = rulebook.rule(&finding.rule)?;
            let key = finding.layer.as_ref()?;
            (rule.statistic == Statistic::Mean && rule.takes(key)).then_some((rule, key))
        })
        .collect()
}

/// How many cores of a layer stand where the layer that decides has none.
fn alone(standing: &Standing<'_>, key: &LayerKey, taken: &LayerKey) -> usize {
    let bits = |(x, y): (f64, f64)| (x.to_bits(), y.to_bits());
    let deciding = standing.places(taken);
    let there: BTreeSet<(u64, u64)> = deciding.iter().map(|(at, _)| bits(*at)).collect();
    let all = standing.places(key);
    all.iter()
        .filter(|(at, _)| !there.contains(&bits(*at)))
        .count()
}

impl Unused {
    fn remark(&self, units: UnitSystem) -> Remark {
        let what = format!(
            "{} cores sampled {} decide nothing ({}): the {} cores sampled {} stand for the whole field",
            self.cores,
            self.depth.show(units),
            listed(&self.of),
            self.deciding,
            self.instead.show(units)
        );
        Remark::warning("cores-of-another-depth", what).help(
            "two depths are not one layer: sample the field at one depth, or say in the plan that both are one depth if you know that they agree",
        )
    }
}

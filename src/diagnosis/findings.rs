use std::sync::Arc;

use serde::Serialize;

use super::unknown_factor::{Because, NotKnown};
use crate::analyte::LayerKey;
use crate::remark::Remark;
use crate::rulebook::{Basis, Factor, Side};
use crate::units::Length;

/// What limits the crop, zone by zone. Zones stand in the order of their number; zone 1 has the most severe first limit.
#[derive(Debug, Clone, Serialize)]
pub struct Diagnosis {
    /// One entry per zone, by rising number.
    pub zones: Vec<ZoneDiagnosis>,
    /// What is not known, said once for the field, each with its zones; what may limit most first.
    pub not_known: Vec<NotKnown>,
    /// What this stage has to say.
    pub remarks: Vec<Remark>,
}

/// One zone.
#[derive(Debug, Clone, Serialize)]
pub struct ZoneDiagnosis {
    /// The number that people see, from 1.
    pub number: u32,
    /// Index into `Zones::zones`.
    pub zone: usize,
    /// What was measured here, layer by layer.
    pub profile: Vec<LayerSummary>,
    /// Findings: limiting ones first, by falling severity; then adequate, not comparable, not measured.
    pub findings: Vec<Finding>,
    /// The factors that no rule settles here, what may limit most first.
    pub not_known: Vec<NotKnown>,
}

impl ZoneDiagnosis {
    /// The limiting findings, the most severe first: one for each factor.
    pub fn limits(&self) -> impl Iterator<Item = &Finding> {
        let is_limiting = |finding: &Finding| finding.outcome == Outcome::Limiting;
        self.findings
            .iter()
            .enumerate()
            .filter_map(move |(at, finding)| {
                let is_first = !self.findings[..at]
                    .iter()
                    .any(|before| is_limiting(before) && before.factor == finding.factor);
                (is_limiting(finding) && is_first).then_some(finding)
            })
    }

    /// The finding of a rule, limiting or not.
    #[must_use]
    pub fn finding(&self, rule: &str) -> Option<&Finding> {
        self.findings.iter().find(|finding| finding.rule == rule)
    }
}

/// A layer within a zone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LayerSummary {
    /// The layer.
    pub key: LayerKey,
    /// Canonical unit.
    pub unit: Arc<str>,
    /// Area-weighted mean of the surface over the zone.
    pub mean: f64,
    /// Standard deviation of the surface within the zone.
    pub spread: f64,
    /// Standard error of the zone mean, from the surface's uncertainty.
    pub standard_error: f64,
    /// Least and most value of the surface within the zone.
    pub range: (f64, f64),
    /// Observations that lie inside the zone.
    pub cores: usize,
    /// How many of those were below or above the range of the test.
    pub qualified: usize,
    /// Results below a limit of detection that the mean rests on.
    #[serde(skip)]
    pub below: BelowDetection,
    /// Whether the layer has one value for the whole field.
    pub is_flat: bool,
    /// Whether the values are skewed and the map was made of their logarithms: intervals of the mean are not symmetric.
    pub is_skewed: bool,
}

/// Results below a limit of detection, for which a part of the limit stands.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct BelowDetection {
    /// What stands for each, and its limit.
    pub results: Vec<(f64, f64)>,
    /// All results that the mean rests on, these among them.
    pub of: usize,
}

impl BelowDetection {
    /// The least and the most that a mean can be, where each result may be anything from nothing to its limit. A result whose whole range lies
    /// on one side of a threshold does not move it: what stands for it does well enough.
    #[must_use]
    pub fn mean_within(&self, mean: f64, threshold: f64) -> (f64, f64) {
        let open = self.results.iter().filter(|(_, limit)| *limit > threshold);
        let of = self.of.max(1) as f64;
        open.fold((mean, mean), |(least, most), (stands, limit)| {
            (least - stands / of, most + (limit - stands) / of)
        })
    }
}

/// What came of holding a zone against a rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Past the threshold.
    Limiting,
    /// Not past it.
    Adequate,
    /// A result exists, but of another method or depth than the rule's.
    NotComparable,
    /// No result.
    NotMeasured,
}

/// What is left of a crop's yield on salty ground, percent of that on sound ground.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct ExpectedYield {
    /// At the zone's value; `None` where only bounds are known.
    pub percent: Option<f64>,
    /// Least and most: 90 % interval of the zone's mean, or the bounds that a reading by another method gives.
    pub range: (f64, f64),
}

/// One rule compared with one zone.
#[derive(Debug, Clone, Serialize)]
pub struct Finding {
    /// The rule's name in the rulebook.
    pub rule: String,
    /// The factor it speaks of.
    pub factor: Factor,
    /// What came of it.
    pub outcome: Outcome,
    /// The layer that was compared with it.
    pub layer: Option<LayerKey>,
    /// The zone's value, in `unit`.
    pub value: Option<f64>,
    /// Spread within the zone (standard deviation), in `unit`.
    pub spread: Option<f64>,
    /// Observations inside the zone that it rests on.
    pub cores: usize,
    /// The threshold, in `unit`.
    pub threshold: f64,
    /// Unit of value and threshold.
    pub unit: String,
    /// On which side the trouble lies.
    pub side: Side,
    /// How bad, 0 at the threshold to 1 at the rule's worst value.
    pub severity: f64,
    /// Probability that the zone is truly past the threshold, 0 to 1.
    pub confidence: f64,
    /// What the threshold rests on.
    pub basis: Basis,
    /// Where the threshold comes from.
    pub source: String,
    /// One line where research disputes the rule.
    pub disputed: Option<String>,
    /// Names of product classes or products that this finding closes (`starter`); empty where it closes none.
    #[serde(rename = "closes")]
    pub blocks: Vec<String>,
    /// Whether what it closes is closed here; a gate may lie elsewhere than the threshold.
    pub is_closing: bool,
    /// What salt leaves of the crop's yield, where its tolerance is known.
    pub expected_yield: Option<ExpectedYield>,
    /// What the reader should know of this finding: few cores, flat map, dry soil.
    pub cautions: Vec<String>,
    /// Why the value is a bound that a reading by another method gives, and not a measurement; `None` where it is measured.
    pub inferred: Option<String>,
    /// Whether the zone's own cores took back a limit that the field's one value is past.
    #[serde(skip)]
    pub is_by_own_cores: bool,
    /// What the other method read, with its unit, where the value is a bound.
    pub reading: Option<String>,
    /// How deep to loosen a hard layer; `None` where there is none, or where its lower edge was not reached.
    pub loosen_to: Option<Length>,
    /// Why it is not known; `None` where the rule settles it.
    pub not_known: Option<Because>,
    /// Severity that is still possible where it is not known, weighed by the chance of it, 0 to 1.
    pub possible_severity: f64,
    /// The finding in one sentence, with value, threshold and unit.
    pub sentence: String,
}

impl Finding {
    /// Whether this finding holds a product or a class of products back.
    #[must_use]
    pub fn closes_product(&self, name: &str) -> bool {
        self.is_closing && self.blocks.iter().any(|closed| closed == name)
    }

    /// Whether the rule settles the factor, one way or the other.
    #[must_use]
    pub fn is_settled(&self) -> bool {
        matches!(self.outcome, Outcome::Limiting | Outcome::Adequate)
    }

    /// Whether the value lies between the states' limits and no region says which holds.
    #[must_use]
    pub fn depends_on_region(&self) -> bool {
        self.not_known == Some(Because::DependsOnRegion)
    }
}

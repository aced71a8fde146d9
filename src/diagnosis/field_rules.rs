use super::LayerSummary;
use super::factor::air::{Push, Pushes};
use super::standing::Standing;
use crate::rulebook::{Factor, Rule, Rulebook};
use crate::units::UnitSystem;

/// What all zones of a field are judged by.
pub(super) struct FieldRules<'a> {
    pub rulebook: &'a Rulebook,
    pub crop: &'a str,
    /// What people call the crop.
    pub crop_label: &'a str,
    pub units: UnitSystem,
    pub pushes: &'a Pushes,
    /// The crop's rules.
    pub rules: Vec<RuleHere<'a>>,
    /// Whether anybody reads the words; where zonings are only compared, nobody does.
    pub has_words: bool,
}

impl<'a> FieldRules<'a> {
    /// The crop's rules for a factor.
    pub fn rules_of(&self, factor: Factor) -> impl Iterator<Item = &RuleHere<'a>> {
        self.rules
            .iter()
            .filter(move |here| here.rule.factor == factor)
    }

    /// Words, where anybody reads them.
    pub fn told(&self, words: impl FnOnce() -> String) -> String {
        if self.has_words {
            words()
        } else {
            String::new()
        }
    }
}

/// A rule with what this field has for it. All zones have the same layers in the same order.
pub(super) struct RuleHere<'a> {
    pub rule: &'a Rule,
    /// Places in the profile of the layers that it takes, its preferred depth first.
    pub taken: Vec<usize>,
    /// Places in the profile of the layers that only bound its value.
    pub bounding: Vec<usize>,
}

impl<'a> RuleHere<'a> {
    /// Of a field with the layers of a profile.
    pub fn new(rule: &'a Rule, profile: &[LayerSummary], rulebook: &Rulebook) -> Self {
        let known = rulebook.inferences.iter();
        let known: Vec<_> = known
            .filter(|known| known.to.iter().any(|to| rule.methods.contains(to)))
            .collect();
        let bounds = |summary: &LayerSummary| {
            let mut known = known.iter();
            known.any(|known| known.bridges(&summary.key, &rule.methods))
                && rule.depth_rank(summary.key.depth).is_some()
        };
        let of = |holds: &dyn Fn(&LayerSummary) -> bool| -> Vec<usize> {
            let layers = profile.iter().enumerate();
            let held = layers.filter(|(_, summary)| holds(summary));
            held.map(|(at, _)| at).collect()
        };
        let mut taken = of(&|summary| rule.takes(&summary.key));
        taken.sort_by_key(|at| rule.depth_rank(profile[*at].key.depth));
        Self {
            rule,
            taken,
            bounding: of(&bounds),
        }
    }
}

/// What was measured in one zone.
pub(super) struct ZoneSoil<'a> {
    pub profile: &'a [LayerSummary],
    pub pushes: &'a [Push],
    /// Where the cores stand.
    pub standing: &'a Standing<'a>,
    /// Index into `Zones::zones`.
    pub zone: usize,
}

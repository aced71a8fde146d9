use super::LayerSummary;
use super::factor::air::{Push, Pushes};
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
    pub rules: Vec<&'a Rule>,
    /// Whether anybody reads the words; where zonings are only compared, nobody does.
    pub has_words: bool,
}

impl<'a> FieldRules<'a> {
    /// The crop's rules for a factor.
    pub fn rules_of(&self, factor: Factor) -> Vec<&'a Rule> {
        let of_factor = self.rules.iter().filter(|rule| rule.factor == factor);
        of_factor.copied().collect()
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

/// What was measured in one zone.
pub(super) struct ZoneSoil<'a> {
    pub profile: &'a [LayerSummary],
    pub pushes: &'a [Push],
}

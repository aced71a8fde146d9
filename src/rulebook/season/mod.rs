//! What decides after emergence: stand tables, the refractometer's temperature table, limits in tissue, leaf feeds.

mod brix;
mod foliar;
mod lines;
mod stand;
mod tissue;

pub use brix::BrixTable;
pub use foliar::{FoliarRule, LeafCaution, LeafSalt, NoLeafFeed, NotForCrops};
pub use stand::{StandForm, StandRule, UnevenRule};
pub use tissue::TissueRule;

use super::RulebookError;
use super::sections::section;
use crate::toml_tree::Tree;

/// The season's rules of a rulebook.
#[derive(Debug, Clone, Default)]
pub struct SeasonRules {
    /// Stand tables, by name.
    pub stands: Vec<StandRule>,
    /// What late plants cost, by name.
    pub uneven: Vec<UnevenRule>,
    /// Temperature tables of the refractometer, by name.
    pub brix: Vec<BrixTable>,
    /// Limits in tissue, by name.
    pub tissue: Vec<TissueRule>,
    /// Most salt in the spray, by crop.
    pub leaf_salt: Vec<LeafSalt>,
    /// Leaf feeds, by name.
    pub foliar: Vec<FoliarRule>,
    /// What is not fed through the leaf, by factor.
    pub no_leaf_feed: Vec<NoLeafFeed>,
    /// Cautions of every leaf feed.
    pub leaf_cautions: Vec<LeafCaution>,
}

impl SeasonRules {
    /// Reads the sections of the season.
    pub(in crate::rulebook) fn read(tree: &Tree, errors: &mut Vec<RulebookError>) -> Self {
        Self {
            stands: section(tree, "stand", errors, StandRule::read),
            uneven: section(tree, "uneven", errors, UnevenRule::read),
            brix: section(tree, "brix", errors, BrixTable::read),
            tissue: section(tree, "tissue", errors, TissueRule::read),
            leaf_salt: section(tree, "leaf_salt", errors, LeafSalt::read),
            foliar: section(tree, "foliar", errors, FoliarRule::read),
            no_leaf_feed: section(tree, "no_leaf_feed", errors, NoLeafFeed::read),
            leaf_cautions: section(tree, "leaf_caution", errors, LeafCaution::read),
        }
    }

    /// The stand tables of a crop, the one that decides first.
    pub fn stands_of<'a>(&'a self, crop: &'a str) -> impl Iterator<Item = &'a StandRule> {
        let of = move |second: bool| {
            self.stands
                .iter()
                .filter(move |rule| rule.crop == crop && rule.is_second_opinion == second)
        };
        of(false).chain(of(true))
    }

    /// The most salt in the spray for a crop, grams in 100 mL.
    #[must_use]
    pub fn salt_of(&self, crop: &str) -> Option<&LeafSalt> {
        let of = |name: &str| self.leaf_salt.iter().find(|salt| salt.crop == name);
        of(crop).or_else(|| of(LeafSalt::USUAL))
    }
}

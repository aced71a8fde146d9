use super::error::nearest_word;
use super::reader::Entry;
use super::region::Region;
use super::{Basis, RulebookError};

/// A caution that the report prints.
#[derive(Debug, Clone)]
pub struct Caution {
    /// Name in the rulebook.
    pub name: String,
    /// The caution.
    pub what: String,
    /// Printed only where one of these products is used; always where empty.
    pub products: Vec<String>,
    /// What it rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl Caution {
    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        Self {
            name: entry.name.to_owned(),
            what: entry.text("what", "write the caution"),
            products: entry.texts("products"),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}

/// The lime rule for a buffer.
#[derive(Debug, Clone)]
pub struct LimeChoice {
    /// The buffer, as a test method is written.
    pub buffer: String,
    /// Name of the published rule that turns its pH into lime.
    pub rule: String,
    /// The regions whose laboratories read the buffer so; everywhere where empty.
    pub regions: Vec<String>,
    /// What the choice rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl LimeChoice {
    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        for region in entry.texts("regions") {
            if !Region::PACKS.iter().any(|(name, _)| *name == region) {
                let names = || Region::PACKS.iter().map(|(name, _)| *name);
                let place = entry.place_of("regions");
                entry.report(RulebookError::UnknownWord {
                    place,
                    nearest: nearest_word(&region, names()),
                    word: region,
                    allowed: names().collect::<Vec<_>>().join(", "),
                });
            }
        }
        Self {
            buffer: entry.name.to_owned(),
            rule: entry.text("rule", "write the name of a published lime rule"),
            regions: entry.texts("regions"),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}

//! The sections of a rulebook, and how the entries of one are read.

use super::RulebookError;
use super::reader::{Entry, read_each};
use crate::toml_tree::{Tree, Value};

/// The sections of a rulebook.
pub(super) const SECTIONS: [&str; 21] = [
    "brix",
    "caution",
    "crop",
    "fix",
    "foliar",
    "inference",
    "leaf_caution",
    "leaf_salt",
    "lime",
    "no_leaf_feed",
    "number",
    "product",
    "rate",
    "recipe",
    "region",
    "rule",
    "stand",
    "test",
    "tissue",
    "uneven",
    "worked",
];

/// The entries of a section, each read by `read`, in the order of their names.
pub(super) fn section<T>(
    tree: &Tree,
    name: &str,
    errors: &mut Vec<RulebookError>,
    mut read: impl FnMut(&mut Entry<'_>) -> T,
) -> Vec<T> {
    match tree.get(name).map(|item| (&item.value, &item.place)) {
        Some((Value::Table(entries), _)) => read_each(entries, name, errors, &mut read),
        Some((other, place)) => {
            let (place, found) = (place.clone(), other.kind().to_owned());
            errors.push(RulebookError::WrongKind {
                place,
                found,
                wanted: "a table of entries".to_owned(),
            });
            Vec::new()
        }
        None => Vec::new(),
    }
}

use std::sync::Arc;

use super::RulebookError;
use crate::provenance::Place;
use crate::toml_tree::{self, Item, Tree, Value, join};

/// Reads the text of a rulebook.
pub(super) fn parse(text: &str, file: &Arc<str>) -> Result<Tree, Vec<RulebookError>> {
    let syntax = |stumble: toml_tree::Stumble| RulebookError::Syntax {
        place: stumble.place,
        what: stumble.what,
    };
    toml_tree::parse(text, file).map_err(|stumbles| stumbles.into_iter().map(syntax).collect())
}

/// A key of the user's file that changes the built-in rulebook.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Change {
    /// Where in the user's file.
    pub place: Place,
    /// Dotted key: `rule.carbon_water_extract.threshold`.
    pub key: String,
    /// What the built-in rulebook says; `None` where it has no such key.
    pub before: Option<String>,
    /// What the user's file says.
    pub after: String,
}

/// Lays one tree over another, key by key, and tells what that changes.
pub(super) fn overlay(base: &mut Tree, over: Tree, path: &str, changes: &mut Vec<Change>) {
    for (key, item) in over {
        let path = join(path, &key);
        match (base.get_mut(&key), item) {
            (
                Some(Item {
                    value: Value::Table(below),
                    ..
                }),
                Item {
                    value: Value::Table(above),
                    ..
                },
            ) => {
                overlay(below, above, &path, changes);
            }
            (Some(below), item) => {
                let (before, after) = (below.value.show(), item.value.show());
                if before != after {
                    changes.push(Change {
                        place: item.place.clone(),
                        key: path,
                        before: Some(before),
                        after,
                    });
                }
                *below = item;
            }
            (None, item) => {
                changes.push(Change {
                    place: item.place.clone(),
                    key: path,
                    before: None,
                    after: item.value.show(),
                });
                base.insert(key, item);
            }
        }
    }
}

/// Errors of built-in entries that the user's file changes, with the row that changes them: what stands there clashes with the rest of the entry.
pub(super) fn at_the_change(
    errors: &mut [RulebookError],
    changes: &[Change],
    is_built_in: impl Fn(&Place) -> bool,
) {
    let entry_of = |key: &str| {
        key.splitn(3, '.')
            .take(2)
            .map(str::to_owned)
            .collect::<Vec<_>>()
    };
    for place in errors.iter_mut().filter_map(RulebookError::place_mut) {
        let Some(entry) = place
            .key
            .as_deref()
            .map(entry_of)
            .filter(|_| is_built_in(place))
        else {
            continue;
        };
        if let Some(change) = changes.iter().find(|change| entry_of(&change.key) == entry) {
            *place = change.place.clone();
        }
    }
}

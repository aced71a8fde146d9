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

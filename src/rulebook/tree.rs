use std::collections::BTreeMap;
use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::RulebookError;
use crate::provenance::Place;

/// The tables of a rulebook file; each value remembers where it stands.
pub(super) type Tree = BTreeMap<String, Item>;

/// One value with its place.
#[derive(Debug, Clone)]
pub(super) struct Item {
    pub value: Value,
    pub place: Place,
}

/// The kinds of value a rulebook uses.
#[derive(Debug, Clone)]
pub(super) enum Value {
    Table(Tree),
    List(Vec<Item>),
    Text(String),
    Number(f64),
    Flag(bool),
    /// A kind that no key of a rulebook takes: a date, a number too large to hold.
    Other(&'static str),
}

impl Value {
    /// The kind in words, for messages.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Table(_) => "a table",
            Self::List(_) => "a list",
            Self::Text(_) => "a text",
            Self::Number(_) => "a number",
            Self::Flag(_) => "true or false",
            Self::Other(kind) => kind,
        }
    }

    /// The value as one would write it, for the list of changes.
    pub fn show(&self) -> String {
        match self {
            Self::Table(tree) => {
                let parts: Vec<String> = tree
                    .iter()
                    .map(|(key, item)| format!("{key} = {}", item.value.show()))
                    .collect();
                format!("{{ {} }}", parts.join(", "))
            }
            Self::List(items) => format!(
                "[{}]",
                items
                    .iter()
                    .map(|i| i.value.show())
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
            Self::Text(text) => format!("\"{text}\""),
            Self::Number(number) => crate::units::decimal(*number, 9),
            Self::Flag(flag) => flag.to_string(),
            Self::Other(kind) => (*kind).to_owned(),
        }
    }
}

/// Reads TOML text.
pub(super) fn parse(text: &str, file: &Arc<str>) -> Result<Tree, Vec<RulebookError>> {
    let source = Source {
        file,
        line_starts: std::iter::once(0)
            .chain(text.match_indices('\n').map(|(at, _)| at + 1))
            .collect(),
    };
    match DeTable::parse(text) {
        Ok(table) => Ok(source.tree(table.get_ref(), "")),
        Err(error) => {
            let row = source.row(error.span().map_or(0, |span| span.start));
            let place = Place::file(Arc::clone(file)).at_row(row);
            Err(vec![RulebookError::Syntax {
                place,
                what: error.message().to_owned(),
            }])
        }
    }
}

/// The file being read.
struct Source<'a> {
    file: &'a Arc<str>,
    line_starts: Vec<usize>,
}

impl Source<'_> {
    fn row(&self, byte: usize) -> u32 {
        self.line_starts.partition_point(|start| *start <= byte) as u32
    }

    fn tree(&self, table: &DeTable<'_>, path: &str) -> Tree {
        table
            .iter()
            .map(|(key, value)| {
                let name = key.get_ref().to_string();
                let path = join(path, &name);
                let row = self.row(key.span().start);
                (name, self.item(value, row, &path))
            })
            .collect()
    }

    fn item(&self, value: &Spanned<DeValue<'_>>, row: u32, path: &str) -> Item {
        let place = Place::file(Arc::clone(self.file)).at_row(row).at_key(path);
        let value = match value.get_ref() {
            DeValue::String(text) => Value::Text(text.to_string()),
            DeValue::Integer(number) => {
                let wide = i64::from_str_radix(number.as_str(), number.radix());
                wide.map_or(Value::Other("a number too large to hold"), |n| {
                    Value::Number(n as f64)
                })
            }
            DeValue::Float(number) => match number.as_str().parse::<f64>() {
                Ok(number) if number.is_finite() => Value::Number(number),
                _ => Value::Other("a number that is not finite"),
            },
            DeValue::Boolean(flag) => Value::Flag(*flag),
            DeValue::Datetime(_) => Value::Other("a date"),
            DeValue::Array(list) => Value::List(
                list.iter()
                    .map(|item| self.item(item, self.row(item.span().start), path))
                    .collect(),
            ),
            DeValue::Table(table) => Value::Table(self.tree(table, path)),
        };
        Item { value, place }
    }
}

/// Dotted path of a key below another.
pub(super) fn join(path: &str, key: &str) -> String {
    let bare = !key.is_empty()
        && key
            .chars()
            .all(|c| c.is_ascii_alphanumeric() || matches!(c, '_' | '-'));
    let key = if bare {
        key.to_owned()
    } else {
        format!("\"{}\"", key.escape_default())
    };
    if path.is_empty() {
        key
    } else {
        format!("{path}.{key}")
    }
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

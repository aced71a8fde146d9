use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::provenance::Place;
use crate::text::shorten;

use super::value::{Item, Number, Tree, Value};

/// A place at which a text is not TOML.
#[derive(Debug, Clone, PartialEq)]
pub struct Stumble {
    /// Where.
    pub place: Place,
    /// What is wrong there.
    pub what: String,
}

/// Reads a TOML text; `file` is the name that places carry.
///
/// # Errors
/// Every place at which the text is not TOML.
pub fn parse(text: &str, file: &Arc<str>) -> Result<Tree, Vec<Stumble>> {
    let source = Source {
        file,
        line_starts: std::iter::once(0)
            .chain(text.match_indices('\n').map(|(at, _)| at + 1))
            .collect(),
    };
    let (table, stumbles) = DeTable::parse_recoverable(text);
    if stumbles.is_empty() {
        return Ok(source.tree(table.get_ref(), ""));
    }
    let told = |stumble: &toml::de::Error| {
        let lines = stumble.message().lines().map(str::trim);
        Stumble {
            place: stumble
                .span()
                .map_or_else(|| source.whole(), |span| source.at(span.start)),
            what: lines.collect::<Vec<_>>().join("; "),
        }
    };
    Err(stumbles.iter().map(told).collect())
}

/// The file being read.
struct Source<'a> {
    file: &'a Arc<str>,
    line_starts: Vec<usize>,
}

impl Source<'_> {
    fn whole(&self) -> Place {
        Place::file(Arc::clone(self.file))
    }

    /// The row that holds a byte of the text.
    fn at(&self, byte: usize) -> Place {
        let row = self.line_starts.partition_point(|start| *start <= byte);
        self.whole().at_row(row as u32)
    }

    fn tree(&self, table: &DeTable<'_>, path: &str) -> Tree {
        let entry = |(key, value): (&Spanned<_>, &Spanned<DeValue<'_>>)| {
            let name: &std::borrow::Cow<'_, str> = key.get_ref();
            let path = join(path, name);
            (name.to_string(), self.item(value, key.span().start, &path))
        };
        table.iter().map(entry).collect()
    }

    fn item(&self, value: &Spanned<DeValue<'_>>, byte: usize, path: &str) -> Item {
        let value = match value.get_ref() {
            DeValue::String(text) => Value::Text(text.to_string()),
            DeValue::Integer(number) => {
                Value::Number(Number::from_digits(number.as_str(), number.radix()))
            }
            DeValue::Float(number) => Value::Number(Number::from_decimal(number.as_str())),
            DeValue::Boolean(flag) => Value::Flag(*flag),
            DeValue::Datetime(date) => Value::Date(*date),
            DeValue::Array(list) => {
                let items = (1..).zip(list.iter());
                let item = |(number, item): (usize, &Spanned<DeValue<'_>>)| {
                    self.item(item, item.span().start, &format!("{path}[{number}]"))
                };
                Value::List(items.map(item).collect())
            }
            DeValue::Table(table) => Value::Table(self.tree(table, path)),
        };
        Item {
            value,
            place: self.at(byte).at_key(path),
            order: byte,
        }
    }
}

/// Dotted path of a key below another: `zones.smallest`, `points.columns."Buffer pH"`.
#[must_use]
pub fn join(path: &str, key: &str) -> String {
    let is_bare = !key.is_empty()
        && key
            .bytes()
            .all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
    let key = if is_bare {
        shorten(key)
    } else {
        format!("\"{}\"", shorten(key))
    };
    if path.is_empty() {
        key
    } else {
        format!("{path}.{key}")
    }
}

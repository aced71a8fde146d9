use std::collections::BTreeSet;

use super::error::nearest_word;
use super::{Basis, RulebookError};
use crate::analyte::{Analyte, DepthRange, Method};
use crate::provenance::Place;
use crate::toml_tree::{Item, Tree, Value, join};
use crate::units::Quantity;

/// A table of the rulebook being read. Each accessor notes its key; [`Entry::finish`] reports the keys that nobody asked for.
/// A missing or wrong value is reported and replaced by a stand-in; the rulebook is then refused as a whole.
pub(super) struct Entry<'a> {
    pub name: &'a str,
    tree: &'a Tree,
    place: Place,
    path: String,
    known: BTreeSet<&'static str>,
    errors: &'a mut Vec<RulebookError>,
}

impl<'a> Entry<'a> {
    pub fn new(
        name: &'a str,
        path: String,
        item: &'a Item,
        errors: &'a mut Vec<RulebookError>,
    ) -> Option<Self> {
        let Value::Table(tree) = &item.value else {
            errors.push(RulebookError::WrongKind {
                place: item.place.clone(),
                found: item.value.kind().to_owned(),
                wanted: match &item.value {
                    Value::Number(_) if path.starts_with("number.") => format!(
                        "a table, that is a line [{path}] and below it value = {}",
                        item.value.show()
                    ),
                    _ => format!("a table that begins with a line [{path}]"),
                },
            });
            return None;
        };
        Some(Self {
            name,
            tree,
            place: item.place.clone(),
            path,
            known: BTreeSet::new(),
            errors,
        })
    }

    /// Where the table stands.
    pub fn place(&self) -> Place {
        self.place.clone()
    }

    /// Where a key stands, or the table where the key is absent.
    pub fn place_of(&self, key: &str) -> Place {
        self.tree.get(key).map_or_else(
            || self.place.clone().at_key(join(&self.path, key)),
            |item| item.place.clone(),
        )
    }

    pub fn has(&self, key: &str) -> bool {
        self.tree.contains_key(key)
    }

    pub fn report(&mut self, error: RulebookError) {
        self.errors.push(error);
    }

    pub fn contradiction(&mut self, key: &str, what: impl Into<String>) {
        let place = self.place_of(key);
        self.errors.push(RulebookError::Contradiction {
            place,
            what: what.into(),
        });
    }

    fn find(&mut self, key: &'static str) -> Option<&'a Item> {
        self.known.insert(key);
        self.tree.get(key)
    }

    fn missing(&mut self, key: &'static str, what: &'static str) {
        let place = self.place.clone().at_key(join(&self.path, key));
        self.errors.push(RulebookError::Missing { place, what });
    }

    fn wrong(&mut self, item: &Item, wanted: impl Into<String>) {
        self.errors.push(RulebookError::WrongKind {
            place: item.place.clone(),
            found: match &item.value {
                Value::Text(text) => format!("\"{text}\""),
                other => other.kind().to_owned(),
            },
            wanted: wanted.into(),
        });
    }

    pub fn maybe_text(&mut self, key: &'static str) -> Option<String> {
        let item = self.find(key)?;
        if let Value::Text(text) = &item.value {
            return (!text.trim().is_empty()).then(|| text.clone());
        }
        self.wrong(item, "a text");
        None
    }

    pub fn text(&mut self, key: &'static str, what: &'static str) -> String {
        let is_blank = matches!(self.tree.get(key).map(|item| &item.value), Some(Value::Text(text)) if text.trim().is_empty());
        if is_blank || !self.has(key) {
            self.known.insert(key);
            self.missing(key, what);
        }
        self.maybe_text(key).unwrap_or_default()
    }

    pub fn texts(&mut self, key: &'static str) -> Vec<String> {
        let Some(item) = self.find(key) else {
            return Vec::new();
        };
        let text_of = |item: &Item| match &item.value {
            Value::Text(text) => Some(text.clone()),
            _ => None,
        };
        let list = match &item.value {
            Value::List(items) => items.iter().map(text_of).collect(),
            _ => text_of(item).map(|text| vec![text]),
        };
        list.unwrap_or_else(|| {
            self.wrong(item, "a text or a list of texts");
            Vec::new()
        })
    }

    pub fn maybe_number(&mut self, key: &'static str) -> Option<f64> {
        let item = self.find(key)?;
        let number = item.value.number();
        if number.is_some() {
            return number;
        }
        self.wrong(item, "a number");
        None
    }

    pub fn number(&mut self, key: &'static str, what: &'static str) -> f64 {
        if !self.has(key) {
            self.known.insert(key);
            self.missing(key, what);
        }
        self.maybe_number(key).unwrap_or(1.0)
    }

    /// A number, or the name of a number of the rulebook.
    pub fn number_or_name(
        &mut self,
        key: &'static str,
        what: &'static str,
    ) -> (f64, Option<String>) {
        match self.tree.get(key).map(|item| &item.value) {
            Some(Value::Text(name)) => {
                self.known.insert(key);
                (f64::NAN, Some(name.clone()))
            }
            _ => (self.number(key, what), None),
        }
    }

    /// A number within bounds; the default where absent.
    pub fn number_in(
        &mut self,
        key: &'static str,
        bounds: std::ops::RangeInclusive<f64>,
        allowed: &'static str,
        default: f64,
    ) -> f64 {
        let number = self.maybe_number(key).unwrap_or(default);
        if !bounds.contains(&number) {
            let place = self.place_of(key);
            self.errors.push(RulebookError::OutOfRange {
                place,
                found: crate::units::decimal(number, 9),
                allowed,
            });
            return default;
        }
        number
    }

    /// A number within bounds that must be there.
    pub fn required_in(
        &mut self,
        key: &'static str,
        what: &'static str,
        bounds: std::ops::RangeInclusive<f64>,
        allowed: &'static str,
    ) -> f64 {
        let default = *bounds.start();
        if !self.has(key) {
            self.known.insert(key);
            self.missing(key, what);
            return default;
        }
        self.number_in(key, bounds, allowed, default)
    }

    pub fn flag_or(&mut self, key: &'static str, default: bool) -> bool {
        let Some(item) = self.find(key) else {
            return default;
        };
        if let Value::Flag(flag) = item.value {
            return flag;
        }
        self.wrong(item, "true or false");
        default
    }

    /// A text such as `"2 ton/ac"`.
    pub fn maybe_quantity<Q: Quantity>(&mut self, key: &'static str) -> Option<Q> {
        let item = self.find(key)?;
        let parsed = match &item.value {
            Value::Text(text) => Q::parse(text).map_err(|error| error.to_string()),
            _ => Err(format!(
                "a {} in quotes, such as \"5 {}\"",
                Q::NAME,
                Q::UNITS.first().map_or("", |unit| unit.0)
            )),
        };
        match parsed {
            Ok(quantity) if quantity.stored() >= 0.0 => Some(quantity),
            Ok(_) => {
                self.errors.push(RulebookError::OutOfRange {
                    place: item.place.clone(),
                    found: item.value.show(),
                    allowed: "zero or more",
                });
                None
            }
            Err(wanted) => {
                self.wrong(item, wanted);
                None
            }
        }
    }

    pub fn quantity<Q: Quantity>(&mut self, key: &'static str, what: &'static str) -> Q {
        if !self.has(key) {
            self.known.insert(key);
            self.missing(key, what);
        }
        self.maybe_quantity(key)
            .unwrap_or_else(|| Q::from_stored(1.0))
    }

    /// One of some words.
    pub fn word<T: Copy>(
        &mut self,
        key: &'static str,
        words: &[(&'static str, T)],
        default: Option<T>,
    ) -> T {
        let fallback = default.unwrap_or(words[0].1);
        let Some(item) = self.find(key) else {
            if default.is_none() {
                self.missing(key, "write one of the words of the rulebook page");
            }
            return fallback;
        };
        let Value::Text(text) = &item.value else {
            self.wrong(item, "a text");
            return fallback;
        };
        if let Some((_, found)) = words.iter().find(|(word, _)| word == text) {
            return *found;
        }
        self.unknown_word(item, text, words.iter().map(|(word, _)| *word));
        fallback
    }

    fn unknown_word(
        &mut self,
        item: &Item,
        word: &str,
        words: impl Iterator<Item = &'static str> + Clone,
    ) {
        self.errors.push(RulebookError::UnknownWord {
            place: item.place.clone(),
            word: word.to_owned(),
            nearest: nearest_word(word, words.clone()),
            allowed: words.collect::<Vec<_>>().join(", "),
        });
    }

    pub fn basis(&mut self, key: &'static str) -> Basis {
        let words = [
            ("published", Basis::Published),
            ("common practice", Basis::CommonPractice),
            ("own", Basis::Own),
        ];
        self.word(key, &words, None)
    }

    pub fn analyte(&mut self, key: &'static str) -> Analyte {
        let text = self.text(
            key,
            "write the analyte as in the plan file, for example \"ph\"",
        );
        text.parse().unwrap_or_else(|_| {
            if !text.is_empty() {
                let names: Vec<String> = Analyte::NAMED.iter().map(Analyte::name).collect();
                let place = self.place_of(key);
                self.errors.push(RulebookError::UnknownWord {
                    place,
                    nearest: nearest_word(&text, names.iter().map(String::as_str)),
                    word: text.clone(),
                    allowed: names.join(", "),
                });
            }
            Analyte::Ph
        })
    }

    /// Method names; `any` alone means that the method does not matter.
    pub fn methods(&mut self, key: &'static str) -> Vec<Method> {
        self.texts(key)
            .iter()
            .map(|name| Method::new(name))
            .collect()
    }

    pub fn depths(&mut self, key: &'static str) -> Vec<DepthRange> {
        let mut depths = Vec::new();
        for text in self.texts(key) {
            match DepthRange::parse(&text, None) {
                Ok(depth) => depths.push(depth),
                Err(error) => {
                    let place = self.place_of(key);
                    self.errors.push(RulebookError::WrongKind {
                        place,
                        found: format!("\"{text}\""),
                        wanted: error.to_string(),
                    });
                }
            }
        }
        depths
    }

    /// Numbers by crop or other name: `threshold_for = { wheat = 30 }`.
    pub fn numbers_by_name(&mut self, key: &'static str) -> Vec<(String, f64)> {
        let Some(item) = self.find(key) else {
            return Vec::new();
        };
        let Value::Table(tree) = &item.value else {
            self.wrong(item, "a table of numbers");
            return Vec::new();
        };
        let mut numbers = Vec::new();
        for (name, item) in tree {
            match item.value.number() {
                Some(number) => numbers.push((name.clone(), number)),
                None => self.wrong(item, "a number"),
            }
        }
        numbers
    }

    /// The files in which the numbers of [`Entry::numbers_by_name`] stand.
    pub fn files_by_name(&self, key: &str) -> Vec<(String, std::sync::Arc<str>)> {
        let Some(Value::Table(tree)) = self.tree.get(key).map(|item| &item.value) else {
            return Vec::new();
        };
        let entries = tree.iter();
        entries
            .map(|(name, item)| (name.clone(), item.place.file.clone()))
            .collect()
    }

    /// Pairs of numbers: `[[1.6, 0], [1.93, -0.57]]`.
    pub fn pairs(&mut self, key: &'static str) -> Vec<(f64, f64)> {
        let Some(item) = self.find(key) else {
            return Vec::new();
        };
        let pair = |item: &Item| match &item.value {
            Value::List(pair) => match pair.as_slice() {
                [a, b] => a.value.number().zip(b.value.number()),
                _ => None,
            },
            _ => None,
        };
        let pairs = match &item.value {
            Value::List(items) => items.iter().map(pair).collect(),
            _ => None,
        };
        pairs.unwrap_or_else(|| {
            self.wrong(item, "pairs of numbers, such as [[1, 0], [1.9, -0.6]]");
            Vec::new()
        })
    }

    /// A list of numbers.
    pub fn numbers(&mut self, key: &'static str) -> Vec<f64> {
        let Some(item) = self.find(key) else {
            return Vec::new();
        };
        numbers_of(item).unwrap_or_else(|| {
            self.wrong(item, "a list of numbers, such as [10, 12, 14]");
            Vec::new()
        })
    }

    /// Rows of numbers: `[[94, 100], [93, 99]]`.
    pub fn rows(&mut self, key: &'static str) -> Vec<Vec<f64>> {
        let Some(item) = self.find(key) else {
            return Vec::new();
        };
        let rows = match &item.value {
            Value::List(items) => items.iter().map(numbers_of).collect(),
            _ => None,
        };
        rows.unwrap_or_else(|| {
            self.wrong(item, "rows of numbers, such as [[94, 100], [93, 99]]");
            Vec::new()
        })
    }

    /// The tables below a key, each read by `read`, in the order of their names.
    pub fn tables<T>(
        &mut self,
        key: &'static str,
        mut read: impl FnMut(&mut Entry<'_>) -> T,
    ) -> Vec<T> {
        let Some(item) = self.find(key) else {
            return Vec::new();
        };
        let Value::Table(tree) = &item.value else {
            self.wrong(item, "a table of tables");
            return Vec::new();
        };
        let path = join(&self.path, key);
        read_each(tree, &path, self.errors, &mut read)
    }

    /// The one table below a key.
    pub fn table<T>(
        &mut self,
        key: &'static str,
        read: impl FnOnce(&mut Entry<'_>) -> T,
    ) -> Option<T> {
        let item = self.find(key)?;
        let mut entry = Entry::new(key, join(&self.path, key), item, self.errors)?;
        let table = read(&mut entry);
        entry.finish();
        Some(table)
    }

    /// Reports every key that nobody asked for.
    pub fn finish(self) {
        for (key, item) in self.tree {
            if !self.known.contains(key.as_str()) {
                self.errors.push(RulebookError::UnknownKey {
                    place: item.place.clone(),
                    nearest: nearest_word(key, self.known.iter().copied()),
                    allowed: self.known.iter().copied().collect::<Vec<_>>().join(", "),
                });
            }
        }
    }
}

/// The numbers of a list; `None` where something else stands in it.
fn numbers_of(item: &Item) -> Option<Vec<f64>> {
    let items = item.value.list()?;
    items.iter().map(|item| item.value.number()).collect()
}

/// Reads each table of a tree of tables.
pub(super) fn read_each<T>(
    tree: &Tree,
    path: &str,
    errors: &mut Vec<RulebookError>,
    read: &mut impl FnMut(&mut Entry<'_>) -> T,
) -> Vec<T> {
    let mut all = Vec::new();
    for (name, item) in tree {
        if let Some(mut entry) = Entry::new(name, join(path, name), item, errors) {
            all.push(read(&mut entry));
            entry.finish();
        }
    }
    all
}

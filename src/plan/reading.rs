//! Walks a TOML text table by table, remembers which keys were asked for, and notes every problem on the way
//! instead of stopping at the first.

use std::cell::RefCell;
use std::sync::Arc;

use super::error::{Hint, PlanError};
use crate::provenance::Place;
use crate::text::{nearest, shorten};
use crate::toml_tree::{self, Tree, Value, join};

/// Longest text in letters: names, reasons and paths are shorter.
const LONGEST_TEXT: usize = 1_000;

/// A value as typed, with the place where it was typed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Written<T> {
    /// The value.
    pub value: T,
    /// Where it stands.
    pub place: Place,
}

/// What was found at a key that may be left out.
#[derive(Debug, Clone, PartialEq, Default)]
pub(super) enum Typed<T> {
    /// Nothing: the key is not there.
    #[default]
    Absent,
    /// Something of the wrong type, already noted as a problem.
    Refused,
    /// A value of the right type.
    Given(Written<T>),
}

impl<T> Typed<T> {
    /// The value, where there is one.
    pub(super) fn given(&self) -> Option<&Written<T>> {
        match self {
            Self::Given(written) => Some(written),
            Self::Absent | Self::Refused => None,
        }
    }

    /// The value itself, where there is one.
    pub(super) fn into_given(self) -> Option<T> {
        match self {
            Self::Given(written) => Some(written.value),
            Self::Absent | Self::Refused => None,
        }
    }

    /// The value itself, or nothing of it.
    pub(super) fn into_value(self) -> T
    where
        T: Default,
    {
        self.into_given().unwrap_or_default()
    }

    /// The same, with the value made into another.
    pub(super) fn map<U>(self, make: impl FnOnce(T) -> U) -> Typed<U> {
        match self {
            Self::Absent => Typed::Absent,
            Self::Refused => Typed::Refused,
            Self::Given(Written { value, place }) => Typed::Given(Written {
                value: make(value),
                place,
            }),
        }
    }

    /// Whether the key is there at all, right or wrong.
    pub(super) fn is_written(&self) -> bool {
        !matches!(self, Self::Absent)
    }
}

/// `"auto"` or a number, as typed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum AutoOr {
    /// The word.
    Auto,
    /// The number.
    Number(f64),
}

/// A plan: its name, and what is wrong with it so far.
pub(super) struct Document {
    /// The name that places carry.
    pub file: Arc<str>,
    /// Where a key that stands in the wrong table belongs.
    home_of: HomeOf,
    problems: RefCell<Vec<PlanError>>,
}

/// The table that a key belongs in, from the key and the table that it was found in.
pub(super) type HomeOf = fn(&str, &str) -> Option<&'static str>;

impl Document {
    pub(super) fn new(file: &str, home_of: HomeOf) -> Self {
        Self {
            file: file.into(),
            home_of,
            problems: RefCell::default(),
        }
    }

    /// The whole file.
    pub(super) fn place(&self) -> Place {
        Place::file(Arc::clone(&self.file))
    }

    pub(super) fn note(&self, problem: PlanError) {
        self.problems.borrow_mut().push(problem);
    }

    pub(super) fn into_problems(self) -> Vec<PlanError> {
        self.problems.into_inner()
    }
}

/// One table of the plan. Every key asked for is a key that the table has; [`TableReader::finish`] refuses the others.
pub(super) struct TableReader<'d> {
    document: &'d Document,
    table: &'d Tree,
    path: String,
    place: Place,
    known: Vec<&'static str>,
}

impl<'d> TableReader<'d> {
    pub(super) fn root(document: &'d Document, table: &'d Tree) -> Self {
        Self {
            document,
            table,
            path: String::new(),
            place: document.place(),
            known: Vec::new(),
        }
    }

    fn below(document: &'d Document, path: String, item: &'d toml_tree::Item) -> Option<Self> {
        Some(Self {
            document,
            table: item.value.table()?,
            path,
            place: item.place.clone(),
            known: Vec::new(),
        })
    }

    /// A table that was found as a value.
    pub(super) fn of_item(
        document: &'d Document,
        path: &str,
        item: &'d toml_tree::Item,
    ) -> Option<Self> {
        Self::below(document, path.to_owned(), item)
    }

    /// The value of a key, of whatever kind; nothing is noted.
    pub(super) fn value(&mut self, key: &'static str) -> Option<&'d toml_tree::Item> {
        self.known.push(key);
        self.table.get(key)
    }

    /// Where the table stands.
    pub(super) fn place(&self) -> Place {
        self.place.clone()
    }

    /// A text that is not blank.
    pub(super) fn text(&mut self, key: &'static str, example: &str) -> Typed<String> {
        let wanted = format!("{key} = {example}");
        let typed = self.read(key, &wanted, |value| {
            let text = value.text().map(str::trim);
            text.filter(|text| !text.is_empty()).map(str::to_owned)
        });
        match typed {
            Typed::Given(text) if text.value.chars().nth(LONGEST_TEXT).is_some() => {
                self.document.note(PlanError::TooLong {
                    place: text.place,
                    letters: text.value.chars().count(),
                    limit: LONGEST_TEXT,
                });
                Typed::Refused
            }
            other => other,
        }
    }

    /// A day, with or without a time of day.
    pub(super) fn date(&mut self, key: &'static str, wanted: &str) -> Typed<toml::value::Datetime> {
        self.read(key, wanted, |value| match value {
            Value::Date(date) if date.date.is_some() => Some(*date),
            _ => None,
        })
    }

    /// A number, whole or not.
    pub(super) fn number(&mut self, key: &'static str, wanted: &str) -> Typed<f64> {
        self.read(key, wanted, Value::number)
    }

    /// A whole number of at least zero.
    pub(super) fn whole(&mut self, key: &'static str, wanted: &str) -> Typed<u64> {
        self.read(key, wanted, Value::whole)
    }

    /// `true` or `false`.
    pub(super) fn flag(&mut self, key: &'static str) -> Typed<bool> {
        self.read(key, "true or false, without quotes", |value| match value {
            Value::Flag(flag) => Some(*flag),
            _ => None,
        })
    }

    /// `"auto"` or a number.
    pub(super) fn auto_or_number(&mut self, key: &'static str) -> Typed<AutoOr> {
        self.read(
            key,
            "\"auto\" or a number without quotes",
            |value| match value {
                Value::Text(text) if text.trim().eq_ignore_ascii_case("auto") => Some(AutoOr::Auto),
                other => other.number().map(AutoOr::Number),
            },
        )
    }

    /// A list of numbers.
    pub(super) fn numbers(&mut self, key: &'static str, wanted: &str) -> Typed<Vec<f64>> {
        self.read(key, wanted, |value| {
            let items = value.list()?.iter();
            items.map(|item| item.value.number()).collect()
        })
    }

    /// A list of lists of numbers.
    pub(super) fn lists_of_numbers(
        &mut self,
        key: &'static str,
        wanted: &str,
    ) -> Typed<Vec<Vec<f64>>> {
        self.read(key, wanted, |value| {
            let lists = value.list()?.iter();
            lists
                .map(|list| {
                    let items = list.value.list()?.iter();
                    items.map(|item| item.value.number()).collect()
                })
                .collect()
        })
    }

    /// A list of texts.
    pub(super) fn texts(&mut self, key: &'static str, wanted: &str) -> Typed<Vec<String>> {
        self.read(key, wanted, |value| {
            let items = value.list()?.iter();
            items
                .map(|item| item.value.text().map(|text| text.trim().to_owned()))
                .collect()
        })
    }

    /// A list whose items are read one by one.
    pub(super) fn items(&mut self, key: &'static str, wanted: &str) -> Typed<Vec<Item<'d>>> {
        let (document, path) = (self.document, self.path_of(key));
        self.read(key, wanted, |value| {
            let items = (1..).zip(value.list()?);
            let item = |(number, typed)| Item {
                document,
                path: format!("{path}[{number}]"),
                typed,
            };
            Some(items.map(item).collect())
        })
    }

    /// A table of its own.
    pub(super) fn table(&mut self, key: &'static str, wanted: &str) -> Typed<TableReader<'d>> {
        let (document, path) = (self.document, self.path_of(key));
        self.read_item(key, wanted, |item| TableReader::below(document, path, item))
    }

    /// A list of tables, `[[key]]`.
    pub(super) fn tables(&mut self, key: &'static str) -> Typed<Vec<TableReader<'d>>> {
        let (document, path) = (self.document, self.path_of(key));
        self.read(
            key,
            &format!("[[{key}]] in double brackets, one for each"),
            |value| {
                let items = (1..).zip(value.list()?);
                let table = |(number, item)| {
                    TableReader::below(document, format!("{path}[{number}]"), item)
                };
                items.map(table).collect()
            },
        )
    }

    /// Every entry of a table whose keys are the user's own, in the order in which they were typed.
    pub(super) fn entries(&self) -> Vec<(Written<String>, Item<'d>)> {
        let mut entries: Vec<_> = self.table.iter().collect();
        entries.sort_by_key(|(_, item)| item.order);
        let entry = |(name, item): (&String, &'d toml_tree::Item)| {
            let name = Written {
                value: name.clone(),
                place: item.place.clone(),
            };
            let path = self.path_of(&name.value);
            let document = self.document;
            (
                name,
                Item {
                    document,
                    path,
                    typed: item,
                },
            )
        };
        entries.into_iter().map(entry).collect()
    }

    /// Refuses every key that was not asked for.
    pub(super) fn finish(self) {
        let mut unknown: Vec<_> = self
            .table
            .iter()
            .filter(|(key, _)| !self.known.contains(&key.as_str()))
            .collect();
        unknown.sort_by_key(|(_, item)| item.order);
        for (name, item) in unknown {
            let place = item.place.clone();
            let hint = match nearest(name, self.known.iter().copied()) {
                Some(word) => Hint::DidYouMean(word.to_owned()),
                None => (self.document.home_of)(name, &self.path)
                    .map_or(Hint::None, |home| Hint::BelongsIn(home.to_owned())),
            };
            let table = match self.path.split_once('[') {
                None if self.path.is_empty() => "the top of the plan".to_owned(),
                None => format!("[{}]", self.path),
                Some((list, rest)) if rest.ends_with(']') => format!("[[{list}]]"),
                Some(_) => self.path.clone(),
            };
            self.document.note(PlanError::UnknownKey {
                place,
                key: shorten(name),
                table,
                hint,
                allowed: self.known.join(", "),
            });
        }
    }

    fn read<T>(
        &mut self,
        key: &'static str,
        wanted: &str,
        take: impl FnOnce(&'d Value) -> Option<T>,
    ) -> Typed<T> {
        self.read_item(key, wanted, |item| take(&item.value))
    }

    fn read_item<T>(
        &mut self,
        key: &'static str,
        wanted: &str,
        take: impl FnOnce(&'d toml_tree::Item) -> Option<T>,
    ) -> Typed<T> {
        self.known.push(key);
        let Some(item) = self.table.get(key) else {
            return Typed::Absent;
        };
        let place = item.place.clone();
        if let Some(value) = take(item) {
            return Typed::Given(Written { value, place });
        }
        self.document.note(PlanError::WrongType {
            place,
            found: item.value.described(),
            wanted: wanted.to_owned(),
        });
        Typed::Refused
    }

    fn path_of(&self, key: &str) -> String {
        join(&self.path, key)
    }
}

/// An item of a list, or an entry of a table whose keys are the user's own.
pub(super) struct Item<'d> {
    document: &'d Document,
    path: String,
    typed: &'d toml_tree::Item,
}

impl<'d> Item<'d> {
    /// The item as a text that is not blank, where it is one; nothing is noted where it is not.
    pub(super) fn as_text(&self) -> Option<Written<String>> {
        let text = self.typed.value.text().map(str::trim);
        let text = text.filter(|text| !text.is_empty())?;
        Some(Written {
            value: text.to_owned(),
            place: self.place(),
        })
    }

    /// The item as a table, where it is one; nothing is noted where it is not.
    pub(super) fn as_table(&self) -> Option<TableReader<'d>> {
        TableReader::below(self.document, self.path.clone(), self.typed)
    }

    /// Notes that the item is of the wrong type.
    pub(super) fn refuse(&self, wanted: &str) {
        self.document.note(PlanError::WrongType {
            place: self.place(),
            found: self.typed.value.described(),
            wanted: wanted.to_owned(),
        });
    }

    fn place(&self) -> Place {
        self.typed.place.clone()
    }
}

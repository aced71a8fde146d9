//! Walks a parsed TOML text table by table, remembers which keys were asked for, and notes every problem on the way
//! instead of stopping at the first.

use std::cell::RefCell;
use std::ops::Range;
use std::sync::Arc;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::error::{Hint, PlanError};
use crate::provenance::Place;
use crate::text::{nearest, shorten};

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

/// The text of a plan: where its lines begin, and what is wrong with it so far.
pub(super) struct Document {
    file: Arc<str>,
    line_starts: Vec<usize>,
    /// Where a key that stands in the wrong table belongs.
    home_of: HomeOf,
    problems: RefCell<Vec<PlanError>>,
}

/// The table that a key belongs in, from the key and the table that it was found in.
pub(super) type HomeOf = fn(&str, &str) -> Option<&'static str>;

impl Document {
    pub(super) fn new(file: &str, text: &str, home_of: HomeOf) -> Self {
        let starts = text
            .bytes()
            .enumerate()
            .filter(|(_, byte)| *byte == b'\n')
            .map(|(at, _)| at + 1);
        Self {
            file: file.into(),
            line_starts: std::iter::once(0).chain(starts).collect(),
            home_of,
            problems: RefCell::default(),
        }
    }

    /// The whole file.
    pub(super) fn place(&self) -> Place {
        Place::file(Arc::clone(&self.file))
    }

    /// The row that holds a byte of the text.
    pub(super) fn place_at(&self, byte: usize) -> Place {
        self.place()
            .at_row(self.line_starts.partition_point(|start| *start <= byte) as u32)
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
    table: &'d DeTable<'d>,
    path: String,
    span: Range<usize>,
    known: Vec<&'static str>,
}

impl<'d> TableReader<'d> {
    pub(super) fn root(document: &'d Document, table: &'d Spanned<DeTable<'d>>) -> Self {
        Self {
            document,
            table: table.get_ref(),
            path: String::new(),
            span: 0..0,
            known: Vec::new(),
        }
    }

    /// Where the table stands.
    pub(super) fn place(&self) -> Place {
        if self.path.is_empty() {
            self.document.place()
        } else {
            self.document
                .place_at(self.span.start)
                .at_key(self.path.as_str())
        }
    }

    /// A text that is not blank.
    pub(super) fn text(&mut self, key: &'static str, example: &str) -> Typed<String> {
        let wanted = format!("{key} = {example}");
        let typed = self.read(key, &wanted, |value| match value {
            DeValue::String(text) if !text.trim().is_empty() => Some(text.trim().to_owned()),
            _ => None,
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
            DeValue::Datetime(date) if date.date.is_some() => Some(*date),
            _ => None,
        })
    }

    /// A number, whole or not.
    pub(super) fn number(&mut self, key: &'static str, wanted: &str) -> Typed<f64> {
        self.read(key, wanted, as_number)
    }

    /// A whole number of at least zero.
    pub(super) fn whole(&mut self, key: &'static str, wanted: &str) -> Typed<u64> {
        self.read(key, wanted, |value| match value {
            DeValue::Integer(digits) => u64::from_str_radix(digits.as_str(), digits.radix()).ok(),
            _ => None,
        })
    }

    /// `true` or `false`.
    pub(super) fn flag(&mut self, key: &'static str) -> Typed<bool> {
        self.read(key, "true or false, without quotes", DeValue::as_bool)
    }

    /// `"auto"` or a number.
    pub(super) fn auto_or_number(&mut self, key: &'static str) -> Typed<AutoOr> {
        self.read(
            key,
            "\"auto\" or a number without quotes",
            |value| match value {
                DeValue::String(text) if text.trim().eq_ignore_ascii_case("auto") => {
                    Some(AutoOr::Auto)
                }
                other => as_number(other).map(AutoOr::Number),
            },
        )
    }

    /// A list of numbers.
    pub(super) fn numbers(&mut self, key: &'static str, wanted: &str) -> Typed<Vec<f64>> {
        self.read(key, wanted, |value| {
            value
                .as_array()?
                .iter()
                .map(|item| as_number(item.get_ref()))
                .collect()
        })
    }

    /// A list of texts.
    pub(super) fn texts(&mut self, key: &'static str, wanted: &str) -> Typed<Vec<String>> {
        self.read(key, wanted, |value| {
            value
                .as_array()?
                .iter()
                .map(|item| item.get_ref().as_str().map(|text| text.trim().to_owned()))
                .collect()
        })
    }

    /// A list whose items are read one by one.
    pub(super) fn items(&mut self, key: &'static str, wanted: &str) -> Typed<Vec<Item<'d>>> {
        let (document, path) = (self.document, self.path_of(key));
        self.read(key, wanted, |value| {
            let items = value.as_array()?.iter().enumerate();
            Some(
                items
                    .map(|(at, value)| Item {
                        document,
                        path: format!("{path}[{}]", at + 1),
                        value,
                    })
                    .collect(),
            )
        })
    }

    /// A table of its own.
    pub(super) fn table(&mut self, key: &'static str, wanted: &str) -> Typed<TableReader<'d>> {
        let (document, path) = (self.document, self.path_of(key));
        self.read_spanned(key, wanted, |value| {
            let table = value.get_ref().as_table()?;
            Some(TableReader {
                document,
                table,
                path,
                span: value.span(),
                known: Vec::new(),
            })
        })
    }

    /// A list of tables, `[[key]]`.
    pub(super) fn tables(&mut self, key: &'static str) -> Typed<Vec<TableReader<'d>>> {
        let (document, path) = (self.document, self.path_of(key));
        self.read(
            key,
            &format!("[[{key}]] in double brackets, one for each"),
            |value| {
                let tables = value.as_array()?.iter().enumerate().map(|(at, value)| {
                    let path = format!("{path}[{}]", at + 1);
                    let table = value.get_ref().as_table()?;
                    Some(TableReader {
                        document,
                        table,
                        path,
                        span: value.span(),
                        known: Vec::new(),
                    })
                });
                tables.collect()
            },
        )
    }

    /// Every entry of a table whose keys are the user's own, in the order in which they were typed.
    pub(super) fn entries(&self) -> Vec<(Written<String>, Item<'d>)> {
        let mut entries: Vec<_> = self.table.iter().collect();
        entries.sort_by_key(|(key, _)| key.span().start);
        let entry = |(key, value): (&'d Spanned<_>, &'d Spanned<DeValue<'d>>)| {
            let name: &std::borrow::Cow<'d, str> = key.get_ref();
            let path = self.path_of(name);
            let place = self
                .document
                .place_at(key.span().start)
                .at_key(path.as_str());
            (
                Written {
                    value: name.to_string(),
                    place,
                },
                Item {
                    document: self.document,
                    path,
                    value,
                },
            )
        };
        entries.into_iter().map(entry).collect()
    }

    /// Refuses every key that was not asked for.
    pub(super) fn finish(self) {
        let mut keys: Vec<_> = self
            .table
            .keys()
            .filter(|key| !self.known.contains(&key.get_ref().as_ref()))
            .collect();
        keys.sort_by_key(|key| key.span().start);
        for key in keys {
            let name: &str = key.get_ref();
            let place = self
                .document
                .place_at(key.span().start)
                .at_key(self.path_of(name));
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
        take: impl FnOnce(&'d DeValue<'d>) -> Option<T>,
    ) -> Typed<T> {
        self.read_spanned(key, wanted, |value| take(value.get_ref()))
    }

    fn read_spanned<T>(
        &mut self,
        key: &'static str,
        wanted: &str,
        take: impl FnOnce(&'d Spanned<DeValue<'d>>) -> Option<T>,
    ) -> Typed<T> {
        self.known.push(key);
        let Some(value) = self.table.get(key) else {
            return Typed::Absent;
        };
        let place = self
            .document
            .place_at(value.span().start)
            .at_key(self.path_of(key));
        if let Some(value) = take(value) {
            return Typed::Given(Written { value, place });
        }
        self.document.note(PlanError::WrongType {
            place,
            found: describe(value.get_ref()),
            wanted: wanted.to_owned(),
        });
        Typed::Refused
    }

    fn path_of(&self, key: &str) -> String {
        let is_bare = !key.is_empty()
            && key
                .bytes()
                .all(|b| b.is_ascii_alphanumeric() || b == b'_' || b == b'-');
        let key = if is_bare {
            shorten(key)
        } else {
            format!("\"{}\"", shorten(key))
        };
        if self.path.is_empty() {
            key
        } else {
            format!("{}.{key}", self.path)
        }
    }
}

/// An item of a list, or an entry of a table whose keys are the user's own.
pub(super) struct Item<'d> {
    document: &'d Document,
    path: String,
    value: &'d Spanned<DeValue<'d>>,
}

impl<'d> Item<'d> {
    /// The item as a text that is not blank, where it is one; nothing is noted where it is not.
    pub(super) fn as_text(&self) -> Option<Written<String>> {
        let text = self
            .value
            .get_ref()
            .as_str()
            .map(str::trim)
            .filter(|text| !text.is_empty())?;
        Some(Written {
            value: text.to_owned(),
            place: self.place(),
        })
    }

    /// The item as a table, where it is one; nothing is noted where it is not.
    pub(super) fn as_table(&self) -> Option<TableReader<'d>> {
        let table = self.value.get_ref().as_table()?;
        Some(TableReader {
            document: self.document,
            table,
            path: self.path.clone(),
            span: self.value.span(),
            known: Vec::new(),
        })
    }

    /// Notes that the item is of the wrong type.
    pub(super) fn refuse(&self, wanted: &str) {
        let found = describe(self.value.get_ref());
        self.document.note(PlanError::WrongType {
            place: self.place(),
            found,
            wanted: wanted.to_owned(),
        });
    }

    fn place(&self) -> Place {
        self.document
            .place_at(self.value.span().start)
            .at_key(self.path.as_str())
    }
}

fn as_number(value: &DeValue<'_>) -> Option<f64> {
    match value {
        DeValue::Integer(digits) => i64::from_str_radix(digits.as_str(), digits.radix())
            .ok()
            .map(|number| number as f64),
        DeValue::Float(digits) => digits
            .as_str()
            .parse()
            .ok()
            .filter(|number: &f64| number.is_finite()),
        _ => None,
    }
}

/// What a value is, for a message: `the text "yes"`, `the number 5`.
fn describe(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) if text.trim().is_empty() => "an empty text".to_owned(),
        DeValue::String(text) => format!("the text \"{}\"", shorten(text)),
        DeValue::Integer(number) => format!("the number {}", shorten(number.as_str())),
        DeValue::Float(number) => format!("the number {}", shorten(number.as_str())),
        DeValue::Boolean(flag) => flag.to_string(),
        DeValue::Datetime(date) => format!("the date {date}"),
        DeValue::Array(_) => "a list".to_owned(),
        DeValue::Table(_) => "a table".to_owned(),
    }
}

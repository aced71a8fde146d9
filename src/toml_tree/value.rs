use std::collections::BTreeMap;

use toml::value::Datetime;

use crate::provenance::Place;
use crate::text::shorten;

/// A table: its values by key.
pub type Tree = BTreeMap<String, Item>;

/// One value with its place.
#[derive(Debug, Clone)]
pub struct Item {
    /// The value.
    pub value: Value,
    /// File, row and dotted key.
    pub place: Place,
    /// Grows with the place in the text: the order in which it was typed.
    pub order: usize,
}

/// A value of one of TOML's kinds.
#[derive(Debug, Clone)]
pub enum Value {
    /// A table.
    Table(Tree),
    /// A list.
    List(Vec<Item>),
    /// A text.
    Text(String),
    /// A number, whole or not.
    Number(Number),
    /// `true` or `false`.
    Flag(bool),
    /// A date, a time of day, or both.
    Date(Datetime),
}

/// A number as it was typed.
#[derive(Debug, Clone)]
pub struct Number {
    typed: String,
    /// The number; `None` where it is too large to hold or not finite.
    value: Option<f64>,
    /// The whole number, where it is one of at least zero.
    whole: Option<u64>,
}

impl Number {
    /// A whole number in digits of a base.
    #[must_use]
    pub fn from_digits(digits: &str, base: u32) -> Self {
        Self {
            typed: digits.to_owned(),
            value: i64::from_str_radix(digits, base)
                .ok()
                .map(|number| number as f64),
            whole: u64::from_str_radix(digits, base).ok(),
        }
    }

    /// A number with a decimal point or an exponent, or one of the words for infinite and for no number.
    #[must_use]
    pub fn from_decimal(typed: &str) -> Self {
        Self {
            typed: typed.to_owned(),
            value: typed.parse().ok().filter(|number: &f64| number.is_finite()),
            whole: None,
        }
    }
}

impl Value {
    /// The number, where it is one that can be held.
    #[must_use]
    pub fn number(&self) -> Option<f64> {
        match self {
            Self::Number(number) => number.value,
            _ => None,
        }
    }

    /// The whole number of at least zero, where it is one.
    #[must_use]
    pub fn whole(&self) -> Option<u64> {
        match self {
            Self::Number(number) => number.whole,
            _ => None,
        }
    }

    /// The text, where it is one.
    #[must_use]
    pub fn text(&self) -> Option<&str> {
        match self {
            Self::Text(text) => Some(text),
            _ => None,
        }
    }

    /// The list, where it is one.
    #[must_use]
    pub fn list(&self) -> Option<&[Item]> {
        match self {
            Self::List(items) => Some(items),
            _ => None,
        }
    }

    /// The table, where it is one.
    #[must_use]
    pub fn table(&self) -> Option<&Tree> {
        match self {
            Self::Table(tree) => Some(tree),
            _ => None,
        }
    }

    /// The kind in words: `a text`.
    #[must_use]
    pub fn kind(&self) -> &'static str {
        match self {
            Self::Table(_) => "a table",
            Self::List(_) => "a list",
            Self::Text(_) => "a text",
            Self::Number(Number { value: Some(_), .. }) => "a number",
            Self::Number(_) => "a number too large to hold",
            Self::Flag(_) => "true or false",
            Self::Date(_) => "a date",
        }
    }

    /// What a value is, for a message: `the text "yes"`, `the number 5`.
    #[must_use]
    pub fn described(&self) -> String {
        match self {
            Self::Text(text) if text.trim().is_empty() => "an empty text".to_owned(),
            Self::Text(text) => format!("the text \"{}\"", shorten(text)),
            Self::Number(number) => format!("the number {}", shorten(&number.typed)),
            Self::Flag(flag) => flag.to_string(),
            Self::Date(date) => format!("the date {date}"),
            other => other.kind().to_owned(),
        }
    }

    /// The value as one would write it.
    #[must_use]
    pub fn show(&self) -> String {
        match self {
            Self::Table(tree) => {
                let parts: Vec<String> = tree
                    .iter()
                    .map(|(key, item)| format!("{key} = {}", item.value.show()))
                    .collect();
                format!("{{ {} }}", parts.join(", "))
            }
            Self::List(items) => {
                let parts: Vec<String> = items.iter().map(|item| item.value.show()).collect();
                format!("[{}]", parts.join(", "))
            }
            Self::Text(text) => format!("\"{text}\""),
            Self::Number(Number {
                value: Some(number),
                ..
            }) => crate::units::decimal(*number, 9),
            Self::Flag(flag) => flag.to_string(),
            Self::Date(date) => date.to_string(),
            Self::Number(_) => self.kind().to_owned(),
        }
    }
}

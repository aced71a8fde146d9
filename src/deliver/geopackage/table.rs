//! A table of features, before it is SQL.

use std::borrow::Cow;

use super::style::Style;
use crate::deliver::degrees::{Part, Spot, bounds};

/// One feature table.
pub struct Table<'a> {
    /// Name, `[a-z_]`.
    pub name: &'static str,
    /// What it holds, in words.
    pub description: String,
    /// What kind of shape its features have.
    pub kind: Kind,
    /// The columns after key and shape.
    pub columns: Vec<Column>,
    /// The features.
    pub features: Features<'a>,
    /// How it is shown.
    pub style: Style,
}

/// Kind of the shapes of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// One place.
    Point,
    /// An area of any number of parts.
    MultiPolygon,
}

impl Kind {
    /// Its name in the standard.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::Point => "POINT",
            Self::MultiPolygon => "MULTIPOLYGON",
        }
    }
}

/// A column of a table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Column {
    /// Name, `[a-z0-9_]`, not a second time in its table.
    pub name: String,
    /// Type, one of those that the standard allows.
    pub kind: &'static str,
    /// What it holds, with its unit; empty where the name says it.
    pub title: String,
}

impl Column {
    /// A column whose name says what it holds.
    #[must_use]
    pub fn new(name: impl Into<String>, kind: &'static str) -> Self {
        Self {
            name: name.into(),
            kind,
            title: String::new(),
        }
    }

    /// The same with words.
    #[must_use]
    pub fn titled(self, title: impl Into<String>) -> Self {
        Self {
            title: title.into(),
            ..self
        }
    }
}

/// The features of a table. A million of them at once would take more memory than the file.
pub enum Features<'a> {
    /// All of them.
    Listed(Vec<Feature>),
    /// So many, each made when it is written.
    Made(usize, &'a dyn Fn(usize) -> Feature),
}

impl Features<'_> {
    /// Whether there is none.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        match self {
            Self::Listed(features) => features.is_empty(),
            Self::Made(count, _) => *count == 0,
        }
    }

    /// One after the other.
    pub fn iter(&self) -> Box<dyn Iterator<Item = Cow<'_, Feature>> + '_> {
        match self {
            Self::Listed(features) => Box::new(features.iter().map(Cow::Borrowed)),
            Self::Made(count, make) => Box::new((0..*count).map(|at| Cow::Owned(make(at)))),
        }
    }
}

/// A row of a table.
#[derive(Debug, Clone)]
pub struct Feature {
    /// Where it is.
    pub shape: Shape,
    /// One cell per column.
    pub cells: Vec<Cell>,
}

/// The shape of a feature.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Shape {
    /// One place.
    Point(Spot),
    /// An area.
    Areas(Vec<Part>),
}

impl Shape {
    /// West and south end, east and north end.
    #[must_use]
    pub fn bounds(&self) -> Option<(Spot, Spot)> {
        match self {
            Self::Point(spot) => Some((*spot, *spot)),
            Self::Areas(parts) => bounds(parts.iter().flat_map(|part| &part.outer)),
        }
    }
}

/// A cell of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// A whole number, or yes (1) and no (0).
    Whole(i64),
    /// A number.
    Number(f64),
    /// A text.
    Text(Cow<'static, str>),
}

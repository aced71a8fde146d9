//! Where a value came from: file, row, column, key. It travels with the value to the report.

use std::fmt;
use std::sync::Arc;

use serde::Serialize;

/// A place in an input file, as precise as the format allows. Rows count from 1 and include the header row,
/// so that the number is the one a spreadsheet or an editor shows.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
pub struct Place {
    /// The file as the user named it.
    pub file: Arc<str>,
    /// Row or line, from 1.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub row: Option<u32>,
    /// Column name in a table.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub column: Option<Arc<str>>,
    /// Key in a plan or rulebook, dotted: `grid.cell`, `points[1].columns."pH"`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub key: Option<Arc<str>>,
}

impl Place {
    /// A whole file.
    #[must_use]
    pub fn file(file: impl Into<Arc<str>>) -> Self {
        Self {
            file: file.into(),
            row: None,
            column: None,
            key: None,
        }
    }

    /// The same place, at a row.
    #[must_use]
    pub fn at_row(mut self, row: u32) -> Self {
        self.row = Some(row);
        self
    }

    /// The same place, in a column.
    #[must_use]
    pub fn in_column(mut self, column: impl Into<Arc<str>>) -> Self {
        self.column = Some(column.into());
        self
    }

    /// The same place, at a key.
    #[must_use]
    pub fn at_key(mut self, key: impl Into<Arc<str>>) -> Self {
        self.key = Some(key.into());
        self
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.file)?;
        if let Some(row) = self.row {
            write!(f, ", row {row}")?;
        }
        if let Some(column) = &self.column {
            write!(f, ", column \"{column}\"")?;
        }
        if let Some(key) = &self.key {
            write!(f, ", key {key}")?;
        }
        Ok(())
    }
}

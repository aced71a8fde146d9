//! Temperature tables of the refractometer.

use crate::rulebook::Basis;
use crate::rulebook::reader::Entry;

/// What is added to a reading, by temperature and reading.
#[derive(Debug, Clone)]
pub struct BrixTable {
    /// Name in the rulebook.
    pub name: String,
    /// Readings, percent, rising.
    pub at: Vec<f64>,
    /// Temperatures, degrees Celsius, rising.
    pub degrees: Vec<f64>,
    /// What is added, percent, one row a temperature.
    pub correction: Vec<Vec<f64>>,
    /// What it rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl BrixTable {
    pub(in crate::rulebook) fn read(entry: &mut Entry<'_>) -> Self {
        let table = Self {
            name: entry.name.to_owned(),
            at: entry.numbers("at"),
            degrees: entry.numbers("degrees"),
            correction: entry.rows("correction"),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        };
        let is_rising = |numbers: &[f64]| {
            !numbers.is_empty() && numbers.windows(2).all(|pair| pair[0] < pair[1])
        };
        let is_whole = table.correction.len() == table.degrees.len()
            && table
                .correction
                .iter()
                .all(|row| row.len() == table.at.len());
        if !(is_rising(&table.at) && is_rising(&table.degrees) && is_whole) {
            entry.contradiction(
                "correction",
                "write rising readings and degrees, and one row of corrections for each of the degrees",
            );
        }
        table
    }

    /// The temperatures that it holds for, degrees Celsius.
    #[must_use]
    pub fn range(&self) -> (f64, f64) {
        let end = |degrees: Option<&f64>| degrees.copied().unwrap_or(f64::NAN);
        (end(self.degrees.first()), end(self.degrees.last()))
    }
}

use super::reader::Entry;
use crate::provenance::Place;

/// A value that a user knows of a rate table: what it gives at a test.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkedValue {
    /// Name in the rulebook.
    pub name: String,
    /// The row of the section `rate` that it is of.
    pub rate: String,
    /// The soil test, in the unit of the laboratory.
    pub test: f64,
    /// The crop whose removal counts; the row's first where absent.
    pub crop: Option<String>,
    /// The yield, in the crop's unit per acre.
    pub yield_goal: Option<f64>,
    /// Cation exchange capacity, meq/100 g.
    pub cec: Option<f64>,
    /// Organic matter, percent.
    pub organic_matter: Option<f64>,
    /// What the table gives, in the row's unit.
    pub gives: f64,
    /// How far off it may be: half of the last digit printed.
    pub within: f64,
    /// Where it stands.
    pub place: Place,
}

impl WorkedValue {
    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        Self {
            name: entry.name.to_owned(),
            place: entry.place_of("gives"),
            rate: entry.text("rate", "name the row of the section rate"),
            test: entry.number("test", "write the soil test"),
            crop: entry.maybe_text("crop"),
            yield_goal: entry.maybe_number("yield"),
            cec: entry.maybe_number("cec"),
            organic_matter: entry.maybe_number("organic_matter"),
            gives: entry.number("gives", "write what the table gives, in the row's unit"),
            within: entry.number_in("within", 0.0..=1_000.0, "0 to 1000", 0.5),
        }
    }
}

use super::SoilError;
use super::error::within;

/// Unit that a sufficiency table is printed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TableUnit {
    /// mg/kg.
    PartsPerMillion,
    /// lb/ac on 2,000,000 lb of soil: twice the ppm.
    PoundsPerAcre,
    /// An index computed from the result, see [`manganese_availability_index`]; a result in ppm is refused.
    Index,
}

/// Class of a soil test: how likely a crop answers to the nutrient, not an amount.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sufficiency {
    /// Very low.
    VeryLow,
    /// Low.
    Low,
    /// Medium, marginal.
    Medium,
    /// High, optimum, adequate.
    High,
    /// Very high, excessive.
    VeryHigh,
}

impl Sufficiency {
    /// The word.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::VeryLow => "very low",
            Self::Low => "low",
            Self::Medium => "medium",
            Self::High => "high",
            Self::VeryHigh => "very high",
        }
    }
}

/// Where the next class begins.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Edge {
    /// At this value.
    From(f64),
    /// Just above it.
    Above(f64),
}

impl Edge {
    fn is_reached_by(self, value: f64) -> bool {
        match self {
            Self::From(edge) => value >= edge,
            Self::Above(edge) => value > edge,
        }
    }
}

/// A published table of classes, valid in its own state, for its own extractant and unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SufficiencyTable {
    /// Name in kebab case, for rulebooks.
    pub name: &'static str,
    /// Analyte as the plan file names it.
    pub analyte: &'static str,
    /// Test method in kebab case.
    pub method: &'static str,
    /// Unit of the edges.
    pub unit: TableUnit,
    /// The publication; says where the numbers were recalled.
    pub source: &'static str,
    first: Sufficiency,
    classes: &'static [(Edge, Sufficiency)],
}

impl SufficiencyTable {
    /// The table of a name.
    ///
    /// # Errors
    /// [`SoilError::UnknownName`] with the names known.
    pub fn named(name: &str) -> Result<&'static Self, SoilError> {
        SUFFICIENCY_TABLES
            .iter()
            .find(|table| table.name == name)
            .ok_or_else(|| SoilError::UnknownName {
                what: "sufficiency table",
                found: name.to_owned(),
                allowed: SUFFICIENCY_TABLES
                    .iter()
                    .map(|table| table.name)
                    .collect::<Vec<_>>()
                    .join(", "),
            })
    }

    /// Class of a result in the table's own unit. Classes are half open: a result between two printed integers belongs to the lower
    /// class, and nothing is rounded before it is classed.
    ///
    /// # Range
    /// 0 to 100,000.
    ///
    /// # Errors
    /// [`SoilError`] outside the range.
    pub fn class_in_table_unit(&self, value: f64) -> Result<Sufficiency, SoilError> {
        let value = within(
            value,
            "the soil test",
            "",
            0.0..=100_000.0,
            "a sufficiency table",
        )?;
        let reached = self
            .classes
            .iter()
            .rev()
            .find(|(edge, _)| edge.is_reached_by(value));
        Ok(reached.map_or(self.first, |(_, class)| *class))
    }

    /// Class of a result in ppm by a test method.
    ///
    /// # Errors
    /// [`SoilError::NotComparable`] where the method is not the table's; [`SoilError`] outside the range.
    ///
    /// # Example
    /// ```
    /// use lowstave::soil::{Sufficiency, SufficiencyTable};
    /// let table = SufficiencyTable::named("new-jersey-p").unwrap();
    /// assert_eq!(table.class_of_ppm(20.0, "mehlich-3"), Ok(Sufficiency::Low));
    /// assert!(table.class_of_ppm(20.0, "olsen").is_err());
    /// ```
    pub fn class_of_ppm(&self, ppm: f64, method: &str) -> Result<Sufficiency, SoilError> {
        if method != self.method {
            return Err(SoilError::NotComparable {
                what: "the soil test",
                found: method.to_owned(),
                wanted: self.method.to_owned(),
                help: "use a table for this method; results of two extractants are not converted",
            });
        }
        let factor = match self.unit {
            TableUnit::PartsPerMillion => 1.0,
            TableUnit::PoundsPerAcre => 2.0,
            TableUnit::Index => {
                return Err(SoilError::NotComparable {
                    what: "the soil test",
                    found: "its ppm".to_owned(),
                    wanted: "an availability index".to_owned(),
                    help: "compute the index from the result and pH first",
                });
            }
        };
        self.class_in_table_unit(ppm * factor)
    }
}

const RUTGERS: &str =
    "Rutgers NJAES Soil Testing Laboratory, Relative levels of nutrients (lb/ac; high is optimum)";
const RUTGERS_TRACE: &str =
    "Rutgers NJAES Soil Testing Laboratory, Relative levels of nutrients (ppm; critical and high)";
const KANSAS: &str = "Kansas State University, Starter fertilizer for corn (that the test is Mehlich-3: from memory)";
const MINNESOTA: &str =
    "University of Minnesota Extension, corn and soybean fertilizer guides (from memory)";
const IOWA: &str = "Iowa State University Extension, PM 1688 (2013), from memory; the boundaries were changed in 2023";

use Sufficiency::{High, Low, Medium, VeryHigh, VeryLow};
use TableUnit::{Index, PartsPerMillion, PoundsPerAcre};

/// Five classes from the printed starts of the upper four.
const fn five(starts: [Edge; 4]) -> [(Edge, Sufficiency); 4] {
    [
        (starts[0], Low),
        (starts[1], Medium),
        (starts[2], High),
        (starts[3], VeryHigh),
    ]
}

const fn from_each([low, medium, high, very_high]: [f64; 4]) -> [(Edge, Sufficiency); 4] {
    five([
        Edge::From(low),
        Edge::From(medium),
        Edge::From(high),
        Edge::From(very_high),
    ])
}

const fn above_last([low, medium, high, very_high]: [f64; 4]) -> [(Edge, Sufficiency); 4] {
    five([
        Edge::From(low),
        Edge::From(medium),
        Edge::From(high),
        Edge::Above(very_high),
    ])
}

macro_rules! table {
    ($name:literal, $analyte:literal, $method:literal, $unit:expr, $first:expr, $classes:expr, $source:expr) => {
        SufficiencyTable {
            name: $name,
            analyte: $analyte,
            method: $method,
            unit: $unit,
            source: $source,
            first: $first,
            classes: const { &$classes },
        }
    };
}

/// The published tables of classes.
#[rustfmt::skip]
pub const SUFFICIENCY_TABLES: &[SufficiencyTable] = &[
    table!("new-jersey-p", "p", "mehlich-3", PoundsPerAcre, VeryLow, above_last([25.0, 46.0, 72.0, 137.0]), RUTGERS),
    table!("new-jersey-k", "k", "mehlich-3", PoundsPerAcre, VeryLow, above_last([41.0, 82.0, 146.0, 277.0]), RUTGERS),
    table!("new-jersey-mg", "mg", "mehlich-3", PoundsPerAcre, VeryLow, above_last([46.0, 84.0, 144.0, 295.0]), RUTGERS),
    table!("new-jersey-ca", "ca", "mehlich-3", PoundsPerAcre, VeryLow, above_last([616.0, 1008.0, 1401.0, 1790.0]), RUTGERS),
    table!("new-jersey-zn", "zn", "mehlich-3", PartsPerMillion, Low, [(Edge::From(1.0), High), (Edge::Above(50.0), VeryHigh)], RUTGERS_TRACE),
    table!("new-jersey-cu", "cu", "mehlich-3", PartsPerMillion, Low, [(Edge::From(0.5), High), (Edge::Above(20.0), VeryHigh)], RUTGERS_TRACE),
    table!("new-jersey-b", "b", "mehlich-3", PartsPerMillion, Low, [(Edge::From(0.5), High), (Edge::Above(20.0), VeryHigh)], RUTGERS_TRACE),
    table!("new-jersey-fe", "fe", "mehlich-3", PartsPerMillion, Low, [(Edge::From(50.0), High), (Edge::Above(100.0), VeryHigh)], RUTGERS_TRACE),
    table!("new-jersey-mnai", "mn", "mehlich-3", Index, Low, [(Edge::From(25.0), High), (Edge::Above(100.0), VeryHigh)], RUTGERS_TRACE),
    table!("kansas-p", "p", "mehlich-3", PartsPerMillion, Low, [(Edge::From(20.0), Medium), (Edge::Above(30.0), High)], KANSAS),
    table!("minnesota-p-bray", "p", "bray-1", PartsPerMillion, VeryLow, from_each([6.0, 11.0, 16.0, 21.0]), MINNESOTA),
    table!("minnesota-p-olsen", "p", "olsen", PartsPerMillion, VeryLow, from_each([4.0, 8.0, 12.0, 16.0]), MINNESOTA),
    table!("minnesota-k", "k", "ammonium-acetate", PartsPerMillion, VeryLow, from_each([41.0, 81.0, 121.0, 161.0]), MINNESOTA),
    table!("iowa-2013-p-bray", "p", "bray-1", PartsPerMillion, VeryLow, from_each([11.0, 16.0, 21.0, 31.0]), IOWA),
    table!("iowa-2013-p-olsen", "p", "olsen", PartsPerMillion, VeryLow, from_each([7.0, 11.0, 15.0, 21.0]), IOWA),
    table!("iowa-2013-k", "k", "ammonium-acetate", PartsPerMillion, VeryLow, from_each([121.0, 161.0, 201.0, 241.0]), IOWA),
    table!("iowa-zn", "zn", "dtpa", PartsPerMillion, Low, [(Edge::From(0.5), Medium), (Edge::From(0.9), High)], IOWA),
];

/// Manganese availability index, `101.7 + 3.75 Mn - 15.2 pH`; short below 25, high above 100.
///
/// # Units
/// Manganese by Mehlich-3 in ppm; pH in water.
///
/// # Range
/// Manganese 0 to 500 ppm; pH 3.5 to 9. 0 where the formula is negative.
///
/// # Errors
/// [`SoilError`] outside the range.
///
/// # Source
/// Rutgers NJAES Soil Testing Laboratory, "Relative levels of nutrients".
pub fn manganese_availability_index(manganese_ppm: f64, water_ph: f64) -> Result<f64, SoilError> {
    let rule = "the manganese availability index";
    let manganese = within(manganese_ppm, "manganese", "ppm", 0.0..=500.0, rule)?;
    let ph = within(water_ph, "pH in water", "", 3.5..=9.0, rule)?;
    Ok((101.7 + 3.75 * manganese - 15.2 * ph).max(0.0))
}

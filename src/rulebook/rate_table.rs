use super::nutrient::Nutrient;
use super::reader::Entry;
use super::{Basis, Condition};
use crate::analyte::Method;
use crate::units::{MassPerArea, Quantity};

/// The terms of an equation: a constant, and so much for each unit of yield, test, test times yield, test squared, organic matter.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct EquationTerms {
    /// Rate at a test and a yield of zero.
    pub constant: f64,
    /// For each unit of yield.
    pub per_yield: f64,
    /// For each unit of the soil test.
    pub per_test: f64,
    /// For each unit of test times yield.
    pub per_test_and_yield: f64,
    /// For each unit of the test squared.
    pub per_test_squared: f64,
    /// For each percent of organic matter.
    pub per_organic_matter: f64,
}

/// How a table turns a soil test into a rate.
#[derive(Debug, Clone, PartialEq)]
pub enum RateForm {
    /// Build-up below a critical level, removal up to a limit.
    Build {
        /// Below it the test is built up.
        critical: f64,
        /// Up to it removal is replaced.
        maintain_to: f64,
        /// For each ppm short, a year.
        per_ppm: f64,
        /// More for each ppm short and each meq/100 g of CEC.
        per_ppm_and_cec: f64,
        /// What the table adds to removal.
        plus: f64,
        /// Years that the build-up takes.
        years: f64,
    },
    /// An equation of test and yield.
    Equation(EquationTerms),
    /// Steps: from a test on, so much.
    Steps(Vec<(f64, f64)>),
    /// What the crop takes.
    Removal,
}

impl RateForm {
    /// The numbers in words, as a reader of the rulebook would write them.
    pub(super) fn words(&self) -> String {
        use crate::units::decimal;
        match self {
            Self::Removal => "what the crop takes".to_owned(),
            Self::Steps(steps) => {
                let steps = steps.iter().map(|(from, rate)| {
                    format!("{} from {}", decimal(*rate, 2), decimal(*from, 2))
                });
                steps.collect::<Vec<_>>().join(", ")
            }
            Self::Build {
                critical,
                maintain_to,
                per_ppm,
                per_ppm_and_cec,
                plus,
                years,
            } => format!(
                "({} - test) x ({} + {} CEC) a year over {} years, removal + {} to {}",
                decimal(*critical, 2),
                decimal(*per_ppm, 3),
                decimal(*per_ppm_and_cec, 3),
                decimal(*years, 1),
                decimal(*plus, 2),
                decimal(*maintain_to, 2)
            ),
            Self::Equation(e) => format!(
                "{} + {} yield + {} test + {} test x yield + {} test x test + {} organic matter",
                decimal(e.constant, 4),
                decimal(e.per_yield, 4),
                decimal(e.per_test, 4),
                decimal(e.per_test_and_yield, 4),
                decimal(e.per_test_squared, 4),
                decimal(e.per_organic_matter, 4)
            ),
        }
    }
}

/// One row of a rate table: a nutrient for some crops by a soil test.
#[derive(Debug, Clone)]
pub struct RateTable {
    /// Name in the rulebook.
    pub name: String,
    /// The nutrient.
    pub nutrient: Nutrient,
    /// Crops that it is for; all where empty.
    pub crops: Vec<String>,
    /// Methods of the test; any where empty.
    pub methods: Vec<Method>,
    /// How the test becomes a rate.
    pub form: RateForm,
    /// What a unit of the table's rate is, kg/ha.
    pub unit: f64,
    /// A test from which nothing is given, whatever the form says.
    pub none_from: Option<f64>,
    /// Least where anything is given, in the table's unit.
    pub floor: f64,
    /// Most of one season, in the table's unit.
    pub most: Option<f64>,
    /// What the test is divided by before the table is entered: an index.
    pub test_divided_by: f64,
    /// Where it holds; all must be true.
    pub only_where: Vec<Condition>,
    /// One line where research disputes it.
    pub disputed: Option<String>,
    /// Whether it comes with the program for no region in particular.
    pub is_national: bool,
    /// What it rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl RateTable {
    /// Whether the row is for a nutrient of a crop, by a test method.
    #[must_use]
    pub fn is_for(&self, nutrient: Nutrient, crop: &str, method: Option<&Method>) -> bool {
        self.nutrient == nutrient
            && (self.crops.is_empty() || self.crops.iter().any(|known| known == crop))
            && (self.methods.is_empty() || method.is_some_and(|m| self.methods.contains(m)))
    }

    /// Whether the source was recalled and not read.
    #[must_use]
    pub fn is_from_memory(&self) -> bool {
        self.source.contains("from memory")
    }

    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        let unit = entry
            .maybe_text("unit")
            .unwrap_or_else(|| "lb/ac".to_owned());
        let mut units = MassPerArea::UNITS.iter();
        let factor = units
            .find(|(name, _)| *name == unit)
            .map(|(_, factor)| *factor);
        if factor.is_none() {
            entry.contradiction("unit", "write lb/ac or kg/ha");
        }
        Self {
            name: entry.name.to_owned(),
            nutrient: entry.word("nutrient", &Nutrient::words(), None),
            crops: entry.texts("crops"),
            methods: entry.methods("methods"),
            form: read_form(entry),
            unit: factor.unwrap_or(1.0),
            none_from: entry.maybe_number("none_from"),
            floor: entry.number_in("floor", 0.0..=10_000.0, "0 to 10000", 0.0),
            most: entry.maybe_number("most"),
            test_divided_by: entry.number_in(
                "test_divided_by",
                0.001..=1_000.0,
                "0.001 to 1000",
                1.0,
            ),
            only_where: entry.tables("only_where", Condition::read),
            disputed: entry.maybe_text("disputed"),
            is_national: &*entry.place().file == super::NUTRIENTS_NAME,
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}

#[derive(Clone, Copy)]
enum FormWord {
    Build,
    Equation,
    Steps,
    Removal,
}

fn read_form(entry: &mut Entry<'_>) -> RateForm {
    let words = [
        ("build", FormWord::Build),
        ("equation", FormWord::Equation),
        ("steps", FormWord::Steps),
        ("removal", FormWord::Removal),
    ];
    match entry.word("form", &words, None) {
        FormWord::Removal => RateForm::Removal,
        FormWord::Steps => {
            let steps = entry.pairs("steps");
            let rises = steps.windows(2).all(|pair| pair[0].0 < pair[1].0);
            if steps.is_empty() || !rises {
                entry.contradiction("steps", "write pairs of a test and a rate, by rising test");
            }
            RateForm::Steps(steps)
        }
        FormWord::Build => {
            let critical = entry.required_in(
                "critical",
                "write the critical level of the test",
                0.0..=1e6,
                "zero or more",
            );
            RateForm::Build {
                critical,
                maintain_to: entry.maybe_number("maintain_to").unwrap_or(critical),
                per_ppm: entry.number("per_ppm", "write what each ppm short takes a year"),
                per_ppm_and_cec: entry.maybe_number("per_ppm_and_cec").unwrap_or(0.0),
                plus: entry.maybe_number("plus").unwrap_or(0.0),
                years: entry.number_in("years", 1.0..=20.0, "1 to 20", 4.0),
            }
        }
        FormWord::Equation => {
            let mut term = |key| entry.maybe_number(key).unwrap_or(0.0);
            RateForm::Equation(EquationTerms {
                constant: term("constant"),
                per_yield: term("per_yield"),
                per_test: term("per_test"),
                per_test_and_yield: term("per_test_and_yield"),
                per_test_squared: term("per_test_squared"),
                per_organic_matter: term("per_organic_matter"),
            })
        }
    }
}

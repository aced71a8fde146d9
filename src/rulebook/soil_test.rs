use super::reader::Entry;
use super::{Basis, Factor};

/// A test that would tell what is not known.
#[derive(Debug, Clone)]
pub struct Test {
    /// Name in the rulebook.
    pub name: String,
    /// What is to be done, in the imperative.
    pub what: String,
    /// The factors that it judges.
    pub factors: Vec<Factor>,
    /// The products whose rate it decides where their factor is known to limit.
    pub products: Vec<String>,
    /// What one sample or one place usually costs, United States dollars.
    pub dollars_a_sample: f64,
    /// What the cost rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl Test {
    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        let factors = entry.texts("factors");
        Self {
            name: entry.name.to_owned(),
            what: entry.text("what", "say what is to be done, in the imperative"),
            factors: super::read_factors(entry, "factors", &factors),
            products: entry.texts("products"),
            dollars_a_sample: entry.required_in(
                "usd_a_sample",
                "write what a sample costs",
                0.0..=10_000.0,
                "0 to 10000",
            ),
            basis: entry.basis("basis"),
            source: entry.text("source", "name the price list, or say whose practice it is"),
        }
    }
}

use super::reader::Entry;
use super::{Basis, Factor};
use crate::analyte::{Analyte, DepthRange};
use crate::units::UnitSystem;

/// A test that would tell what is not known.
#[derive(Debug, Clone)]
pub struct Test {
    /// Name in the rulebook.
    pub name: String,
    /// What is to be done, in the imperative.
    pub what: String,
    /// The analyte that it reads, where that one alone decides.
    pub reads: Option<Analyte>,
    /// What is done instead where that analyte is on the sheet already and nothing follows from it.
    pub if_run: Option<String>,
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
            reads: entry.has("reads").then(|| entry.analyte("reads")),
            if_run: entry.maybe_text("if_run"),
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

/// The rulebook names its depths in inches, as its sources do; a metric plan reads "0-15 cm" for "0-6 in".
pub(super) fn with_depths_of(units: UnitSystem, text: &str) -> String {
    let words: Vec<&str> = text.split(' ').collect();
    let mut said: Vec<String> = Vec::new();
    let mut at = 0;
    while let Some(word) = words.get(at) {
        let unit = words.get(at + 1).and_then(|next| next.strip_prefix("in"));
        let rest = unit.filter(|rest| rest.chars().all(|letter| letter.is_ascii_punctuation()));
        if let (Ok(depth), Some(rest)) = (DepthRange::parse(word, Some("in")), rest) {
            said.push(format!("{}{rest}", depth.show(units)));
            at += 2;
        } else {
            said.push((*word).to_owned());
            at += 1;
        }
    }
    said.join(" ")
}

#[cfg(test)]
mod tests {
    use super::with_depths_of;
    use crate::units::UnitSystem;

    #[test]
    fn a_metric_plan_reads_depths_in_centimetres() {
        let text = "Have zinc tested, 0-6 in, and pull cores 0-2 in and 6-24 in in spring";
        assert_eq!(
            with_depths_of(UnitSystem::Metric, text),
            "Have zinc tested, 0-15 cm, and pull cores 0-5 cm and 15-61 cm in spring"
        );
        assert_eq!(with_depths_of(UnitSystem::UnitedStates, text), text);
    }
}

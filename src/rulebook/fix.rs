use super::reader::Entry;
use super::{Basis, Factor, PriceSource, ProductName};
use crate::units::MoneyPerArea;

/// A way to mend a factor.
#[derive(Debug, Clone)]
pub struct FixRule {
    /// Name in the rulebook.
    pub name: String,
    /// What is done, in the imperative; `{depth}` stands for the depth that a finding asks for, `{crops}` for crops that bear the salt that was found.
    pub what: String,
    /// What it is called in a bill: "cover crop".
    pub word: String,
    /// What is done where that depth is not known, or no crop bears it.
    pub what_without_depth: Option<String>,
    /// The factors it mends.
    pub mends: Vec<Factor>,
    /// Only where one of these rules found something; any rule of the factor where empty.
    pub rules: Vec<String>,
    /// Left out where a product goes out for the same factor, or what goes out brings all of it that is needed.
    pub unless_spread: bool,
    /// Left out where salt holds back what carries salt.
    pub carries_salt: bool,
    /// Whether no product and no rate stand behind it: its cost is a guess that orders it, and is neither billed nor paid from a budget.
    pub has_no_rate: bool,
    /// Left out where one of these factors is known to be adequate: a band of phosphorus where phosphorus is.
    pub unless_adequate: Vec<Factor>,
    /// The product it uses.
    pub product: Option<ProductName>,
    /// Cost; what the product costs comes on top.
    pub cost: MoneyPerArea,
    /// Where that cost comes from.
    pub cost_source: PriceSource,
    /// Effort, 1 easy to 5 hard.
    pub effort: f64,
    /// Seasons until it works.
    pub seasons: f64,
    /// Years that it works.
    pub years: f64,
    /// Years that it works on sandy ground, where that differs.
    pub years_on_sand: Option<f64>,
    /// Share of the severity that it relieves, 0 to 1.
    pub relief: f64,
    /// Fixes that come before it where they are needed too.
    pub after: Vec<String>,
    /// What cost, effort, time and relief rest on.
    pub basis: Basis,
    /// Where they come from.
    pub source: String,
}

impl FixRule {
    /// What of its own cost is billed.
    #[must_use]
    pub fn billed(&self) -> MoneyPerArea {
        if self.has_no_rate {
            MoneyPerArea::ZERO
        } else {
            self.cost
        }
    }

    /// Whether it mends what a rule of a factor found.
    #[must_use]
    pub fn answers(&self, factor: Factor, rule: &str) -> bool {
        self.mends.contains(&factor)
            && (self.rules.is_empty() || self.rules.iter().any(|name| name == rule))
    }

    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        let mends = entry.texts("mends");
        let unless_adequate = entry.texts("unless_adequate");
        Self {
            name: entry.name.to_owned(),
            what: entry.text("what", "say what is done, in the imperative"),
            word: entry
                .maybe_text("word")
                .unwrap_or_else(|| entry.name.replace('_', " ")),
            what_without_depth: entry.maybe_text("what_without_depth"),
            mends: super::read_factors(entry, "mends", &mends),
            rules: entry.texts("rules"),
            unless_spread: entry.flag_or("unless_spread", false),
            carries_salt: entry.flag_or("carries_salt", false),
            has_no_rate: entry.flag_or("has_no_rate", false),
            unless_adequate: super::read_factors(entry, "unless_adequate", &unless_adequate),
            product: entry
                .maybe_text("product")
                .map(|name| ProductName::new(&name)),
            cost: entry.maybe_quantity("cost").unwrap_or(MoneyPerArea::ZERO),
            cost_source: if super::is_built_in(&entry.place_of("cost")) {
                PriceSource::BuiltIn
            } else {
                PriceSource::Given
            },
            effort: entry.required_in("effort", "write 1 (easy) to 5 (hard)", 1.0..=5.0, "1 to 5"),
            seasons: entry.number_in("seasons", 0.0..=20.0, "0 to 20", 0.0),
            years: entry.number_in("years", 1.0..=30.0, "1 to 30", 1.0),
            years_on_sand: entry
                .has("years_on_sand")
                .then(|| entry.number_in("years_on_sand", 1.0..=30.0, "1 to 30", 1.0)),
            relief: entry.required_in(
                "relief",
                "write the share of the severity that it relieves",
                0.0..=1.0,
                "0 to 1",
            ),
            after: entry.texts("after"),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}

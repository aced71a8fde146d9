use super::reader::Entry;
use super::{Basis, Factor, Side};
use crate::analyte::{Analyte, Method};

/// Something that must be true of a zone for a rule or a product to be used there.
#[derive(Debug, Clone)]
pub struct Condition {
    /// Name below `only_where`.
    pub name: String,
    /// What must be measured.
    pub analyte: Analyte,
    /// Methods accepted; empty where the method does not matter.
    pub methods: Vec<Method>,
    /// On which side of the value the zone must lie.
    pub side: Side,
    /// The value itself counts as on the side `below`'s outside and on the side `above`'s inside.
    pub value: f64,
    /// The number of the rulebook that gives the value, where it is written as a name.
    pub value_from: Option<String>,
    /// Unit of the value.
    pub unit: String,
    /// What holds where nothing is measured.
    pub if_unknown: bool,
    /// It does not matter where one of these factors limits.
    pub unless_limits: Vec<Factor>,
    /// Why, completes "closed here, because ...".
    pub why: String,
    /// What the number rests on.
    pub basis: Basis,
    /// Where it comes from.
    pub source: String,
}

impl Condition {
    /// Whether a value meets the condition.
    #[must_use]
    pub fn is_met_by(&self, value: f64) -> bool {
        match self.side {
            Side::Below => value < self.value,
            Side::Above => value >= self.value,
        }
    }

    pub(super) fn read(entry: &mut Entry<'_>) -> Self {
        let (value, value_from) =
            entry.number_or_name("value", "write the number that separates the two sides");
        let unless = entry.texts("unless_limits");
        Self {
            name: entry.name.to_owned(),
            unless_limits: super::read_factors(entry, "unless_limits", &unless),
            analyte: entry.analyte("analyte"),
            methods: entry.methods("methods"),
            side: entry.word(
                "side",
                &[("below", Side::Below), ("above", Side::Above)],
                None,
            ),
            value,
            value_from,
            unit: entry.maybe_text("unit").unwrap_or_default(),
            if_unknown: entry.flag_or("if_unknown", true),
            why: entry.text("why", "say why, to complete \"not here, because ...\""),
            basis: entry.basis("basis"),
            source: entry.text(
                "source",
                "name the publication, or say whose practice it is",
            ),
        }
    }
}

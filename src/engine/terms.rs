use crate::plan::{Inherited, Stock};

/// What a run goes by beside its plan: what the farm that the field belongs to says for all its fields, and what it holds for this one.
#[derive(Debug, Clone, Copy, Default)]
pub struct Terms<'a> {
    /// Tables that the plan takes where it does not set them itself.
    pub inherited: Option<&'a Inherited>,
    /// Whether the farm wants to know what money would buy on the field.
    pub asks_offers: bool,
    /// The field's share of what the farm has once for all fields.
    pub allotment: Option<&'a Allotment>,
}

/// A field's share of the farm's money and stock. Zones are chosen as without it; rates, gates and caps hold as in every run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Allotment {
    /// The most that may be spent on the field, whole cents; the plan's own budget holds beside it.
    pub cents: Option<u64>,
    /// The most of some products that may be used.
    pub stock: Vec<(String, Stock)>,
}

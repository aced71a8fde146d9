use crate::plan::Day;
use crate::units::UnitSystem;

/// What a farm file says of the farm itself. What it says for its fields goes into their plans.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FarmFacts {
    /// Name of the farm; the folder's name where no farm file says it.
    pub farm: String,
    /// Who grows the crops.
    pub grower: Option<String>,
    /// Who made the review.
    pub prepared_by: Option<String>,
    /// Day of the review.
    pub date: Option<Day>,
    /// Units that the farm's own files are printed in.
    pub units: UnitSystem,
    /// Tank on the planter, litres, where the farm file says it.
    pub tank_l: Option<f64>,
    /// The most that may be spent over all fields, United States dollars.
    pub budget_usd: Option<f64>,
    /// What stands in the farm's shed, by product, in the order of the file; shared out over all fields.
    pub stock: Vec<(String, StockAmount)>,
}

impl FarmFacts {
    /// Whether the farm has something once that its fields share.
    #[must_use]
    pub fn has_shares(&self) -> bool {
        self.budget_usd.is_some() || !self.stock.is_empty()
    }
}

/// An amount on hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StockAmount {
    /// Of a dry product.
    Kilograms(f64),
    /// Of a liquid.
    Litres(f64),
}

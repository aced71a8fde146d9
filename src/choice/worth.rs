use serde::Serialize;

use super::saving::Saving;

/// What a varied rate is worth, tested on cores that were left out. Money is what is saved against one rate for the whole field:
/// product and work that places get without asking for it, and, weighing more, what they ask for and do not get.
#[derive(Debug, Clone, Default, Serialize)]
pub struct Worth {
    /// How many cores the zonings were compared with.
    pub cores: usize,
    /// Whether they stand in clusters or pairs: then the intervals are too narrow, and none is printed.
    pub is_clustered: bool,
    /// The counts of zones that were tried, rising.
    pub tried: Vec<CountTried>,
    /// What the zones save in all; `None` where the field is one zone or nothing could be tested.
    pub saved: Option<Saving>,
    /// Product by product, in the order of the prescription.
    pub products: Vec<ProductWorth>,
    /// What each line between two zones is worth.
    pub lines: Vec<LineWorth>,
    /// How often a zone's rate is wrong inside it.
    pub doubts: Vec<RateDoubt>,
}

impl Worth {
    /// Gives lines and doubts the numbers of zones that were drawn again; what was said of a zone that is gone goes with it.
    pub fn renumber(&mut self, number: impl Fn(u32) -> Option<u32>) {
        self.lines = std::mem::take(&mut self.lines)
            .into_iter()
            .filter_map(|line| {
                let (a, b) = (number(line.between.0)?, number(line.between.1)?);
                let between = (a.min(b), a.max(b));
                Some(LineWorth { between, ..line })
            })
            .collect();
        self.lines.sort_by_key(|line| line.between);
        self.doubts = std::mem::take(&mut self.doubts)
            .into_iter()
            .filter_map(|doubt| {
                let zone = number(doubt.zone)?;
                Some(RateDoubt { zone, ..doubt })
            })
            .collect();
    }
}

/// A count of zones on trial.
#[derive(Debug, Clone, Serialize)]
pub struct CountTried {
    /// How many zones.
    pub count: usize,
    /// Mean loss on the cores that were left out, USD/ha.
    pub loss: f64,
    /// What it saves against one zone.
    pub saved: Saving,
    /// How alike the zones stay where cores are left out: interquartile mean of the adjusted Rand index, 1 for the same zones.
    pub stability: f64,
    /// Whether it is stable enough to be chosen.
    pub is_stable: bool,
}

/// What varying one product is worth.
#[derive(Debug, Clone, Serialize)]
pub struct ProductWorth {
    /// Name of the product.
    pub product: String,
    /// What people call it.
    pub label: String,
    /// Whether its rate differs between zones.
    pub is_varied: bool,
    /// What that saves; `None` where it does not vary or was not tested.
    pub saved: Option<Saving>,
}

/// What the line between two zones is worth.
#[derive(Debug, Clone, Serialize)]
pub struct LineWorth {
    /// Numbers of the two zones.
    pub between: (u32, u32),
    /// United States dollars for both zones together.
    pub dollars: f64,
    /// 90 % interval of it.
    pub interval: (f64, f64),
    /// Cores in the two zones.
    pub cores: usize,
}

/// How often the rate of a zone is more than one step off what a core in it asks for.
#[derive(Debug, Clone, Serialize)]
pub struct RateDoubt {
    /// Number of the zone.
    pub zone: u32,
    /// Name of the product.
    pub product: String,
    /// Cores in the zone.
    pub cores: usize,
    /// Those that ask for a rate more than one step away.
    pub off: usize,
}

use serde::Deserialize;

/// One change of a plan, as the page asks for it.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(tag = "what", rename_all = "snake_case", deny_unknown_fields)]
pub enum Change {
    /// A key of the plan gets a value.
    Set {
        /// Dotted: `zones.count`.
        key: String,
        /// A number, a text or a list of texts.
        value: Value,
    },
    /// A key of the plan is taken away.
    Unset {
        /// Dotted.
        key: String,
    },
    /// A threshold of the rulebook.
    Threshold {
        /// The rule's name.
        rule: String,
        /// In the rule's unit.
        value: f64,
    },
    /// The consultant's word on a rate.
    Override {
        /// Longitude and latitude of a place in the zone that is meant.
        #[serde(default)]
        at: Option<[f64; 2]>,
        /// Or the corners of a place that is drawn.
        #[serde(default)]
        inside: Option<Vec<[f64; 2]>>,
        /// Product.
        product: String,
        /// With its unit: `4 gal/ac`.
        rate: String,
        /// Printed with the rate.
        why: String,
    },
    /// Takes an override back.
    NoOverride {
        /// Its place in the plan, from 0.
        at: usize,
    },
    /// Check strips name no zones by number; each lies where its rate differs from the zone's.
    StripsAnywhere,
    /// A sample is left out.
    LeaveOut {
        /// The file, as the plan names it.
        file: String,
        /// Its name; its row where it has none.
        sample: Sample,
        /// Printed with the remarks.
        why: String,
    },
    /// A sample that was left out is used again.
    TakeBack {
        /// The file, as the plan names it.
        file: String,
        /// Which it is.
        sample: Sample,
    },
    /// What a column is.
    Column {
        /// The file, as the plan names it.
        file: String,
        /// The column's name.
        column: String,
        /// The analyte; nothing where the column is not to be read.
        is: Option<String>,
        /// Test method.
        method: Option<String>,
        /// Unit.
        unit: Option<String>,
        /// Depth, where the column has its own.
        depth: Option<String>,
    },
    /// A file of results after emergence or harvest.
    Results {
        /// Its name in the folder.
        file: String,
        /// `yield`, `stand`, `emergence`, `brix`, `applied` or `cores`.
        kind: String,
    },
}

/// A value of a plan.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(untagged)]
pub enum Value {
    /// A number.
    Number(f64),
    /// A text.
    Text(String),
    /// A list of texts.
    Texts(Vec<String>),
}

/// A sample by its name or its row.
#[derive(Debug, Clone, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Sample {
    /// Its name.
    Core(String),
    /// Its row.
    Row(u32),
}

impl Change {
    /// Whether it carries a reason of its own.
    #[must_use]
    pub fn has_reason(&self) -> bool {
        matches!(self, Self::Override { .. } | Self::LeaveOut { .. })
    }
}

//! What was measured: analyte, test method, sampling depth. Together they are a layer's identity;
//! two results that differ in any of the three are never mixed.
//!
//! The catalogue (`catalogue.toml`) says for each analyte its canonical unit, the units accepted, the test
//! methods, the plausible and possible ranges, and the names that laboratories use for it.

mod catalogue;
mod contradiction;
mod depth;
mod layer;
mod method;
mod name;
mod naming;
mod units_cell;
mod yields;

pub use catalogue::{
    Catalogue, CatalogueEntry, Conversion, Oxide, Repeat, UnitRefusal, UnitSet, plain_unit,
};
pub use contradiction::contradiction;
pub use depth::{DepthError, DepthRange};
pub use layer::LayerKey;
pub use method::Method;
pub use name::{Analyte, UnknownAnalyte};
pub use naming::{Meaning, NamedResult, folded_name, meaning_of, plain_name};
pub use units_cell::{UnitsCell, oxide_cell, units_cell};
pub use yields::{decimals, show_yield, yield_unit};

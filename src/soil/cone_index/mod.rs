//! What a cone penetrometer tells: pressure from force, replicates, the share of points above a limit, where a hard layer lies,
//! and how far the soil's moisture lets any of it be believed.

mod instrument;
mod layer;
mod moisture;
mod replicates;
mod share;

pub use instrument::{
    CONE_DIAMETERS_MM, cone_base_area_mm2, cone_index_from_force, is_cone_worn_out,
    worn_out_diameter_mm,
};
pub use layer::{HardLayer, LayerBottom, LayerTop, hard_layers, loosening_depth};
pub use moisture::{SoilMoisture, comparable_dates};
pub use replicates::{ConeReading, median_of_replicates};
pub use share::{CompactionClass, share_above_pct};

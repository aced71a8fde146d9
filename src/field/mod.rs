//! Stage 3: the survey is put on a metric plane centred on the field: the workable area (boundary minus
//! keep-outs with their buffer), the cell grid, and every layer's observations.

mod buffer;
mod coverage;
mod error;
mod estimate;
mod fitting_crs;
mod grid;
mod ground;
mod heaps;
mod inside;
mod keep_out;
mod lay_out;
mod layers;
mod meridian;
mod misplaced;
mod observations;
mod outline;
mod outline_check;
mod proj_database;
mod projected_columns;
mod projection;
mod projection_polynomial;

use geo::MultiPolygon;

pub use error::FieldError;
pub use estimate::{GridEstimate, estimate};
pub use fitting_crs::{FittingCrs, fitting_crs};
pub use grid::Grid;
pub use heaps::Heaps;
pub use lay_out::lay_out;
pub use layers::{FieldLayer, KeptOut, Places};
pub use proj_database::{PROJ_DATABASE, ProjDatabase};
pub(crate) use projection::open_ahead;
pub use projection::{ProjectionError, WorkingCrs};

use crate::intake::ConeProfiles;
use crate::remark::Remark;

/// The field on its own metric plane. Coordinates are metres east and north of the field's centre.
#[derive(Debug, Clone)]
pub struct Field {
    /// The metric working system.
    pub crs: WorkingCrs,
    /// The boundary. Long edges carry extra vertices so that they are straight in the input's own system.
    pub boundary: MultiPolygon<f64>,
    /// Boundary minus keep-outs with their buffer: where product may go.
    pub workable: MultiPolygon<f64>,
    /// The keep-outs with their buffer.
    pub kept_out: Vec<KeptOut>,
    /// Area of the boundary on the ellipsoid, m².
    pub area_m2: f64,
    /// Area of the workable part on the ellipsoid, m².
    pub workable_m2: f64,
    /// The cells that cover the workable area.
    pub grid: Grid,
    /// Where the observations of each point table stand, in the order of the plan.
    pub places: Vec<Places>,
    /// Every layer of every table. A key may come from several tables; the surface stage joins them.
    pub layers: Vec<FieldLayer>,
    /// Cone pushes per table, where the table holds some.
    pub cones: Vec<Option<ConeProfiles>>,
    /// What this stage has to say.
    pub remarks: Vec<Remark>,
}

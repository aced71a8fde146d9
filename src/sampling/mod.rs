//! Beside the path: where to take cores next. Takes the field and, where there are some, surfaces and zones; gives
//! sites in walking order.

mod files;
mod layout;
mod sites;
mod tour;
mod uncertainty;

pub use files::{as_geojson, as_gpx};
pub use layout::{Layout, first_layout, per_zone};
pub use sites::{SamplingError, Site};
pub use uncertainty::more_cores;

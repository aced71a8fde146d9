//! Stage 5: cells are clustered on standardised surfaces, small patches are given to a neighbour, and the zones
//! become polygons that tile the workable area without gap, overlap or sliver.

mod partition;

pub use partition::{CountRow, Zone, Zones};

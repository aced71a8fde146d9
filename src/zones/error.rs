//! Why no zones can be drawn.

use thiserror::Error;

use crate::analyte::LayerKey;
use crate::field::ProjectionError;
use crate::provenance::Place;

/// A problem of the zone stage.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ZoneError {
    /// There is nothing to divide.
    #[error(
        "the workable area is empty: the keep-outs with their distances cover the whole boundary; lessen a `distance` in [[keep_out]] or check the boundary file"
    )]
    NothingWorkable,
    /// The plan asks for more zones than can be.
    #[error(
        "zones.count is {found}, allowed are 1 to {most}; write count = \"auto\" to let the data decide"
    )]
    Count {
        /// What the plan says.
        found: usize,
        /// The most that is allowed.
        most: usize,
    },
    /// A fuzziness exponent that cannot be used.
    #[error(
        "the fuzziness exponent of fuzzy c-means is {found}, allowed is more than 1 up to 10; 1.3 to 2 is common practice"
    )]
    Exponent {
        /// What the plan says.
        found: f64,
    },
    /// A weight that cannot be used.
    #[error(
        "the weight of layer \"{layer}\" in zones.layers is {found}, allowed is a number above 0; leave the layer out to give it no say"
    )]
    Weight {
        /// The analyte as the plan names it.
        layer: String,
        /// What the plan says.
        found: f64,
    },
    /// A map that does not fit the grid.
    #[error(
        "the map of {layer} has {found} cells, the grid has {cells}; this is a fault of the program, please report it"
    )]
    Shape {
        /// The layer.
        layer: LayerKey,
        /// Values of the map.
        found: usize,
        /// Cells of the grid.
        cells: usize,
    },
    /// A map with holes in it.
    #[error(
        "the map of {layer} has no number in {found} of its cells (the first is cell {first}); leave the layer out of zones.layers"
    )]
    NotANumber {
        /// The layer.
        layer: LayerKey,
        /// How many cells.
        found: usize,
        /// The first of them, in the order of the grid.
        first: usize,
    },
    /// A drawn place that is no zone of its own.
    #[error("{place}: {what}")]
    DrawnPlace {
        /// Where in the plan.
        place: Place,
        /// What is wrong with it, and the way out.
        what: String,
    },
    /// The lines would not come apart.
    #[error(
        "the outline of the workable area and the lines between zones could not be brought to meet in points only; the boundary may touch itself: simplify it, or use a larger grid.cell"
    )]
    NotNoded,
    /// The polygons do not tile the workable area.
    #[error(
        "the zones would not tile the workable area: {what}; this is a fault of the program, please report it with the boundary file"
    )]
    NotTiled {
        /// What the proof found.
        what: String,
    },
    /// The outlines cannot be brought to degrees.
    #[error("the zones cannot be brought to degrees: {0}")]
    Projection(#[from] ProjectionError),
}

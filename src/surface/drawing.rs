//! What is to be drawn, and the pieces of the map that it is drawn on.

use super::inverse_distance::Power;
use super::standard_error_curve::StandardErrorCurve;
use crate::field::Grid;

/// Grid rows per piece of parallel work; a multiple of a block's side.
pub(super) const ROWS: usize = 16;

/// A layer whose map is wanted.
pub(super) struct LayerToDraw<'a> {
    /// Values by observation.
    pub values: &'a [f64],
    /// Its standard error.
    pub curve: StandardErrorCurve,
}

/// How one or more layers of a group are drawn.
pub(super) struct Drawing<'a> {
    /// Power of the inverse distance.
    pub power: Power,
    /// How many nearest sites.
    pub count: usize,
    /// The layers.
    pub layers: Vec<LayerToDraw<'a>>,
}

/// A layer's map, in the order of `Grid::cells`.
pub(super) struct Drawn {
    /// Values.
    pub values: Vec<f32>,
    /// Standard errors.
    pub standard_error: Vec<f32>,
}

/// The part of a layer's map that one piece of work fills.
#[derive(Default)]
pub(super) struct Part<'m> {
    /// Values.
    pub values: &'m mut [f32],
    /// Standard errors.
    pub standard_error: &'m mut [f32],
}

/// One piece of parallel work: some rows of the grid.
pub(super) struct Piece<'g, 'm> {
    /// The whole grid.
    pub grid: &'g Grid,
    /// The cells to fill, rising.
    pub cells: &'g [u32],
    /// Where they go, layer by layer.
    pub parts: Vec<Part<'m>>,
}

//! What a field's grid will take, told before any work is done, so that what does not fit is refused with words.

use geo::{Area as _, BoundingRect};

use super::{FieldError, ground};
use crate::intake::Survey;
use crate::plan::Settings;

/// Bytes per cell apart from its layers, and per layer, while zones are made and files written (own; 25 million cells with 40
/// layers were measured to take 15 GB).
const BYTES_PER_CELL: f64 = 60.0;
const BYTES_PER_LAYER: f64 = 14.0;

/// The size of a grid that is not made yet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GridEstimate {
    /// Cells that touch the boundary's inside, keep-outs not taken off.
    pub cells: f64,
    /// Cells of the rectangle round it.
    pub rectangle: f64,
}

impl GridEstimate {
    /// Memory that so many layers take at most, bytes.
    #[must_use]
    pub fn bytes(&self, layers: usize) -> f64 {
        self.cells.max(self.rectangle / 8.0) * (BYTES_PER_CELL + BYTES_PER_LAYER * layers as f64)
    }
}

/// Estimates the grid of a survey from its boundary and the plan's cell.
///
/// # Errors
/// Where the boundary cannot be laid on a plane.
pub fn estimate(survey: &Survey, settings: &Settings) -> Result<GridEstimate, FieldError> {
    let boundary = ground::boundary_on_plane(survey)?;
    let cell = settings.cell.metres();
    let (width, height) = boundary
        .bounding_rect()
        .map_or((0.0, 0.0), |bounds| (bounds.width(), bounds.height()));
    let length: f64 = boundary
        .iter()
        .flat_map(|part| {
            part.exterior()
                .lines()
                .chain(part.interiors().iter().flat_map(geo::LineString::lines))
        })
        .map(|edge| (edge.delta().x.abs() + edge.delta().y.abs()) / cell)
        .sum();
    // Along an edge half of the cells that it crosses lie outside; never more than the rectangle.
    let rectangle = ((width / cell).ceil() + 1.0) * ((height / cell).ceil() + 1.0);
    let cells = (boundary.unsigned_area() / (cell * cell) + length / 2.0).min(rectangle);
    Ok(GridEstimate { cells, rectangle })
}

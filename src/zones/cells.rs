//! The zone of each cell, in step with the polygons.

use geo::{BoundingRect, Contains, MultiPolygon, Point, Rect};

use super::outline::{Handover, Outline};
use super::raster::{NONE, Raster};
use crate::field::Grid;

/// Index into the outlines of each of the grid's cells. Cells of a piece that the drawing gave to a neighbour go with it.
pub(super) fn settle(
    raster: &Raster,
    grid: &Grid,
    outlines: &[Outline],
    handovers: &[Handover],
) -> Vec<u16> {
    let mut labels = raster.of_cells();
    for handover in handovers {
        let Some(bounds) = handover.shape.bounding_rect() else {
            continue;
        };
        let touched = labels
            .iter_mut()
            .zip(&grid.cells)
            .filter(|(label, _)| **label == handover.from);
        for (label, &cell) in touched {
            if is_near(bounds, grid.centre(cell), grid.cell)
                && is_of(&handover.shape, grid.centre(cell), grid.cell)
            {
                *label = handover.to;
            }
        }
    }
    let mut index = vec![u16::MAX; 256];
    for (place, outline) in outlines.iter().enumerate() {
        index[outline.label as usize] = place as u16;
    }
    let is_left_over = |label: u8| index[label as usize] == u16::MAX;
    if labels.iter().any(|&label| is_left_over(label)) {
        fill(raster, &mut labels, is_left_over);
    }
    labels
        .iter()
        .map(|&label| index[label as usize].min(outlines.len().saturating_sub(1) as u16))
        .collect()
}

/// Whether a cell touches a box: pieces that change hands are small, and few cells need to be looked at closely.
fn is_near(bounds: Rect<f64>, (x, y): (f64, f64), cell: f64) -> bool {
    let (low, high) = (bounds.min(), bounds.max());
    x + cell >= low.x && x - cell <= high.x && y + cell >= low.y && y - cell <= high.y
}

/// Whether a cell's middle lies in a shape or, at the edge of the field, any of a few places in it does.
fn is_of(shape: &MultiPolygon<f64>, (x, y): (f64, f64), cell: f64) -> bool {
    const OFFSETS: [f64; 5] = [0.0, -0.45, 0.45, -0.2, 0.2];
    let places = OFFSETS.iter().flat_map(|across| {
        OFFSETS
            .iter()
            .map(move |down| (x + across * cell, y + down * cell))
    });
    places
        .take(25)
        .any(|(x, y)| shape.contains(&Point::new(x, y)))
}

/// Cells of a zone that has no outline any more (they barely touch the field) take the zone of the nearest cell that has one.
fn fill(raster: &Raster, labels: &mut [u8], is_left_over: impl Fn(u8) -> bool) {
    let mut patched = raster.clone();
    for (&cell, &label) in raster.cells.iter().zip(labels.iter()) {
        patched.labels[cell as usize] = if is_left_over(label) { NONE } else { label };
    }
    patched
        .cells
        .retain(|&cell| patched.labels[cell as usize] != NONE);
    patched.find_edge();
    let grown = patched.grown(raster.width + raster.height);
    for (&cell, label) in raster.cells.iter().zip(labels.iter_mut()) {
        *label = grown[cell as usize];
    }
}

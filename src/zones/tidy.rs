//! Cells made fit for a machine: no patch too small, no neck too narrow, no stretch too short along the way of travel.

use super::minimum_width::{Footprint, widen};
use super::patches::{Tidy, merge_small};
use super::raster::Raster;

/// Rounds at most: widening one place can make another small or narrow; two to four rounds settle most fields (own).
const ROUNDS: usize = 16;

/// What the machine needs.
pub(super) struct Machine {
    swath: Footprint,
    pass: Footprint,
}

impl Machine {
    /// A working width in cells and a heading in degrees clockwise from north.
    pub fn new(swath: f64, heading: f64) -> Self {
        Self {
            swath: Footprint::disc(swath),
            pass: Footprint::stretch(2.0 * swath, heading),
        }
    }

    /// Empty cells that the raster must have on each side.
    pub fn rim(&self) -> usize {
        self.swath.reach().max(self.pass.reach()) + 1
    }
}

/// Tidies the labels; whether they came to rest.
pub(super) fn tidy(raster: &mut Raster, how: &Tidy<'_>, machine: &Machine) -> bool {
    let mut changes = vec![0; raster.labels.len()];
    for _ in 0..ROUNDS {
        merge_small(raster, how);
        let changed = widen(raster, how, &machine.swath, &mut changes)
            + widen(raster, how, &machine.pass, &mut changes);
        if changed == 0 {
            return true;
        }
    }
    merge_small(raster, how);
    false
}

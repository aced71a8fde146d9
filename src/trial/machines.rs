use serde::{Deserialize, Serialize};

use super::frame::Frame;

/// Header and planter that differ by less than this are equally wide, metres.
const SAME_WIDTH: f64 = 0.05;
/// The least border between a check and the harvest beside it, metres. Own.
pub const LEAST_BORDER: f64 = 1.0;

/// What planter and combine make of a check.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Machines {
    /// The planter's passes.
    pub frame: Frame,
    /// Passes of the planter that a check is wide.
    pub check_passes: usize,
    /// Width of the combine's header, metres.
    pub header_m: f64,
    /// Border on either side that the harvest of a check keeps from its edge, metres: position error of both machines, at least 1 m.
    pub border_m: f64,
}

impl Machines {
    /// The least whole number of passes that hold a header and a border on either side; one where header and planter are equally
    /// wide and both steered on the same lines.
    #[must_use]
    pub fn new(frame: Frame, header_m: f64, position_error_m: f64) -> Self {
        let border_m = position_error_m.max(LEAST_BORDER);
        let needed = (header_m + 2.0 * border_m) / frame.swath_m;
        let check_passes = if (header_m - frame.swath_m).abs() < SAME_WIDTH {
            1
        } else {
            // A hair over a whole number is that number.
            (needed - 1e-9).ceil().max(1.0) as usize
        };
        Self {
            frame,
            check_passes,
            header_m,
            border_m,
        }
    }

    /// Whether the combine follows the planter's lines, pass for pass.
    #[must_use]
    pub fn is_matched(&self) -> bool {
        self.check_passes == 1 && (self.header_m - self.frame.swath_m).abs() < SAME_WIDTH
    }

    /// Half the width of a check, metres.
    #[must_use]
    pub fn half_width(&self) -> f64 {
        0.5 * self.check_passes as f64 * self.frame.swath_m
    }

    /// Metres across of the middle of a check that begins at a pass.
    #[must_use]
    pub fn middle(&self, position: usize) -> f64 {
        self.frame.edge(position) + self.half_width()
    }

    /// How far the combine's middle may lie from the middle of a check so that it takes nothing from outside.
    #[must_use]
    pub fn tolerance(&self) -> f64 {
        if self.is_matched() {
            self.border_m
        } else {
            self.half_width() - 0.5 * self.header_m - self.border_m
        }
    }

    /// Least distance from the middle of a check to the middle of a combine pass beside it that takes nothing from the check.
    #[must_use]
    pub fn beside(&self) -> f64 {
        if self.is_matched() {
            self.frame.swath_m - self.border_m
        } else {
            self.half_width() + 0.5 * self.header_m + self.border_m
        }
    }

    /// How far from the middle of a check the passes reach that it is compared with, metres.
    #[must_use]
    pub fn reach(&self) -> f64 {
        if self.is_matched() {
            1.5 * self.frame.swath_m
        } else {
            // The nearest whole pass may begin up to half a header further out.
            self.beside() + self.header_m
        }
    }

    /// How many passes the lanes of two checks must be apart so that none of them shares a neighbour.
    #[must_use]
    pub fn apart(&self) -> usize {
        self.check_passes + 3
    }
}

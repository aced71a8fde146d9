use thiserror::Error;

use super::MOST_NEIGHBOURS;

/// Why no surface can be made.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum SurfaceError {
    /// No layer has enough results for even one error to be measured.
    #[error(
        "no layer has three usable points; the fullest of {layers} has {most}. Points count when they lie in or near the boundary and have a result: \
         look at the remarks of \"check\", and at the columns that the plan names"
    )]
    TooFewPoints {
        /// How many layers were looked at.
        layers: usize,
        /// The most usable points that one of them has.
        most: usize,
    },
    /// The power of the plan cannot be used.
    #[error(
        "surface.power is {found}; it must be more than 0 and at most 100 (common values are 1 to 4), or \"auto\""
    )]
    Power {
        /// What the plan says.
        found: f64,
    },
    /// The count of neighbours of the plan cannot be used.
    #[error(
        "surface.neighbours is {found}; it must be 1 to {MOST_NEIGHBOURS} (common values are 8 to 16), or \"auto\""
    )]
    Neighbours {
        /// What the plan says.
        found: usize,
    },
}

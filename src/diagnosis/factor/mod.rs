//! What differs by factor: air is judged from whole cone pushes, carbon must not be taken from organic matter.
//! All other factors are a mean against a threshold.

pub(super) mod air;
pub(super) mod carbon;

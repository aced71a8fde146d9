//! The arithmetic behind a verdict: pure functions of numbers that know nothing of fields and files.

mod contrast;
mod equivalence;
mod estimate;
mod holm;
mod least_difference;
mod looks;
mod paired;
mod placements;
mod pooling;
mod quantiles;
mod randomisation;
mod scatter;
mod spatial_errors;

pub use contrast::Contrast;
pub use equivalence::{Finding, finding};
pub use estimate::{Estimate, estimate};
pub use holm::holm;
pub use least_difference::{
    effective_number, is_shown_by_pairs, least_difference, paired_least_difference, strips_needed,
};
pub use looks::{exit_probability, o_brien_fleming};
pub use paired::{PairedTest, SignFlip, paired_t, sign_flip};
pub use placements::{Blocks, Placements};
pub use pooling::{Between, Pooled, Year, common_gain, pool};
pub use quantiles::{normal_cdf, normal_quantile, student_t_cdf, student_t_quantile};
pub use randomisation::{Randomisation, Shifted, randomisation};
pub use scatter::{FEWEST_PLACEBOS, Scatter, scatter};
pub use spatial_errors::{Spatial, SpatialFit, spatial_errors};

use crate::field::ProjectionError;
use crate::provenance::Place;

/// Why check strips cannot be laid.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum TrialError {
    /// A product that the prescription does not have.
    #[error("{place}: \"{product}\" is no product of this prescription; it has {known}")]
    UnknownProduct {
        /// Where in the plan.
        place: Place,
        /// The product.
        product: String,
        /// The products there are.
        known: String,
    },
    /// A rate in the unit of the other form.
    #[error("{place}: \"{product}\" is metered in {unit}")]
    WrongForm {
        /// Where in the plan.
        place: Place,
        /// The product.
        product: String,
        /// The unit that would do.
        unit: &'static str,
    },
    /// A place cannot be brought to degrees.
    #[error("a check strip cannot be brought to degrees: {0}")]
    Projection(#[source] ProjectionError),
}

use thiserror::Error;

use crate::provenance::Place;
use crate::soil::SoilError;

/// Why no rates can be made.
#[derive(Debug, Clone, PartialEq, Error)]
#[non_exhaustive]
pub enum RatesError {
    /// A product in the plan that the rulebook does not know.
    #[error(
        "{place}: the rulebook knows no product \"{product}\"{}; it knows {known}",
        nearest.as_ref().map(|word| format!("; did you mean \"{word}\"?")).unwrap_or_default()
    )]
    UnknownProduct {
        /// Where.
        place: Place,
        /// The word.
        product: String,
        /// The nearest product known.
        nearest: Option<String>,
        /// The products known.
        known: String,
    },
    /// The starter among the products of the shed.
    #[error(
        "{place}: the starter is mixed by its recipe and is no product of the shed: take it out of the list, and name here what it is mixed \
         from, where that is all there is"
    )]
    StarterInShed {
        /// Where.
        place: Place,
    },
    /// A price or a rate by volume for a product metered by mass, or the other way round.
    #[error("{place}: {product} is metered by {metered}; write it in {wanted}")]
    WrongForm {
        /// Where.
        place: Place,
        /// The product.
        product: String,
        /// "mass" or "volume".
        metered: &'static str,
        /// The units that would do.
        wanted: &'static str,
    },
    /// A number that can not be a price or a rate.
    #[error("{place}: {found} for {product} is not a {what}; it must be zero or more")]
    Negative {
        /// Where.
        place: Place,
        /// The product.
        product: String,
        /// "price" or "rate".
        what: &'static str,
        /// What was found.
        found: String,
    },
    /// An override for a zone that is not there.
    #[error("{place}: there is no zone {zone}; the zones are numbered 1 to {zones}")]
    UnknownZone {
        /// Where.
        place: Place,
        /// The number in the plan.
        zone: u32,
        /// How many zones there are.
        zones: usize,
    },
    /// An override of a place outside the workable area.
    #[error(
        "{place}: no zone holds longitude {longitude}, latitude {latitude}; give a place inside the field and outside its keep-outs"
    )]
    NoZoneThere {
        /// Where.
        place: Place,
        /// In degrees.
        longitude: String,
        /// In degrees.
        latitude: String,
    },
    /// Two overrides of one rate.
    #[error("{place}: {product} in zone {zone} is overridden twice; keep one of the two")]
    Twice {
        /// Where the second stands.
        place: Place,
        /// The product.
        product: String,
        /// The zone.
        zone: u32,
    },
    /// The crop is not in the rulebook.
    #[error("{place}: the rulebook does not know the crop \"{crop}\"")]
    UnknownCrop {
        /// Where.
        place: Place,
        /// The word.
        crop: String,
    },
    /// A recipe that does not fit in its own volume.
    #[error(
        "rulebook, key recipe.{recipe}.ingredient: the ingredients take {percent} % of the mix before the filling one; lower the shares"
    )]
    RecipeTooFull {
        /// The recipe.
        recipe: String,
        /// How much they take.
        percent: String,
    },
    /// A lime rule that is not known.
    #[error("rulebook, key lime.{buffer}.rule: {cause}")]
    LimeRule {
        /// The buffer.
        buffer: String,
        /// What is known.
        cause: SoilError,
    },
    /// A diagnosis of another run.
    #[error(
        "the diagnosis speaks of zone {zone} of {zones}; diagnosis and zones must come from the same run"
    )]
    OtherZones {
        /// Index in the diagnosis.
        zone: usize,
        /// Number of zones.
        zones: usize,
    },
}

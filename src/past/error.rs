use crate::provenance::Place;

/// Why an earlier season cannot be compared with this one.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum PastError {
    /// The folder, or what must be in it, is not there.
    #[error(
        "{place}: \"{folder}\" holds no earlier run that can be read: {cause}. Name the output folder of an earlier `lowstave plan` (it holds run.json), or take it out of runs"
    )]
    NoRun {
        /// Where in the plan.
        place: Place,
        /// The folder.
        folder: String,
        /// What stopped the reading.
        cause: String,
    },
    /// A file of the folder is not as it was written.
    #[error(
        "{place}: \"{folder}/{file}\" {what}. What was changed by hand is no record of a season: take the folder as it was written, or plan that season again from its own files"
    )]
    Edited {
        /// Where in the plan.
        place: Place,
        /// The folder.
        folder: String,
        /// The file.
        file: String,
        /// What is wrong with it.
        what: String,
    },
    /// The run is of this season or a later one.
    #[error(
        "{place}: \"{folder}\" is a run of {then}, and this plan is for {now}: a season is compared with an earlier one, never with itself. Name the folder of an earlier season"
    )]
    NotEarlier {
        /// Where in the plan.
        place: Place,
        /// The folder.
        folder: String,
        /// The run's season.
        then: u16,
        /// The plan's season.
        now: u16,
    },
    /// A season is named twice.
    #[error(
        "{place}: \"{folder}\" and \"{other}\" are both runs of {season}; name one of them, the one that was carried out"
    )]
    Twice {
        /// Where in the plan.
        place: Place,
        /// The folder.
        folder: String,
        /// The other folder.
        other: String,
        /// Their season.
        season: u16,
    },
    /// The run is of other ground.
    #[error(
        "{place}: \"{folder}\" is a run of \"{then}\", and its zones cover {covered} % of this field: it is another field's. Name the folder of an earlier run of \"{now}\""
    )]
    OtherField {
        /// Where in the plan.
        place: Place,
        /// The folder.
        folder: String,
        /// Name of its field.
        then: String,
        /// Name of this field.
        now: String,
        /// Percent of today's ground that it covers.
        covered: String,
    },
    /// A log of a season of which no run is named.
    #[error(
        "{place}: this log is of {season}, and [past] names no run of that season; the seasons there are: {known}"
    )]
    NoSuchSeason {
        /// Where in the plan.
        place: Place,
        /// The log's season.
        season: u16,
        /// The seasons there are.
        known: String,
    },
    /// A log of which nothing lies on the field.
    #[error(
        "{place}: none of its {records} records lies on \"{field}\": it is the log of another field, or its crs is wrong"
    )]
    LogElsewhere {
        /// The file.
        place: Place,
        /// How many records it has.
        records: usize,
        /// The field.
        field: String,
    },
    /// The run would be written over an earlier season.
    #[error(
        "{place}: \"{folder}\" is named as an earlier season and is the output folder, too: writing there would destroy the record of that season. Nothing was written; give another folder with --out"
    )]
    OutIsPast {
        /// Where in the plan.
        place: Place,
        /// The folder.
        folder: String,
    },
    /// The same log of the same product, twice.
    #[error(
        "{place}: this log of {product} holds what \"{other}\" holds, byte for byte: what went out once would count twice. Take one of them out"
    )]
    SameLog {
        /// Where in the plan.
        place: Place,
        /// Name of the product.
        product: String,
        /// The other file.
        other: String,
    },
    /// A day that cannot be.
    #[error("{place}: {what}")]
    WrongDay {
        /// Where in the plan.
        place: Place,
        /// Which day, what it does not fit, and the way out.
        what: String,
    },
}

impl PastError {
    /// Where in the plan, or in which file.
    #[must_use]
    pub fn place(&self) -> &Place {
        match self {
            Self::NoRun { place, .. }
            | Self::Edited { place, .. }
            | Self::NotEarlier { place, .. }
            | Self::Twice { place, .. }
            | Self::OtherField { place, .. }
            | Self::NoSuchSeason { place, .. }
            | Self::LogElsewhere { place, .. }
            | Self::OutIsPast { place, .. }
            | Self::SameLog { place, .. }
            | Self::WrongDay { place, .. } => place,
        }
    }
}

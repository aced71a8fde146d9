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
    /// A zone that the prescription does not have.
    #[error("{place}: there is no zone {zone}; the zones are 1 to {zones}")]
    UnknownZone {
        /// Where in the plan.
        place: Place,
        /// The number.
        zone: u32,
        /// How many zones there are.
        zones: usize,
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
    /// No yield can be made of a file's columns.
    #[error(
        "{place}: no column is a yield, and no flow with which one could be calculated{}; say which it is under [results.columns] of the plan",
        besides(columns)
    )]
    NoYield {
        /// The file.
        place: Place,
        /// Columns that were not recognised.
        columns: String,
    },
    /// No column of a log is a rate.
    #[error(
        "{place}: no column is the rate that was applied{}; say which it is under [results.columns] of the plan, \"Rate\" = {{ is = \"applied_rate\", unit = \"gal/ac\" }}",
        besides(columns)
    )]
    NoAppliedRate {
        /// The file.
        place: Place,
        /// Columns that were not recognised.
        columns: String,
    },
    /// A flow without a time.
    #[error(
        "{place}: there is a flow, but no column of numbers says how long a record lasted (a clock such as 10:42:07 is not read); add a column of seconds and name it under [results.columns] of the plan, \"Interval\" = {{ is = \"seconds\" }}, or use a column of yields"
    )]
    NoSeconds {
        /// The file.
        place: Place,
    },
    /// A unit that is not known.
    #[error(
        "{place}: \"{unit}\" is not a unit of it, or no unit makes a possible yield; use one of {allowed}"
    )]
    UnknownUnit {
        /// The column.
        place: Place,
        /// The unit.
        unit: String,
        /// The units that would do.
        allowed: String,
    },
    /// The run laid no check strips.
    #[error(
        "\"{folder}\" holds a prescription without check strips: there is nothing to judge. Lay them before seeding, with [strips] in the plan"
    )]
    NoStrips {
        /// The folder.
        folder: String,
    },
    /// The plan names no harvest.
    #[error(
        "no harvest is named: write --results FILE, or a [[results]] table with kind = \"yield\" in the plan"
    )]
    NoResults,
    /// The same harvest twice.
    #[error(
        "{place}: its harvest ({field} {season}, or the same run) is in \"{earlier}\" already; one harvest counts once"
    )]
    PooledTwice {
        /// The second folder.
        place: Place,
        /// The first.
        earlier: String,
        /// Field.
        field: String,
        /// Season.
        season: u16,
    },
    /// Strips of one name that are not the same trial.
    #[error(
        "{place}: \"{treatment}\" has another crop, other products, strips with more in place of less, or another unit of yield than in \"{other}\"; pool trials of one kind, judged with the same units"
    )]
    NotPoolable {
        /// The folder that differs.
        place: Place,
        /// Name of the treatment.
        treatment: String,
        /// The folder it was compared with.
        other: String,
    },
    /// Folders whose verdicts judged nothing.
    #[error("no set of strips stands in the verdicts of these folders: there is nothing to pool")]
    NothingToPool,
    /// Several folders and a harvest.
    #[error(
        "several folders are pooled from the verdicts in them; judge each harvest first, lowstave verdict DIR --results FILE, and leave --results and --plan out here"
    )]
    PooledWithResults,
    /// The record of the run was changed.
    #[error(
        "\"{folder}\" holds a run.json whose strips do not lie where its own draw laid them, or that another version wrote: it was edited. A verdict rests on the layout as it was planted"
    )]
    EditedRun {
        /// The folder.
        folder: String,
    },
    /// The harvest does not lie on the strips.
    #[error("{place}: {what}")]
    NotOnTheStrips {
        /// The file.
        place: Place,
        /// What was seen, and the likely cause.
        what: String,
    },
    /// A place cannot be brought to degrees.
    #[error("a check strip cannot be brought to degrees: {0}")]
    Projection(#[source] ProjectionError),
}

/// The columns there are, where there are some.
fn besides(columns: &str) -> String {
    if columns.is_empty() {
        String::new()
    } else {
        format!("; not recognised: {columns}")
    }
}

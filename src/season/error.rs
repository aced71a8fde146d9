use crate::field::ProjectionError;
use crate::plan::Day;
use crate::provenance::Place;

/// Why readings of the season cannot be used.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SeasonError {
    /// No file of readings.
    #[error(
        "no readings are named: write --results FILE, or a [[results]] table with kind = \"stand\", \"emergence\", \"brix\", \"tissue\" or \"weather\" in the plan and --plan PLAN"
    )]
    NoResults,
    /// The run was edited.
    #[error(
        "\"{folder}\" {what}. Readings rest on the zones as they were planned: run \"lowstave plan\" again, into another folder"
    )]
    EditedRun {
        /// The folder.
        folder: String,
        /// What does not fit.
        what: String,
    },
    /// The plan or a row is of another field.
    #[error("{place}: {what}; the run in \"{folder}\" is of \"{field}\"")]
    OtherField {
        /// The file.
        place: Place,
        /// What was seen.
        what: String,
        /// Folder of the run.
        folder: String,
        /// Its field.
        field: String,
    },
    /// Readings that do not lie in the field.
    #[error("{place}: {what}")]
    NotInTheField {
        /// The file.
        place: Place,
        /// What was seen, and the likely cause.
        what: String,
    },
    /// A row without a place.
    #[error(
        "{place}: there is neither a place (lon, lat) nor a zone; write one of them in every row, so that it is known which zone was read"
    )]
    NoPlace {
        /// The row.
        place: Place,
    },
    /// A zone that the run does not have.
    #[error("{place}: there is no zone {found}; the zones of this run are 1 to {last}")]
    UnknownZone {
        /// The cell.
        place: Place,
        /// What stands there.
        found: String,
        /// The last zone.
        last: usize,
    },
    /// A strip that the run does not have.
    #[error("{place}: there is no check strip \"{found}\" in this run{known}")]
    UnknownStrip {
        /// The cell.
        place: Place,
        /// What stands there.
        found: String,
        /// The strips there are, in words.
        known: String,
    },
    /// Readings of another crop.
    #[error(
        "{place}: the crop is \"{found}\", but the run's is {crop}; give the readings of that crop"
    )]
    WrongCrop {
        /// The cell.
        place: Place,
        /// What stands there.
        found: String,
        /// The run's crop.
        crop: String,
    },
    /// A day before planting.
    #[error("{place}: {} lies before planting ({}); correct one of the two", day.show(), planted.show())]
    BeforePlanting {
        /// The cell.
        place: Place,
        /// The day.
        day: Day,
        /// Day of planting.
        planted: Day,
    },
    /// A day of another season.
    #[error("{place}: {} is not in the season {season} of the run; readings of another year belong to that year's run", day.show())]
    OtherSeason {
        /// The cell.
        place: Place,
        /// The day.
        day: Day,
        /// The season.
        season: u16,
    },
    /// A cell that is needed and empty.
    #[error("{place}: {what}; {help}")]
    Missing {
        /// The row or file.
        place: Place,
        /// What is missing.
        what: &'static str,
        /// The way out.
        help: &'static str,
    },
    /// A unit that does not fit, or none where one is needed.
    #[error(
        "{place}: {found}; its unit is one of {allowed}: write it behind the column's name, such as \"{example}\", or under [results.columns] of the plan"
    )]
    Unit {
        /// The column.
        place: Place,
        /// What stands there.
        found: String,
        /// What would do.
        allowed: &'static str,
        /// A column's name with its unit.
        example: &'static str,
    },
    /// A number that cannot be.
    #[error("{place}: {found} is not possible for {what} (possible: {allowed}){hint}")]
    Impossible {
        /// The cell.
        place: Place,
        /// What stands there.
        found: String,
        /// What it should be.
        what: &'static str,
        /// The range.
        allowed: &'static str,
        /// What it may be instead.
        hint: &'static str,
    },
    /// Cells that contradict each other.
    #[error("{place}: {what}; {help}")]
    Contradiction {
        /// The row.
        place: Place,
        /// What stands against what.
        what: String,
        /// The way out.
        help: &'static str,
    },
    /// More of the same.
    #[error("{place}: {count} more rows of this file cannot be used for reasons like these")]
    More {
        /// The file.
        place: Place,
        /// How many.
        count: usize,
    },
    /// A crop that the rulebook does not know.
    #[error(
        "the run's crop \"{crop}\" is not in the rulebook; give the plan with its rulebook by --plan"
    )]
    UnknownCrop {
        /// The crop.
        crop: String,
    },
    /// A place cannot be brought to the field's plane.
    #[error("a place of \"{file}\" cannot be brought to the field: {cause}")]
    Projection {
        /// The file.
        file: String,
        /// What PROJ said.
        #[source]
        cause: ProjectionError,
    },
    /// A number in a file cannot be read.
    #[error(transparent)]
    Intake(#[from] crate::intake::IntakeError),
}

impl SeasonError {
    /// Where it stands, where that is known.
    #[must_use]
    pub fn place(&self) -> Option<&Place> {
        match self {
            Self::OtherField { place, .. }
            | Self::NotInTheField { place, .. }
            | Self::NoPlace { place }
            | Self::UnknownZone { place, .. }
            | Self::UnknownStrip { place, .. }
            | Self::WrongCrop { place, .. }
            | Self::BeforePlanting { place, .. }
            | Self::OtherSeason { place, .. }
            | Self::Missing { place, .. }
            | Self::Unit { place, .. }
            | Self::Impossible { place, .. }
            | Self::Contradiction { place, .. }
            | Self::More { place, .. } => Some(place),
            Self::Intake(error) => Some(error.place()),
            _ => None,
        }
    }
}

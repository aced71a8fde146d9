use thiserror::Error;

use crate::provenance::Place;

/// Why no diagnosis can be made.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum DiagnosisError {
    /// A crop that the rulebook does not know.
    #[error(
        "{place}: the rulebook does not know the crop \"{crop}\"{}; it knows {known}; a [crop.<name>] table in your own rulebook file adds one",
        nearest.as_ref().map(|word| format!("; did you mean \"{word}\"?")).unwrap_or_default()
    )]
    UnknownCrop {
        /// Where the plan says it.
        place: Place,
        /// The word.
        crop: String,
        /// The nearest crop known.
        nearest: Option<String>,
        /// The crops known.
        known: String,
    },
    /// The zones do not belong to the field's grid.
    #[error(
        "the zones cover {zoned} cells but the field has {cells}; zones and field must come from the same run"
    )]
    OtherGrid {
        /// Cells of the zones.
        zoned: usize,
        /// Cells of the field.
        cells: usize,
    },
    /// A cell that belongs to a zone that is not there.
    #[error(
        "cell {cell} belongs to zone {zone}, but there are only {zones} zones; zones and field must come from the same run"
    )]
    NoSuchZone {
        /// Position of the cell.
        cell: usize,
        /// Index of the zone.
        zone: u16,
        /// Number of zones.
        zones: usize,
    },
    /// A map whose cells are not the field's.
    #[error(
        "the map of {layer} has {found} cells but the field has {cells}; surfaces and field must come from the same run"
    )]
    OtherMap {
        /// The layer.
        layer: String,
        /// Cells of the map.
        found: usize,
        /// Cells of the field.
        cells: usize,
    },
}

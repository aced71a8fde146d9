use std::sync::Arc;

use thiserror::Error;

use super::ProjectionError;
use crate::provenance::Place;

/// Why the survey cannot be laid on a field.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum FieldError {
    /// A file's coordinates cannot be brought to the field's plane.
    #[error("{place}: {cause}")]
    Projection {
        /// The file.
        place: Place,
        /// What went wrong.
        cause: ProjectionError,
    },
    /// PROJ would have to ignore the datum.
    #[error(
        "{place}: the way from \"{crs}\" to WGS 84 is not known well enough (\"{route}\"): places may be off by hundreds of metres; \
         export the data in WGS 84 degrees (EPSG:4326)"
    )]
    Ballpark {
        /// The file.
        place: Place,
        /// The coordinate system.
        crs: String,
        /// The operation's name.
        route: String,
    },
    /// The boundary spans more than a field can.
    #[error(
        "{place}: the boundary spans {kilometres:.0} km; a field of more than {limit_kilometres:.0} km is not believable: check the crs of the boundary"
    )]
    TooLarge {
        /// The file.
        place: Place,
        /// Greatest extent found.
        kilometres: f64,
        /// Greatest extent allowed.
        limit_kilometres: f64,
    },
    /// The boundary encloses next to nothing.
    #[error(
        "{place}: the boundary encloses {square_metres:.1} m², which is no field; check the crs and the order of x and y"
    )]
    TooSmall {
        /// The file.
        place: Place,
        /// Area found.
        square_metres: f64,
    },
    /// Parts or holes of the boundary lie where they cannot.
    #[error("{place}: the boundary cannot be worked: {what}; mend it in the program that drew it")]
    Outline {
        /// The file.
        place: Place,
        /// What is wrong.
        what: &'static str,
    },
    /// A keep-out lies so far off that its coordinates must be wrong.
    #[error(
        "{place}: the keep-out \"{why}\" lies wholly outside the field{off}, and keeps nothing out: {cause}"
    )]
    KeepOutElsewhere {
        /// The file.
        place: Place,
        /// Its reason in the plan.
        why: String,
        /// How far off and where to, with a comma before it; empty where that cannot be told.
        off: String,
        /// The slip that explains it, and what to do.
        cause: String,
    },
    /// A setback that nobody can mean.
    #[error(
        "{place}: a distance of more than {limit_kilometres:.0} km round a keep-out is not believable: check its number and unit"
    )]
    DistanceTooWide {
        /// The plan file, at the keep-out.
        place: Place,
        /// The most.
        limit_kilometres: f64,
    },
    /// Keep-outs leave nothing to work.
    #[error(
        "{place}: the keep-outs cover the whole field; check their crs and distance (a line that ends where it began keeps its inside out)"
    )]
    NothingLeft {
        /// The plan file, at the keep-outs.
        place: Place,
    },
    /// The grid would not fit in memory.
    #[error(
        "{place}: cells of {cell_m} m make a grid of {columns} x {rows} = {cells} cells; the limit is {limit}: use cells of {fitting_m} m or more"
    )]
    GridTooFine {
        /// The plan file, at `grid.cell`.
        place: Place,
        /// The cell asked for.
        cell_m: f64,
        /// Columns it would take.
        columns: f64,
        /// Rows it would take.
        rows: f64,
        /// Cells it would take.
        cells: f64,
        /// Most cells allowed.
        limit: usize,
        /// A cell that fits.
        fitting_m: f64,
    },
    /// A cell is as large as the field.
    #[error(
        "{place}: a cell of {cell_m} m is larger than the field ({extent_m:.0} m); use a smaller cell"
    )]
    GridTooCoarse {
        /// The plan file, at `grid.cell`.
        place: Place,
        /// The cell asked for.
        cell_m: f64,
        /// The field's lesser extent.
        extent_m: f64,
    },
    /// Points and boundary meet when x and y change places.
    #[error(
        "{place}: no point lies near the boundary, but they do when x and y change places: write x = \"{y}\" and y = \"{x}\" in the plan"
    )]
    Swapped {
        /// The file of points.
        place: Place,
        /// Column or axis taken as x.
        x: Arc<str>,
        /// Column or axis taken as y.
        y: Arc<str>,
    },
    /// No point of a file lies on the field.
    #[error(
        "{place}: all {count} points lie outside the boundary, the nearest {distance} away to the {direction}{hint}"
    )]
    AllOutside {
        /// The file of points.
        place: Place,
        /// How many.
        count: usize,
        /// Distance of the nearest, with unit.
        distance: String,
        /// Compass direction from the field.
        direction: &'static str,
        /// What may be wrong.
        hint: String,
    },
    /// There is too little to work with.
    #[error("{place}: {usable} usable point(s) on the field; at least {least} are needed")]
    TooFewPoints {
        /// The plan file, at the points.
        place: Place,
        /// How many there are.
        usable: usize,
        /// How many are needed.
        least: usize,
    },
}

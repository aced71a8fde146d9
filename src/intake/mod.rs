//! Stage 2: files become a [`Survey`]: located observations with analyte, method, unit, depth and qualifier,
//! and a list of remarks. No value is dropped or changed without a remark that names file, row and column.
//!
//! Files of shapes (GeoJSON, shapefile, KML, GPX) are read whole with limits on size, nesting and vertices. Tables of
//! text are streamed: what stays in memory is the numbers that are kept.
//!
//! Its rooms stand in the order of the data: `formats` (bytes to rows or shapes) > `columns` (what a column is) > `table` > `derive`.

mod boundary;
mod boundary_choice;
mod columns;
mod context;
mod derive;
mod dissolve;
mod draft;
mod error;
mod formats;
mod from_bytes;
mod inner_shapes;
mod leave_out;
mod read;
mod season_cells;
mod season_file;
mod season_names;
mod sign_check;
mod source;
mod survey;
mod table;
mod text_table;
mod yield_file;

use std::sync::Arc;

use crate::provenance::Place;

pub use context::ReadingRules;
pub use draft::{ColumnHead, Draft, column_heads, draft_plan};
pub use error::IntakeError;
pub use formats::shapes::{ShapeFormat, shape_format};
pub use from_bytes::{boundary_from_bytes, points_from_bytes};
pub use read::{plan_files, read};
pub use season_file::{SeasonFile, SeasonRow, read_season_file};
pub use season_names::SeasonColumn;
pub use survey::{
    AreaShape, ConeProfiles, InputFile, LayerColumn, LayerSummary, PointTable, Qualifier, Survey,
};
pub use text_table::{TextTable, read_text_table};
pub use yield_file::{
    HARVEST_COLUMNS, LOG_COLUMNS, SaidColumn, YieldColumn, YieldFile, read_yield_file,
};

/// The place of a file named in a table.
fn provenance_of(file: &Arc<str>) -> Place {
    Place::file(Arc::clone(file))
}

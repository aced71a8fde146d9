//! Stage 2: files become a [`Survey`]: located observations with analyte, method, unit, depth and qualifier,
//! and a list of remarks. No value is dropped or changed without a remark that names file, row and column.
//!
//! Files of shapes (GeoJSON, shapefile, KML, GPX) are read whole with limits on size, nesting and vertices. Tables of
//! text are streamed: what stays in memory is the numbers that are kept.

mod boundary;
mod cell;
mod columns;
mod cone;
mod cone_layers;
mod cone_profiles;
mod cone_remarks;
mod cone_roles;
mod context;
mod coordinates;
mod dates;
mod dbase;
mod delimited;
mod depth_mark;
mod derived;
mod draft;
mod duplicates;
mod error;
mod from_bytes;
mod geojson;
mod join;
mod last_row;
mod layers;
mod long;
mod modus;
mod name_check;
mod nearest;
mod no_numbers;
mod number_style;
mod read;
mod result_column;
mod result_unit;
mod rings;
mod roles;
mod row_depth;
mod shape_table;
mod shapefile;
mod shapes;
mod sign_check;
mod source;
mod survey;
mod table;
mod table_roles;
mod tally;
mod unused;
mod xml;

use std::sync::Arc;

use crate::provenance::Place;

pub use context::ReadingRules;
pub use draft::draft_plan;
pub use error::IntakeError;
pub use from_bytes::{boundary_from_bytes, points_from_bytes};
pub use read::read;
pub use shapes::{ShapeFormat, shape_format};
pub use survey::{
    AreaShape, ConeProfiles, InputFile, LayerColumn, LayerSummary, PointTable, Qualifier, Survey,
};

/// The place of a file named in a table.
fn provenance_of(file: &Arc<str>) -> Place {
    Place::file(Arc::clone(file))
}

//! Bytes to rows or shapes. Nothing here knows what a column or a shape means.

mod archive;
mod dbase;
pub(in crate::intake) mod delimited;
mod geojson;
#[cfg(feature = "geopackage")]
mod geopackage;
#[cfg(feature = "geoparquet")]
mod geoparquet;
pub(in crate::intake) mod modus;
pub(in crate::intake) mod read_shapes;
pub(in crate::intake) mod rings;
mod shapefile;
pub(in crate::intake) mod shapes;
pub(in crate::intake) mod spreadsheet;
pub(in crate::intake) mod text_rows;
#[cfg(any(feature = "geopackage", feature = "geoparquet"))]
mod wkb;
mod xml;

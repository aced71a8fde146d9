//! Every format that a run writes. To add one: write its file with a function `files`, and name that function here.

use super::error::DeliverError;
use super::format_input::FormatInput;
#[cfg(feature = "geopackage")]
use super::geopackage;
use super::output_file::OutputFile;
use super::{
    geojson, geotiff, mix, records, report_html, report_text, season, shapefile, strips, task_data,
};

/// Turns what came out into the files of one format.
pub type Format = fn(&FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError>;

/// The formats, the longest work first. `run.json` is made last, because it lists the others.
pub const FORMATS: &[Format] = &[
    report_html::files,
    geotiff::files,
    #[cfg(feature = "geopackage")]
    geopackage::files,
    task_data::files,
    geojson::files,
    strips::files,
    shapefile::files,
    report_text::files,
    mix::files,
    season::files,
    records::files,
];

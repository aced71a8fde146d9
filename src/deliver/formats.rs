//! Every format that a run writes. To add one: write its file with a function `files`, and name that function here.

use super::error::DeliverError;
use super::format_input::FormatInput;
#[cfg(feature = "geopackage")]
use super::geopackage;
use super::options::FilesMade;
use super::output_file::OutputFile;
use super::{
    geojson, geotiff, mix, records, report_html, report_text, season, shapefile, strips, task_data,
};

/// Turns what came out into the files of one format.
pub type Format = fn(&FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError>;

/// The formats, the longest work first. `run.json` is made last, because it lists the others.
const FORMATS: &[Format] = &[
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

/// The map of the zones alone.
const MAP_ALONE: &[Format] = &[geojson::files];

/// The formats that are made.
#[must_use]
pub fn formats(made: FilesMade) -> &'static [Format] {
    match made {
        FilesMade::All => FORMATS,
        FilesMade::MapAlone => MAP_ALONE,
    }
}

//! Stage 8: everything becomes files. Each format turns values into bytes; one place writes them, complete or not at all.
//!
//! ```text
//! StageValues -> Overview (joined by number, audited) -> one writer per format -> Delivery -> staging
//!                     \-> Review (the facts in words) -> report.txt, report.html, run.json -> explain
//! ```

mod audit;
mod colours;
mod columns;
mod degrees;
mod delivery;
mod error;
mod escape;
mod explain;
mod farm;
mod finished_ground;
mod finished_run;
mod follow;
mod format_input;
mod geojson;
#[cfg(feature = "geopackage")]
mod geopackage;
mod geotiff;
mod mix;
mod numbers;
mod options;
mod output_file;
mod overview;
mod ownership;
mod pieces;
mod properties;
mod records;
mod recovery;
mod remark_lines;
mod report_html;
mod report_text;
mod review;
mod run_record;
mod season;
mod season_values;
mod shapefile;
mod sheet;
mod since_last_time;
mod stage_values;
mod staging;
mod strips;
mod task_data;
mod verdict;
mod zone_view;

pub use delivery::{Delivery, ProductSummary, Summary, ZoneSummary};
pub use error::DeliverError;
pub use escape::csv as csv_cell;
pub use explain::{explain, zone_in_words};
pub use farm::{FarmField, FarmInput, FarmProblem, FieldFacts, Shared, StockLine, farm_files};
pub use finished_ground::RunGround;
pub use finished_run::{Change, FinishedRun, RunFacts};
pub use follow::{FollowInput, ReadSeasonFile, follow_files, follow_lines};
pub use numbers::{grouped, with_commas};
pub use options::{DeliverOptions, FilesMade, TaskDataForm};
pub use output_file::OutputFile;
pub(crate) use ownership::require_ours;
pub use review::{
    FindingFacts, FixFacts, ProfileFacts, RateFacts, TestLine, WorthLine, ZoneReview,
};
pub use run_record::{RECORD_FORM, ReadMachine, ReadSettings, ReadSupply, WrittenFile};
pub use season_values::SeasonValues;
pub use sheet::{
    RasterPart, SampleFacts, SampleFile, SampleValue, Sheet, chapter, cones, difference, raster,
    sample_facts, sample_files, sample_values,
};
pub use stage_values::StageValues;
pub use staging::{WriteOptions, remove_file, write, write_file, write_set, write_with};
pub(crate) use staging::{move_result, throw_away};
pub use verdict::{
    EarlierGain, EarlierInput, EarlierSet, EarlierVerdict, PooledTreatment, PooledTrial,
    ReadColumn, VerdictInput, pooled_files, pooled_lines, verdict_files, verdict_lines,
};

use format_input::FormatInput;
use overview::Overview;
use rayon::prelude::*;
use review::Review;

/// Turns what came out into the files of one format.
type Format = fn(&FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError>;

/// Every format that a run writes, the longest work first. To add one: write its file with a function `files`, and name it here and among
/// the modules above. `run.json` is made last, because it lists the others.
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

/// The formats that are made.
fn formats(made: FilesMade) -> &'static [Format] {
    match made {
        FilesMade::All => FORMATS,
        FilesMade::MapAlone => &[geojson::files],
    }
}

/// Makes all files of a run. Nothing is written; the same values give the same bytes on any number of threads.
///
/// # Errors
/// Where the stages' values do not fit together, so that no half-true prescription is delivered.
pub fn prepare(
    stages: &StageValues<'_>,
    options: &DeliverOptions,
) -> Result<Delivery, DeliverError> {
    let overview = Overview::new(stages)?;
    audit::audit(&overview)?;
    let review = Review::new(&overview);
    let input = FormatInput {
        overview: &overview,
        review: &review,
        options: *options,
    };
    let made: Vec<Vec<OutputFile>> = formats(options.made)
        .par_iter()
        .map(|files| files(&input))
        .collect::<Result<_, _>>()?;
    let mut files: Vec<OutputFile> = made.into_iter().flatten().collect();
    files.sort_by(|a, b| a.path.cmp(&b.path));
    let mut names: Vec<String> = files
        .iter()
        .map(|file| file.path.clone())
        .chain([run_record::RUN_FILE.to_owned()])
        .collect();
    names.sort();
    if options.made == FilesMade::All {
        let record = run_record::record(&overview, &review, &files)?;
        files.push(OutputFile::new(run_record::RUN_FILE, record));
    }
    Ok(Delivery {
        files,
        summary: Summary::new(&overview, &review.first, names),
        facts: FieldFacts::new(&overview, &review)?,
    })
}

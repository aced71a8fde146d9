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
mod geojson;
#[cfg(feature = "geopackage")]
mod geopackage;
mod geotiff;
mod mix;
mod overview;
mod ownership;
mod properties;
mod report_html;
mod report_text;
mod review;
mod run_record;
mod shapefile;
mod stage_values;
mod staging;
mod task_data;

pub use delivery::{
    DeliverOptions, Delivery, OutputFile, ProductSummary, Summary, TaskDataForm, ZoneSummary,
};
pub use error::DeliverError;
pub use explain::{explain, zone_review};
pub use review::{FindingFacts, FixFacts, ProfileFacts, RateFacts, ZoneReview};
pub use stage_values::StageValues;
pub use staging::{write, write_file};

use geotiff::Shown;
use overview::Overview;
use rayon::prelude::*;
use review::Review;

/// Makes all files of a run. Nothing is written; the same case gives the same bytes on any number of threads.
///
/// # Errors
/// Where the stages' values do not fit together, so that no half-true prescription is delivered.
pub fn prepare(
    stages: &StageValues<'_>,
    options: &DeliverOptions,
) -> Result<Delivery, DeliverError> {
    let overview = Overview::new(stages)?;
    let review = Review::new(&overview);
    let made: Vec<Vec<OutputFile>> = Job::all(&overview, *options)
        .into_par_iter()
        .map(|job| job.run(&overview, &review))
        .collect::<Result<_, _>>()?;
    let mut files: Vec<OutputFile> = made.into_iter().flatten().collect();
    files.sort_by(|a, b| a.path.cmp(&b.path));
    let mut names: Vec<String> = files
        .iter()
        .map(|file| file.path.clone())
        .chain([run_record::RUN_FILE.to_owned()])
        .collect();
    names.sort();
    files.push(OutputFile::new(
        run_record::RUN_FILE,
        run_record::record(&overview, &review, &names)?,
    ));
    Ok(Delivery {
        files,
        summary: Summary::new(&overview, names),
    })
}

/// A piece of work that gives one or several files and needs none of the others.
#[derive(Debug, Clone, Copy)]
enum Job {
    GeoJson,
    #[cfg(feature = "geopackage")]
    GeoPackage,
    ReportText,
    ReportHtml,
    Shapefiles,
    TaskData(TaskDataForm),
    Mix,
    Layer(usize, Shown),
}

impl Job {
    /// All work, the longest pieces first.
    fn all(overview: &Overview<'_>, options: DeliverOptions) -> Vec<Self> {
        let mut jobs = vec![
            Self::ReportHtml,
            #[cfg(feature = "geopackage")]
            Self::GeoPackage,
            Self::TaskData(options.task_data),
            Self::GeoJson,
            Self::Shapefiles,
            Self::ReportText,
            Self::Mix,
        ];
        let layers = 0..overview.stages.surfaces.surfaces.len();
        jobs.extend(layers.flat_map(|layer| {
            [
                Self::Layer(layer, Shown::Values),
                Self::Layer(layer, Shown::StandardError),
            ]
        }));
        jobs
    }

    fn run(
        self,
        overview: &Overview<'_>,
        review: &Review,
    ) -> Result<Vec<OutputFile>, DeliverError> {
        let one = |path: &str, bytes: Vec<u8>| Ok(vec![OutputFile::new(path, bytes)]);
        let stages = overview.stages;
        match self {
            Self::GeoJson => one(
                "prescription.geojson",
                geojson::prescription(overview).into_bytes(),
            ),
            #[cfg(feature = "geopackage")]
            Self::GeoPackage => one(geopackage::PATH, geopackage::package(overview)?),
            Self::ReportText => one(
                "report.txt",
                report_text::report(overview, review).into_bytes(),
            ),
            Self::ReportHtml => one(
                "report.html",
                report_html::report(overview, review).into_bytes(),
            ),
            Self::Shapefiles => Ok(shapefile::files(overview)),
            Self::TaskData(form) => one(task_data::PATH, task_data::package(overview, form)?),
            Self::Mix => {
                let sheet = mix::Sheet::new(overview);
                Ok(vec![
                    OutputFile::new("mix.csv", mix::table(&sheet)),
                    OutputFile::new("mix.txt", mix::page(overview, &sheet)),
                ])
            }
            Self::Layer(layer, shown) => {
                let surface = &stages.surfaces.surfaces[layer];
                one(
                    &geotiff::path(surface, shown),
                    geotiff::geotiff(surface, shown, &stages.field.grid, &stages.field.crs),
                )
            }
        }
    }
}

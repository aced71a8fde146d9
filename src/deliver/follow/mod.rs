//! What the season's readings say and what to feed: `follow.txt`, `follow.html`, `follow.json`, and for each leaf feed a map, a mix sheet and the
//! files of the controller, by the same writers as the prescription's.

mod first_page;
mod json;
mod page;
mod pictures;
mod stages;
mod tank;
mod text;
mod words;

use rayon::prelude::*;

use super::error::DeliverError;
use super::finished_ground::RunGround;
use super::finished_run::RunFacts;
use super::format_input::FormatInput;
use super::options::DeliverOptions;
use super::output_file::OutputFile;
use super::overview::Overview;
use super::properties::feed_properties;
use super::review::Review;
use super::{geojson, mix, shapefile, task_data};
use crate::intake::{InputFile, SeasonColumn};
use crate::plan::ResultKind;
use crate::remark::Remark;
use crate::rulebook::Rulebook;
use crate::season::{SeasonReview, SeasonSettings};
use stages::FeedStages;

/// A file as it was read: name, what it holds, its columns and those that were not used.
#[derive(Debug, Clone)]
pub struct ReadSeasonFile {
    /// The file.
    pub file: String,
    /// What it holds.
    pub kinds: Vec<ResultKind>,
    /// The columns that were recognised.
    pub columns: Vec<SeasonColumn>,
    /// Columns that were not used.
    pub unused: Vec<String>,
    /// How many rows it has.
    pub rows: usize,
}

/// All that the files are made from.
#[derive(Debug)]
pub struct FollowInput {
    /// The run.
    pub facts: RunFacts,
    /// Its ground.
    pub ground: RunGround,
    /// The rulebook in force.
    pub rulebook: Rulebook,
    /// What the user said of the season.
    pub settings: SeasonSettings,
    /// What the readings say, and what to feed.
    pub review: SeasonReview,
    /// The files as they were read.
    pub files: Vec<ReadSeasonFile>,
    /// The files, for the record.
    pub inputs: Vec<InputFile>,
    /// What there is to say.
    pub remarks: Vec<Remark>,
}

/// Makes the files. Nothing is written.
///
/// # Errors
/// Where values do not fit together, or a file cannot be made.
pub fn follow_files(input: &FollowInput) -> Result<Vec<OutputFile>, DeliverError> {
    let made: Vec<Vec<OutputFile>> = (0..input.review.foliar.feeds.len())
        .into_par_iter()
        .map(|at| feed_files(input, at))
        .collect::<Result<_, _>>()?;
    let mut files: Vec<OutputFile> = made.into_iter().flatten().collect();
    let stages = FeedStages::of_all(input);
    let values = stages.values();
    let overview = Overview::new(&values)?;
    let sheet = first_page::sheet(input, &overview);
    files.push(text::file(input, &sheet));
    files.push(page::file(input, &overview, &sheet));
    files.sort_by(|a, b| a.path.cmp(&b.path));
    files.push(json::file(input, &files)?);
    Ok(files)
}

/// The map, the mix sheet and the controller's files of one feed.
fn feed_files(input: &FollowInput, at: usize) -> Result<Vec<OutputFile>, DeliverError> {
    let stages = FeedStages::of_feed(input, at);
    let values = stages.values();
    let overview = Overview::new(&values)?;
    super::audit::audit(&overview)?;
    let review = Review::new(&overview);
    let format = FormatInput {
        overview: &overview,
        review: &review,
        options: DeliverOptions::default(),
    };
    let number = at + 1;
    let mut files = Vec::new();
    let map = geojson::map(&overview, &|piece| feed_properties(&overview, piece))?;
    files.push(OutputFile::new(format!("foliar-{number}.geojson"), map));
    let controller = shapefile::files(&format)?
        .into_iter()
        .chain(task_data::files(&format)?);
    for mut file in controller {
        let rest = file.path.trim_start_matches("controller/");
        file.path = format!("controller/foliar-{number}/{rest}");
        files.push(file);
    }
    let sheet = mix::Sheet::new(&overview);
    files.push(OutputFile::new(
        format!("foliar-{number}-mix.csv"),
        mix::table(&sheet),
    ));
    files.push(tank::file(input, at, &sheet));
    Ok(files)
}

/// The short of it for the terminal.
#[must_use]
pub fn follow_lines(input: &FollowInput) -> Vec<String> {
    text::summary(input)
}

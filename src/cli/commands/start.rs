//! `lowstave start DIR --boundary B --points P...`: a commented plan file from the files' own columns.

use std::path::PathBuf;

use clap::Args;
use serde::Serialize;

use crate::cli::color::Tone;
use crate::cli::interrupt::Interrupt;
use crate::cli::page::Page;
use crate::cli::progress::Progress;
use crate::cli::terminal::Terminal;
use crate::deliver::{self, DeliverError};
use crate::engine::{self, Grant};
use crate::error::{Error, Failure, Outcome};
use crate::files::Files;

/// Arguments of `start`.
#[derive(Debug, Args)]
pub struct StartArguments {
    /// Folder that the plan file is written to, as DIR/plan.toml
    #[arg(value_name = "DIR")]
    pub folder: PathBuf,
    /// The field's boundary: GeoJSON or shapefile
    #[arg(long, value_name = "FILE")]
    pub boundary: PathBuf,
    /// Files of cores, cone pushes or readings: CSV, GeoJSON or shapefile; none for a field that is still to be sampled
    #[arg(long, value_name = "FILE", num_args = 1..)]
    pub points: Vec<PathBuf>,
    /// Overwrite a plan file that is there already
    #[arg(long)]
    pub force: bool,
}

/// The plan file's name in its folder.
const PLAN_FILE: &str = "plan.toml";
/// What marks a line of the draft that was not in the files, or that lacks something.
const MARKS: [&str; 2] = ["# GUESS", "# LOOK"];

/// The result for machines.
#[derive(Debug, Serialize)]
struct StartRecord {
    outcome: Outcome,
    exit_code: u8,
    plan: String,
    marked_rows: Vec<usize>,
}

pub(super) fn run(
    arguments: &StartArguments,
    terminal: Terminal,
    interrupt: &Interrupt,
) -> Result<Outcome, Failure> {
    let progress = Progress::new(terminal, Grant::default());
    progress.doing("reading the files");
    let draft = engine::draft(
        &Files::folder(""),
        &arguments.boundary,
        &arguments.points,
        &arguments.folder,
    )?;
    let path = arguments.folder.join(PLAN_FILE);
    interrupt
        .while_writing(|_| deliver::write_file(&path, draft.as_bytes(), arguments.force))
        .map_err(|error| match error {
            DeliverError::Exists { path } => Error::PlanExists { path },
            other => other.into(),
        })?;
    drop(progress);
    let plan = path.display().to_string();
    let is_marked = |line: &str| MARKS.iter().any(|mark| line.contains(mark));
    let marked_rows: Vec<usize> = (1..)
        .zip(draft.lines())
        .filter(|(_, line)| is_marked(line))
        .map(|(row, _)| row)
        .collect();
    let mut page = Page::default();
    page.line(Tone::Strong, format!("wrote {plan}"));
    page.line(
        Tone::Plain,
        format!(
            "{} lines are marked GUESS or LOOK: check them in an editor",
            marked_rows.len()
        ),
    );
    page.line(Tone::Plain, format!("then run: lowstave check {plan}"));
    let outcome = Outcome::Done;
    terminal.result(
        &page,
        &StartRecord {
            outcome,
            exit_code: outcome.code(),
            plan,
            marked_rows,
        },
    )?;
    Ok(outcome)
}

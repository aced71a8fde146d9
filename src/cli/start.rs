//! `lowstave start DIR --boundary B --points P...`: a commented plan file from the files' own columns.

use serde::Serialize;

use super::arguments::StartArguments;
use super::color::Tone;
use super::page::Page;
use super::progress::Progress;
use super::terminal::Terminal;
use crate::error::{Failure, Outcome};
use crate::{deliver, intake};

/// The plan file's name in its folder.
const PLAN_FILE: &str = "plan.toml";
/// What marks a line of the draft that was not in the files.
const GUESS: &str = "GUESS";

/// The result for machines.
#[derive(Debug, Serialize)]
struct StartRecord {
    outcome: Outcome,
    exit_code: u8,
    plan: String,
    guessed_lines: Vec<usize>,
}

pub(super) fn run(arguments: &StartArguments, terminal: Terminal) -> Result<Outcome, Failure> {
    let progress = Progress::new(terminal.shows_progress());
    progress.doing("reading the files");
    let draft = intake::draft_plan(&arguments.boundary, &arguments.points, &arguments.folder)?;
    let path = arguments.folder.join(PLAN_FILE);
    deliver::write_file(&path, draft.as_bytes(), arguments.force)?;
    drop(progress);
    let plan = path.display().to_string();
    let guessed_lines: Vec<usize> = (1..).zip(draft.lines()).filter(|(_, line)| is_guess(line)).map(|(row, _)| row).collect();
    let mut page = Page::default();
    page.line(Tone::Strong, format!("wrote {plan}"));
    page.line(Tone::Plain, format!("{} lines are guesses and marked {GUESS}: check them in an editor", guessed_lines.len()));
    page.line(Tone::Plain, format!("then run: lowstave check {plan}"));
    let outcome = Outcome::Done;
    terminal.result(&page, &StartRecord { outcome, exit_code: outcome.code(), plan, guessed_lines })?;
    Ok(outcome)
}

/// Whether a line of the draft says something that was guessed.
fn is_guess(line: &str) -> bool {
    !line.trim_start().starts_with('#') && line.contains(GUESS)
}

//! The command line: reads the arguments, runs the stages in order, prints the result to stdout and talk to stderr.

mod color;
mod column_table;
mod commands;
mod common_options;
mod farm_check;
mod farm_page;
mod farm_progress;
mod interrupt;
mod layer_table;
mod machine;
mod page;
mod plan_page;
mod progress;
mod start_guesses;
mod terminal;
mod threads;
mod written_results;

use std::ffi::OsString;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::process::ExitCode;

use color::Tone;
use interrupt::Interrupt;
use page::Page;
use terminal::Terminal;

use crate::error::{Error, Outcome};
use crate::remark::{Level, Remark};

/// Runs the program on its arguments (the first is the program's name) and gives its exit code.
#[must_use]
pub fn main(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let arguments = match commands::parse(arguments) {
        Ok(arguments) => arguments,
        Err(code) => return ExitCode::from(code),
    };
    let common = &arguments.common;
    let terminal = Terminal::new(common.json, common.quiet, common.color);
    let interrupt = Interrupt::listen();
    // A defect must not look like a result: whatever happens, the exit code is one of the four.
    let result = catch_unwind(AssertUnwindSafe(|| {
        threads::on_threads(common.threads, terminal, || {
            commands::run(&arguments, terminal, &interrupt)
        })
    }));
    let outcome = match result {
        Ok(Ok(outcome)) => outcome,
        Ok(Err(failure)) => {
            terminal.failure(&failure);
            failure.outcome()
        }
        Err(_) => {
            terminal.failure(&Error::Defect.into());
            Outcome::Failed
        }
    };
    let stopped = interrupt.code().filter(|_| outcome == Outcome::Failed);
    ExitCode::from(stopped.unwrap_or(outcome.code()))
}

/// How a command ends that could be done.
fn outcome_of(remarks: &[Remark]) -> Outcome {
    if remarks.iter().any(|remark| remark.level == Level::Warning) {
        Outcome::Look
    } else {
        Outcome::Done
    }
}

/// How many remarks there are, in words.
fn count_remarks(remarks: &[Remark]) -> Page {
    let count = |level| {
        remarks
            .iter()
            .filter(|remark| remark.level == level)
            .count()
    };
    let (looks, guesses, notes) = (
        count(Level::Warning),
        count(Level::Assumption),
        count(Level::Info),
    );
    let mut page = Page::default();
    if looks + guesses + notes > 0 {
        let tone = if looks > 0 { Tone::Look } else { Tone::Faint };
        page.line(
            tone,
            format!("{looks} to look at, {guesses} guessed, {notes} noted"),
        );
    }
    page
}

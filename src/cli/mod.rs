//! The command line: reads the arguments, runs the stages in order, prints the result to stdout and talk to stderr.

mod arguments;
mod check;
mod color;
mod column_table;
mod cores;
mod explain;
mod follow;
mod interrupt;
mod layer_table;
mod machine;
mod manual;
mod page;
mod plan;
mod plan_page;
mod progress;
mod rulebook;
mod start;
mod start_guesses;
mod terminal;
mod threads;
mod verdict;

use std::ffi::OsString;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;
use std::process::ExitCode;

use arguments::{Arguments, Command};
use color::Tone;
use interrupt::Interrupt;
use page::Page;
use terminal::Terminal;

use crate::error::{Error, Failure, Outcome};
use crate::remark::{Level, Remark};

/// Runs the program on its arguments (the first is the program's name) and gives its exit code.
#[must_use]
pub fn main(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let arguments = match arguments::parse(arguments) {
        Ok(arguments) => arguments,
        Err(code) => return ExitCode::from(code),
    };
    let talk = &arguments.talk;
    let terminal = Terminal::new(talk.json, talk.quiet, talk.color);
    let interrupt = Interrupt::listen();
    // A defect must not look like a result: whatever happens, the exit code is one of the four.
    let result = catch_unwind(AssertUnwindSafe(|| {
        threads::on_threads(talk.threads, terminal, || {
            run(&arguments, terminal, &interrupt)
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

fn run(
    arguments: &Arguments,
    terminal: Terminal,
    interrupt: &Interrupt,
) -> Result<Outcome, Failure> {
    let grant = |out: Option<&Path>| machine::grant(arguments.talk.memory, out);
    match &arguments.command {
        Command::Start(arguments) => start::run(arguments, terminal, interrupt),
        Command::Check(arguments) => check::run(arguments, terminal, grant),
        Command::Plan(arguments) => plan::run(arguments, terminal, interrupt, grant),
        Command::Explain(arguments) => explain::run(arguments, terminal),
        Command::Follow(arguments) => follow::run(arguments, terminal, interrupt),
        Command::Verdict(arguments) => verdict::run(arguments, terminal, interrupt),
        Command::Completions { shell } => manual::completions(*shell, terminal),
        Command::Manual { command } => manual::run(command.as_deref(), terminal),
        Command::Cores(arguments) => cores::run(arguments, terminal, interrupt, grant),
        Command::Rulebook(arguments) => rulebook::run(arguments, terminal),
    }
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

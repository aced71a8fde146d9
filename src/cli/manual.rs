//! `lowstave completions SHELL` and `lowstave manual`: made from the same definitions as the help.

use clap_complete::Shell;
use serde::Serialize;

use super::arguments;
use super::color::Tone;
use super::page::Page;
use super::terminal::Terminal;
use crate::error::{Error, Failure, Outcome};

/// The text, for machines.
#[derive(Debug, Serialize)]
struct TextRecord<'a> {
    outcome: Outcome,
    exit_code: u8,
    text: &'a str,
}

pub(super) fn completions(shell: Shell, terminal: Terminal) -> Result<Outcome, Failure> {
    print(&arguments::completions(shell), terminal)
}

pub(super) fn run(command: Option<&str>, terminal: Terminal) -> Result<Outcome, Failure> {
    let no_such = || Error::NoSuchCommand {
        name: command.unwrap_or_default().to_owned(),
        names: arguments::command_names(),
    };
    print(&arguments::manual(command).ok_or_else(no_such)?, terminal)
}

fn print(bytes: &[u8], terminal: Terminal) -> Result<Outcome, Failure> {
    let text = String::from_utf8_lossy(bytes);
    let mut page = Page::default();
    for line in text.lines() {
        page.line(Tone::Plain, line);
    }
    let outcome = Outcome::Done;
    terminal.result(
        &page,
        &TextRecord {
            outcome,
            exit_code: outcome.code(),
            text: &text,
        },
    )?;
    Ok(outcome)
}

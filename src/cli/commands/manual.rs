//! `lowstave completions SHELL` and `lowstave manual`: made from the same definitions as the help.

use clap::Command;
use clap_complete::Shell;
use serde::Serialize;

use crate::cli::color::Tone;
use crate::cli::page::Page;
use crate::cli::terminal::Terminal;
use crate::error::{Error, Failure, Outcome};

/// The text, for machines.
#[derive(Debug, Serialize)]
struct TextRecord<'a> {
    outcome: Outcome,
    exit_code: u8,
    text: &'a str,
}

pub(super) fn completions(
    shell: Shell,
    mut program: Command,
    terminal: Terminal,
) -> Result<Outcome, Failure> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut program, "lowstave", &mut script);
    print(&script, terminal)
}

pub(super) fn run(
    command: Option<&str>,
    mut program: Command,
    terminal: Terminal,
) -> Result<Outcome, Failure> {
    program.build();
    let no_such = || Error::NoSuchCommand {
        name: command.unwrap_or_default().to_owned(),
        names: command_names(&program),
    };
    print(&manual(&program, command).ok_or_else(no_such)?, terminal)
}

/// The manual page of the program or of one command; `None` where there is no such command.
fn manual(program: &Command, command: Option<&str>) -> Option<Vec<u8>> {
    let page = match command {
        None => program,
        Some(name) => program.find_subcommand(name)?,
    };
    let mut text = Vec::new();
    // A page in memory is written whole, or the machine has no memory left.
    clap_mangen::Man::new(page.clone()).render(&mut text).ok()?;
    Some(text)
}

/// The names of the commands, for those who misspell one.
fn command_names(program: &Command) -> String {
    let names: Vec<&str> = program.get_subcommands().map(Command::get_name).collect();
    names.join(", ")
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

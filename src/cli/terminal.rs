//! Where text goes: the result to stdout, talk and problems to stderr.

use std::io::{self, ErrorKind, IsTerminal, Write};

use serde::Serialize;

use super::color::{ColorChoice, Tone};
use super::page::Page;
use crate::error::{Error, Failure, Outcome};
use crate::provenance::Place;
use crate::remark::{Level, Remark};

/// Most problems that are listed on a terminal; `--json` lists all.
const MOST_PROBLEMS: usize = 50;

/// How the program talks.
#[derive(Debug, Clone, Copy)]
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is a switch of its own on the command line"
)]
pub struct Terminal {
    is_json: bool,
    is_quiet: bool,
    has_color_out: bool,
    has_color_err: bool,
}

/// A failure, for machines.
#[derive(Serialize)]
struct FailureRecord<'e> {
    outcome: Outcome,
    exit_code: u8,
    problems: Vec<Problem<'e>>,
}

#[derive(Serialize)]
struct Problem<'e> {
    stage: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    place: Option<&'e Place>,
    text: String,
}

impl Terminal {
    /// A terminal for the options of the command line.
    #[must_use]
    pub fn new(is_json: bool, is_quiet: bool, color: ColorChoice) -> Self {
        Self {
            is_json,
            is_quiet,
            has_color_out: color.applies_to(&io::stdout()),
            has_color_err: color.applies_to(&io::stderr()),
        }
    }

    /// Whether progress may be shown: on a terminal, unless quiet.
    #[must_use]
    pub fn shows_progress(self) -> bool {
        !self.is_quiet && io::stderr().is_terminal()
    }

    /// Prints the result: a page for people, or a value for machines.
    ///
    /// # Errors
    /// Where stdout cannot be written; a reader that has gone away is no error.
    pub fn result(self, page: &Page, value: &impl Serialize) -> Result<(), Error> {
        let text = if self.is_json {
            json(value)
        } else {
            page.render(self.has_color_out)
        };
        let mut out = io::stdout().lock();
        match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
            Err(cause) if cause.kind() != ErrorKind::BrokenPipe => Err(Error::Print(cause)),
            _ => Ok(()),
        }
    }

    /// Prints talk to stderr, unless quiet.
    pub fn talk(self, page: &Page) {
        if !self.is_quiet {
            self.stderr(page);
        }
    }

    /// Prints remarks to stderr, by level, unless quiet.
    pub fn remarks(self, remarks: &[Remark]) {
        let mut page = Page::default();
        push_remarks(&mut page, remarks);
        self.talk(&page);
    }

    /// Prints why a command could not be done: to stderr for people, and to stdout where JSON was asked for.
    pub fn failure(self, failure: &Failure) {
        if self.is_json {
            let problems = failure
                .errors()
                .iter()
                .map(|error| Problem {
                    stage: error.stage(),
                    place: error.place(),
                    text: error.story(),
                })
                .collect();
            let outcome = failure.outcome();
            let text = json(&FailureRecord {
                outcome,
                exit_code: outcome.code(),
                problems,
            });
            // Where stdout is gone the exit code and stderr still tell.
            let _ = io::stdout().lock().write_all(text.as_bytes());
        }
        self.stderr(&failure_page(failure));
    }

    fn stderr(self, page: &Page) {
        // Where stderr is gone there is nobody left to tell.
        let _ = io::stderr()
            .lock()
            .write_all(page.render(self.has_color_err).as_bytes());
    }
}

fn failure_page(failure: &Failure) -> Page {
    let mut page = Page::default();
    let errors = failure.errors();
    match errors {
        [error] => page.pieces([
            (Tone::Wrong, "error: ".to_owned()),
            (Tone::Plain, error.story()),
        ]),
        many => {
            page.line(Tone::Wrong, format!("{} problems:", many.len()));
            for error in many.iter().take(MOST_PROBLEMS) {
                page.pieces([(Tone::Plain, "  ".to_owned()), (Tone::Plain, error.story())]);
            }
            if many.len() > MOST_PROBLEMS {
                page.line(
                    Tone::Plain,
                    format!(
                        "  and {} more; --json lists all",
                        many.len() - MOST_PROBLEMS
                    ),
                );
            }
        }
    }
    page
}

/// Remarks by level, each with its place and its way out, as long lines that a terminal breaks.
fn push_remarks(page: &mut Page, remarks: &[Remark]) {
    for (remark, lead, tone) in by_level(remarks) {
        page.pieces([(tone, lead), (Tone::Plain, story(remark))]);
        if let Some(help) = &remark.help {
            page.line(Tone::Faint, format!("      {help}"));
        }
    }
}

/// The same on a page of 80 columns.
pub(super) fn push_wrapped(page: &mut Page, remarks: &[Remark]) {
    for (remark, lead, tone) in by_level(remarks) {
        page.wrapped((tone, &lead), Tone::Plain, &story(remark));
        if let Some(help) = &remark.help {
            page.set_in(Tone::Faint, 6, help);
        }
    }
}

/// Remarks by level, with what leads each and its tone.
fn by_level(remarks: &[Remark]) -> impl Iterator<Item = (&Remark, String, Tone)> {
    let levels = [Level::Warning, Level::Assumption, Level::Info];
    levels.into_iter().flat_map(move |level| {
        let tone = if level == Level::Warning {
            Tone::Look
        } else {
            Tone::Faint
        };
        let own = remarks.iter().filter(move |remark| remark.level == level);
        own.map(move |remark| (remark, format!("{}: ", level.name()), tone))
    })
}

/// Where it is, and what.
fn story(remark: &Remark) -> String {
    let place = remark
        .place
        .as_ref()
        .map_or_else(String::new, |place| format!("{place}: "));
    format!("{place}{}", remark.what)
}

fn json(value: &impl Serialize) -> String {
    match serde_json::to_string_pretty(value) {
        Ok(text) => text + "\n",
        Err(cause) => format!(
            "{{\"outcome\": \"failed\", \"problem\": {:?}}}\n",
            cause.to_string()
        ),
    }
}

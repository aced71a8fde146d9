//! `lowstave explain DIR --zone N`: one zone's reasons, in full.

use serde::Serialize;

use super::arguments::ExplainArguments;
use super::color::Tone;
use super::page::Page;
use super::terminal::Terminal;
use crate::deliver::{self, ZoneReview};
use crate::error::{Failure, Outcome};

/// The result for machines.
#[derive(Debug, Serialize)]
struct ExplainRecord {
    outcome: Outcome,
    exit_code: u8,
    #[serde(flatten)]
    review: ZoneReview,
}

pub(super) fn run(arguments: &ExplainArguments, terminal: Terminal) -> Result<Outcome, Failure> {
    let text = deliver::explain(&arguments.folder, arguments.zone)?;
    let review = deliver::zone_review(&arguments.folder, arguments.zone)?;
    let mut page = Page::default();
    for line in text.lines() {
        page.line(Tone::Plain, line);
    }
    let outcome = Outcome::Done;
    terminal.result(
        &page,
        &ExplainRecord {
            outcome,
            exit_code: outcome.code(),
            review,
        },
    )?;
    Ok(outcome)
}

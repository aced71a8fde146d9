//! `report.html`: one file that needs no network, for screen, phone, paper, keyboard and screen reader. The first sheet says what to do; the
//! rest is folded below it.
//!
//! ```text
//! Overview -> MapFrame (outlines, labels, insets) -> first sheet
//!                        \-> folded chapters: zones with barrels, maps, charts, tables
//! ```

mod action_map;
mod cone_chart;
mod first_sheet;
mod folded;
mod insets;
mod labels;
mod layer_map;
mod map_frame;
mod png;
mod rate_map;
mod stave_words;
mod staves;
mod table;
mod zone;

use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

use super::error::DeliverError;
use super::format_input::FormatInput;
use super::output_file::OutputFile;
use super::overview::Overview;
use super::review::Review;
use super::run_record::{PROGRAM, VERSION};
pub use crate::text::markup_line as plain;
pub use action_map::swatch;
pub use cone_chart::cone_charts;
pub use first_sheet::first_sheet;
pub use map_frame::MapFrame;
pub use table::{list, table};
pub use zone::zone_chapter;

/// Style of every page.
pub const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("script.js");

/// The file.
///
/// # Errors
/// None; the signature is that of every format.
#[expect(clippy::unnecessary_wraps, reason = "every format has this front door")]
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let markup = report(input.overview, input.review).into_string();
    Ok(vec![OutputFile::new("report.html", markup + "\n")])
}

fn report(overview: &Overview<'_>, review: &Review) -> Markup {
    document(overview, &review.field.title, |frame| {
        html! {
            (first_sheet(overview, &review.first, &review.budget, frame))
            div.more {
                p.fold-all { button type="button" #unfold { "Open everything, for reading or printing" } }
                (folded::chapters(overview, review, frame))
            }
        }
    })
}

/// A page of its own: the head, the outlines that its maps draw from, and what `main` gives.
pub fn document(
    overview: &Overview<'_>,
    title: &str,
    main: impl FnOnce(&MapFrame) -> Markup,
) -> Markup {
    let frame = MapFrame::new(overview);
    html! {
        (DOCTYPE)
        html lang="en" {
            (head(title))
            body {
                a.skip href="#sheet" { "Skip to what to do first" }
                (frame.definitions(overview))
                main #main { (main(&frame)) }
                footer {
                    p {
                        "Made by " (PROGRAM) " " (VERSION) ". Screening estimates from your own files, not an engineering or legal opinion. "
                        code { "run.json" } " names every input with its SHA-256, so that the run can be done again."
                    }
                }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    }
}

/// A page without maps that can be asked: the head with more style, what `main` gives, and a foot.
pub fn plain_document(title: &str, style: &str, main: Markup, foot: &str) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            (head_of(title, "'none'", style))
            body {
                a.skip href="#sheet" { "Skip to what to do first" }
                main #main { (main) }
                footer { p { "Made by " (PROGRAM) " " (VERSION) ". " (foot) } }
            }
        }
    }
}

fn head(title: &str) -> Markup {
    let script_hash = png::base64(&Sha256::digest(SCRIPT.as_bytes()));
    head_of(title, &format!("'sha256-{script_hash}'"), "")
}

fn head_of(title: &str, script: &str, style: &str) -> Markup {
    let policy = format!(
        "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src {script}; base-uri 'none'; form-action 'none'"
    );
    html! {
        head {
            meta charset="utf-8";
            meta name="viewport" content="width=device-width, initial-scale=1";
            meta http-equiv="Content-Security-Policy" content=(policy);
            meta name="color-scheme" content="light dark";
            title { (plain(title)) }
            style { (PreEscaped(STYLE)) (PreEscaped(style)) }
        }
    }
}

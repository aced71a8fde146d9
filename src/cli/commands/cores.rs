//! `lowstave cores PLAN --add N`: where to take cores next, for a phone or a hand-held receiver.

use std::path::{Path, PathBuf};

use clap::Args;
use serde::Serialize;

use crate::cli::color::Tone;
use crate::cli::interrupt::Interrupt;
use crate::cli::page::Page;
use crate::cli::progress::Progress;
use crate::cli::terminal::Terminal;
use crate::deliver;
use crate::engine::{self, Grant};
use crate::error::{Failure, Outcome};
use crate::files::Files;
use crate::plan::Purpose;
use crate::sampling::{self, Layout, Site};

/// Arguments of `cores`.
#[derive(Debug, Args)]
pub struct CoresArguments {
    /// The plan file
    #[arg(value_name = "PLAN")]
    pub plan: PathBuf,
    /// How many places; a pattern gives about as many
    #[arg(long, value_name = "COUNT")]
    pub add: usize,
    /// A first layout instead of the places where another core cuts the uncertainty of the maps most
    #[arg(long, value_name = "PATTERN", value_enum)]
    pub pattern: Option<Pattern>,
    /// Folder for sites.geojson and sites.gpx
    #[arg(long, value_name = "DIR", default_value = ".")]
    pub out: PathBuf,
    /// Replace the two files where they exist
    #[arg(long)]
    pub force: bool,
}

/// The pattern of a sampling layout.
#[derive(Debug, Clone, Copy, PartialEq, Eq, clap::ValueEnum)]
pub enum Pattern {
    /// Squares with a random start
    Regular,
    /// Equilateral triangles with a random start
    Triangular,
    /// At random in each zone, in proportion to its area, at least two in each
    Zones,
}

/// The result for machines.
#[derive(Debug, Serialize)]
struct CoresRecord {
    outcome: Outcome,
    exit_code: u8,
    files: Vec<String>,
    sites: Vec<Site>,
}

pub(super) fn run(
    arguments: &CoresArguments,
    terminal: Terminal,
    interrupt: &Interrupt,
    grant: impl Fn(Option<&Path>) -> Grant,
) -> Result<Outcome, Failure> {
    let progress = Progress::new(terminal, grant(None));
    let (field, sites) = sites(arguments, &progress)?;
    let files: [(PathBuf, String); 2] = [
        (
            arguments.out.join("sites.geojson"),
            sampling::as_geojson(&field, &sites),
        ),
        (
            arguments.out.join("sites.gpx"),
            sampling::as_gpx(&field, &sites),
        ),
    ];
    interrupt.while_writing(|_| {
        files.iter().try_for_each(|(path, text)| {
            deliver::write_file(path, text.as_bytes(), arguments.force)
        })
    })?;
    drop(progress);
    let files: Vec<String> = files
        .iter()
        .map(|(path, _)| path.display().to_string())
        .collect();
    let mut page = Page::default();
    page.line(
        Tone::Strong,
        format!("{field}: {} sites for cores, in walking order", sites.len()),
    );
    for site in &sites {
        page.line(
            Tone::Plain,
            format!(
                "{:>4}  {:.7}  {:.7}  {}",
                site.order, site.latitude, site.longitude, site.why
            ),
        );
    }
    page.line(
        Tone::Plain,
        format!("written to {} and {}", files[0], files[1]),
    );
    let outcome = Outcome::Done;
    terminal.result(
        &page,
        &CoresRecord {
            outcome,
            exit_code: outcome.code(),
            files,
            sites,
        },
    )?;
    Ok(outcome)
}

/// The field's name and the sites.
fn sites(arguments: &CoresArguments, progress: &Progress) -> Result<(String, Vec<Site>), Failure> {
    let (files, plan, add) = (Files::folder(""), &arguments.plan, arguments.add);
    let layout = match arguments.pattern {
        Some(Pattern::Regular) => Layout::Regular,
        Some(Pattern::Triangular) => Layout::Triangular,
        None | Some(Pattern::Zones) => {
            let run = engine::run_watched(&files, plan, progress)?;
            let (settings, field) = (run.settings(), run.field());
            let sites = match arguments.pattern {
                None => sampling::more_cores(field, run.surfaces(), add)?,
                Some(_) => sampling::per_zone(field, run.zones(), add, settings.zones.seed)?,
            };
            return Ok((settings.field.clone(), sites));
        }
    };
    let inputs = engine::read(&files, plan, Purpose::Layout, progress)?;
    let seed = inputs.settings.zones.seed;
    let sites = sampling::first_layout(&inputs.field, layout, add, seed)?;
    Ok((inputs.settings.field, sites))
}

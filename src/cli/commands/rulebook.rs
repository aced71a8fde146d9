//! `lowstave rulebook [show|check FILE]`: the thresholds in force, each with its source.

use std::path::{Path, PathBuf};

use clap::{Args, Subcommand, ValueEnum};
use serde::Serialize;

use crate::cli::color::Tone;
use crate::cli::page::Page;
use crate::cli::terminal::Terminal;
use crate::error::{Failure, Outcome};
use crate::files::Files;
use crate::rates::check_worked_values;
use crate::rulebook::{Basis, Change, Line, Rulebook};
use crate::units::UnitSystem;

/// Arguments of `rulebook`.
#[derive(Debug, Args)]
pub struct RulebookArguments {
    /// What to do with it; shows the built-in rulebook unless said
    #[command(subcommand)]
    pub action: Option<RulebookAction>,
}

/// What to do with the rulebook.
#[derive(Debug, Clone, Subcommand)]
pub enum RulebookAction {
    /// Print every threshold with its basis and source
    Show {
        /// A rulebook file to lay over the built-in one
        #[arg(value_name = "FILE")]
        file: Option<PathBuf>,
        /// Units of the rates and prices
        #[arg(long, value_name = "SYSTEM", value_enum, default_value_t)]
        units: UnitsArgument,
        /// Only entries whose key or words hold this
        #[arg(long, value_name = "WORD")]
        only: Option<String>,
        /// The region whose rules are laid over it
        #[arg(long, value_name = "NAME")]
        region: Option<String>,
    },
    /// List the regions, what the rules of each hold and what they lack
    Regions,
    /// Read a rulebook file and say what is wrong with it, or what it changes
    Check {
        /// The rulebook file
        #[arg(value_name = "FILE")]
        file: PathBuf,
        /// The region whose rules lie below it
        #[arg(long, value_name = "NAME")]
        region: Option<String>,
    },
}

/// A system of units, as named in the plan file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, ValueEnum)]
pub enum UnitsArgument {
    /// Acres, gallons, pounds.
    #[default]
    Us,
    /// Hectares, litres, kilograms.
    Metric,
}

impl From<UnitsArgument> for UnitSystem {
    fn from(units: UnitsArgument) -> Self {
        match units {
            UnitsArgument::Us => Self::UnitedStates,
            UnitsArgument::Metric => Self::Metric,
        }
    }
}

/// The thresholds in force, for machines.
#[derive(Debug, Serialize)]
struct ShowRecord<'a> {
    outcome: Outcome,
    exit_code: u8,
    lines: Vec<Line>,
    changes: &'a [Change],
}

/// What a rulebook file changes, for machines.
#[derive(Debug, Serialize)]
struct CheckRecord<'a> {
    outcome: Outcome,
    exit_code: u8,
    changes: &'a [Change],
    worked_values: usize,
}

pub(super) fn run(arguments: &RulebookArguments, terminal: Terminal) -> Result<Outcome, Failure> {
    match &arguments.action {
        None => show(None, UnitSystem::default(), None, None, terminal),
        Some(RulebookAction::Show {
            file,
            units,
            only,
            region,
        }) => show(
            file.as_deref(),
            (*units).into(),
            only.as_deref(),
            region.as_deref(),
            terminal,
        ),
        Some(RulebookAction::Regions) => regions(terminal),
        Some(RulebookAction::Check { file, region }) => check(file, region.as_deref(), terminal),
    }
}

/// The regions, for machines.
#[derive(Debug, Serialize)]
struct RegionsRecord {
    outcome: Outcome,
    exit_code: u8,
    regions: Vec<RegionRecord>,
}

#[derive(Debug, Serialize)]
struct RegionRecord {
    name: String,
    label: String,
    holds: String,
    basis: Basis,
    source: String,
}

fn regions(terminal: Terminal) -> Result<Outcome, Failure> {
    let mut page = Page::default();
    let mut regions = Vec::new();
    for name in Rulebook::regions() {
        let Some(region) = Rulebook::of_region(name)?.region else {
            continue;
        };
        page.pieces([
            (Tone::Strong, region.name.clone()),
            (Tone::Plain, format!("  {}", region.label)),
        ]);
        page.line(Tone::Plain, format!("    {}", region.holds));
        page.line(
            Tone::Faint,
            format!("    {}", basis_and_source(region.basis, &region.source)),
        );
        regions.push(RegionRecord {
            name: region.name,
            label: region.label,
            holds: region.holds,
            basis: region.basis,
            source: region.source,
        });
    }
    let outcome = Outcome::Done;
    let record = RegionsRecord {
        outcome,
        exit_code: outcome.code(),
        regions,
    };
    terminal.result(&page, &record)?;
    Ok(outcome)
}

fn show(
    file: Option<&Path>,
    units: UnitSystem,
    only: Option<&str>,
    region: Option<&str>,
    terminal: Terminal,
) -> Result<Outcome, Failure> {
    let rulebook = Rulebook::load(&Files::folder(""), region, file)?;
    let only = only.map(str::to_lowercase);
    let is_wanted = |line: &Line| {
        only.as_ref().is_none_or(|word| {
            line.key.to_lowercase().contains(word) || line.what.to_lowercase().contains(word)
        })
    };
    let lines: Vec<Line> = rulebook.lines(units).filter(is_wanted).collect();
    let mut page = Page::default();
    for line in &lines {
        push_line(&mut page, line, rulebook.changes());
    }
    let outcome = match (&only, lines.is_empty()) {
        (Some(word), true) => {
            let what =
                format!("no entry of the rulebook names \"{word}\"; without --only all are shown");
            page.line(Tone::Look, what);
            Outcome::Look
        }
        _ => Outcome::Done,
    };
    terminal.result(
        &page,
        &ShowRecord {
            outcome,
            exit_code: outcome.code(),
            lines,
            changes: rulebook.changes(),
        },
    )?;
    Ok(outcome)
}

fn push_line(page: &mut Page, line: &Line, changes: &[Change]) {
    let value = format!(" = {} {}", line.value, line.unit);
    let change = changes.iter().find(|change| change.key == line.key);
    let changed = change.map_or_else(String::new, |change| {
        format!("  (changed in {})", change.place)
    });
    page.pieces([
        (Tone::Strong, line.key.clone()),
        (Tone::Plain, value.trim_end().to_owned()),
        (Tone::Look, changed),
    ]);
    page.line(Tone::Plain, format!("    {}", line.what));
    page.line(
        Tone::Faint,
        format!("    {}", basis_and_source(line.basis, &line.source)),
    );
    if let Some(disputed) = &line.disputed {
        page.line(Tone::Faint, format!("    disputed: {disputed}"));
    }
}

fn basis_and_source(basis: Basis, source: &str) -> String {
    if source.is_empty() || source == basis.name() {
        basis.name().to_owned()
    } else {
        format!("{}: {source}", basis.name())
    }
}

fn check(file: &Path, region: Option<&str>, terminal: Terminal) -> Result<Outcome, Failure> {
    let rulebook = Rulebook::load(&Files::folder(""), region, Some(file))?;
    let agreeing = check_worked_values(&rulebook)?;
    // A worked value changes nothing.
    let changes: Vec<Change> = rulebook
        .changes()
        .iter()
        .filter(|change| change.key != "worked" && !change.key.starts_with("worked."))
        .cloned()
        .collect();
    let changes = changes.as_slice();
    let mut page = Page::default();
    let count = match changes.len() {
        0 => "nothing of the built-in rulebook".to_owned(),
        1 => "1 entry of the built-in rulebook:".to_owned(),
        count => format!("{count} entries of the built-in rulebook:"),
    };
    page.line(
        Tone::Plain,
        format!("{}: good; it changes {count}", file.display()),
    );
    for change in changes {
        push_change(&mut page, change);
    }
    if agreeing > 0 {
        let told = format!("worked values that the tables give too: {agreeing}");
        page.line(Tone::Plain, told);
    }
    let outcome = Outcome::Done;
    terminal.result(
        &page,
        &CheckRecord {
            outcome,
            exit_code: outcome.code(),
            changes,
            worked_values: agreeing,
        },
    )?;
    Ok(outcome)
}

fn push_change(page: &mut Page, change: &Change) {
    let row = change
        .place
        .row
        .map_or_else(String::new, |row| format!("  row {row}: "));
    let before = change.before.as_deref().unwrap_or("not there");
    page.pieces([
        (Tone::Faint, row),
        (Tone::Strong, change.key.clone()),
        (Tone::Plain, format!(" = {} (was {before})", change.after)),
    ]);
}

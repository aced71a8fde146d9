//! Stage 1: the plan file becomes checked settings with units resolved.
//!
//! What the user typed ([`file`]) and what the later stages trust ([`settings`]) are different types: only [`Settings`]
//! leaves this stage. Every problem of a plan is told at once, each with its row and dotted key; lists count from 1,
//! so that `points[2].kind` is the kind of the second `[[points]]` table.
//!
//! [`file`]: self
//! [`settings`]: Settings

pub mod defaults;
mod error;
mod file;
mod people;
mod reading;
mod resolve;
mod settings;
mod spelling;

use std::fs::File;
use std::io::Read as _;
use std::path::Path;

use toml::de::DeTable;

pub use error::{Hint, PlanError};
pub use people::{Day, People};
pub use settings::{
    BelowDetection, BlankBelow, BoundarySettings, Choice, ColumnMeaning, ConeSettings, Depths,
    KeepOut, MachineSettings, Override, OverrideRate, PointKind, PointsSettings, Price, Settings,
    SurfaceSettings, ZoneMethod, ZoneSettings, ZoneShape,
};

use crate::provenance::Place;
use crate::remark::Remark;
use file::PlanFile;
use reading::{Document, TableReader};

/// Largest plan file that is read, in bytes. A plan is a page of text; a megabyte of it is a data file by mistake.
pub const LARGEST_PLAN_BYTES: u64 = 1 << 20;

/// Reads and checks a plan file.
///
/// # Errors
/// Everything that is wrong with it, in the order of its rows.
pub fn read(path: &Path) -> Result<Settings, Vec<PlanError>> {
    read_with_remarks(path).map(|(settings, _)| settings)
}

/// Reads and checks a plan file, and says what was taken for granted.
///
/// # Errors
/// Everything that is wrong with it, in the order of its rows.
pub fn read_with_remarks(path: &Path) -> Result<(Settings, Vec<Remark>), Vec<PlanError>> {
    read_for(path, Purpose::Rates)
}

/// The same for a purpose that may need less.
///
/// # Errors
/// Everything that is wrong with it, in the order of its rows.
pub fn read_for(path: &Path, purpose: Purpose) -> Result<(Settings, Vec<Remark>), Vec<PlanError>> {
    let text = text_of(path).map_err(|problem| vec![problem])?;
    checked(&text, path, purpose)
}

/// What a plan is read for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// Rates: at least one file of points is needed.
    Rates,
    /// A first sampling layout: the field may have no points yet.
    Layout,
}

/// Checks the text of a plan; `plan_path` is where it stands or would stand, and the files that it names are
/// looked for beside it.
///
/// # Errors
/// Everything that is wrong with it, in the order of its rows.
pub fn from_text(text: &str, plan_path: &Path) -> Result<(Settings, Vec<Remark>), Vec<PlanError>> {
    checked(text, plan_path, Purpose::Rates)
}

fn checked(
    text: &str,
    plan_path: &Path,
    purpose: Purpose,
) -> Result<(Settings, Vec<Remark>), Vec<PlanError>> {
    let document = Document::new(&plan_path.display().to_string(), text);
    let (table, stumbles) = DeTable::parse_recoverable(text);
    if !stumbles.is_empty() {
        return Err(stumbles
            .iter()
            .map(|stumble| syntax_error(&document, stumble))
            .collect());
    }
    let plan = PlanFile::read(TableReader::root(&document, &table));
    let (settings, remarks) = resolve::resolve(&plan, &document, plan_path, purpose);
    let mut problems = document.into_problems();
    problems.sort_by_key(|problem| problem.place().row);
    match settings {
        Some(settings) if problems.is_empty() => Ok((settings, remarks)),
        _ => Err(problems),
    }
}

fn syntax_error(document: &Document, stumble: &toml::de::Error) -> PlanError {
    let place = stumble
        .span()
        .map_or_else(|| document.place(), |span| document.place_at(span.start));
    let cause = stumble
        .message()
        .lines()
        .map(str::trim)
        .collect::<Vec<_>>()
        .join("; ");
    PlanError::Syntax { place, cause }
}

fn text_of(path: &Path) -> Result<String, PlanError> {
    let place = || Place::file(path.display().to_string());
    let unreadable = |cause| PlanError::Unreadable {
        place: place(),
        cause,
    };
    if !path.metadata().map_err(unreadable)?.is_file() {
        return Err(PlanError::NotAFile { place: place() });
    }
    let mut bytes = Vec::new();
    File::open(path)
        .and_then(|file| file.take(LARGEST_PLAN_BYTES + 1).read_to_end(&mut bytes))
        .map_err(unreadable)?;
    if bytes.len() as u64 > LARGEST_PLAN_BYTES {
        return Err(PlanError::TooLarge {
            place: place(),
            limit_bytes: LARGEST_PLAN_BYTES,
        });
    }
    String::from_utf8(bytes).map_err(|wrong| {
        let good = String::from_utf8_lossy(&wrong.as_bytes()[..wrong.utf8_error().valid_up_to()]);
        PlanError::NotText {
            place: place().at_row(good.matches('\n').count() as u32 + 1),
        }
    })
}

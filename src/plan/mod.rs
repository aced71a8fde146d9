//! Stage 1: the plan file becomes checked settings with units resolved.
//!
//! What the user typed ([`file`]) and what the later stages trust ([`settings`]) are different types: only [`Settings`]
//! leaves this stage. Every problem of a plan is told at once, each with its row and dotted key; lists count from 1,
//! so that `points[2].kind` is the kind of the second `[[points]]` table.
//!
//! [`file`]: self
//! [`settings`]: Settings

pub mod defaults;
mod draft;
mod error;
mod farm_file;
mod file;
mod file_form;
mod fixed_or_auto;
mod homes;
mod inherited;
mod limits;
mod past_settings;
mod people;
mod points_table;
mod read_texts;
mod reading;
mod resolve;
mod result_settings;
mod results_table;
mod season_role;
mod settings;
mod strip_settings;
mod strips_table;
mod supply;
mod values;

use std::collections::BTreeMap;
use std::io;
use std::path::{Path, PathBuf};

pub use draft::{DraftLine, PlanDraft, PointsDraft, Trust};
pub use error::{Hint, PlanError};
pub use farm_file::{FarmFile, FieldList, farm_from_text, read_farm};
pub use file_form::{FileForm, NumberForm};
pub use fixed_or_auto::FixedOrAuto;
pub use inherited::Inherited;
pub use past_settings::PastFolder;
pub use people::{Day, People};
pub use result_settings::{ResultKind, ResultSettings, YieldRole};
pub use season_role::SeasonRole;
pub use settings::{
    BelowDetection, BlankBelow, BoundarySettings, ColumnMeaning, ConeSettings, Depths, FarmBudget,
    FieldChoice, KeepOut, LeftOut, MachineSettings, Override, PointKind, PointsSettings, Price,
    Sample, Settings, SurfaceSettings, TakenFromFarm, WorkLimits, ZoneMethod, ZoneSettings,
    ZoneShape,
};
pub use strip_settings::{EarlierYield, StripSettings, StripTreatment};
pub use supply::{Shed, Stock, Supply, YieldGoal};
pub use values::{PlanValue, values};

use crate::files::Files;
use crate::provenance::Place;
use crate::remark::Remark;
use crate::toml_tree::{self, Stumble, Tree};
use file::PlanFile;
use reading::{Document, TableReader};

/// Largest plan file that is read, in bytes. A plan is a page of text; a megabyte of it is a data file by mistake.
pub const LARGEST_PLAN_BYTES: u64 = 1 << 20;

/// Reads and checks a plan file, and says what was taken for granted. Every path of the settings is relative to the
/// plan: look for it in `files.beside(plan)`.
///
/// # Errors
/// Everything that is wrong with it, in the order of its rows.
pub fn read(files: &Files, plan: &Path) -> Result<(Settings, Vec<Remark>), Vec<PlanError>> {
    read_for(files, plan, Purpose::Rates)
}

/// The same for a purpose that may need less.
///
/// # Errors
/// Everything that is wrong with it, in the order of its rows.
pub fn read_for(
    files: &Files,
    plan: &Path,
    purpose: Purpose,
) -> Result<(Settings, Vec<Remark>), Vec<PlanError>> {
    read_with(files, plan, purpose, None)
}

/// The same for a field of a farm: what the plan does not say itself is taken from the farm's tables.
///
/// # Errors
/// Everything that is wrong with it, in the order of its rows; what is wrong in the farm's tables with the place in the farm file.
pub fn read_with(
    files: &Files,
    plan: &Path,
    purpose: Purpose,
    inherited: Option<&Inherited>,
) -> Result<(Settings, Vec<Remark>), Vec<PlanError>> {
    let text = bytes_as_text(files, plan, LARGEST_PLAN_BYTES).map_err(|problem| vec![problem])?;
    checked(&text, files, plan, purpose, inherited)
}

/// What a plan is read for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose {
    /// Rates: at least one file of points is needed.
    Rates,
    /// A first sampling layout: the field may have no points yet.
    Layout,
}

/// Checks the text of a plan; `plan` is where it stands or would stand, and the files that it names are looked for
/// beside it.
///
/// # Errors
/// Everything that is wrong with it, in the order of its rows.
pub fn from_text(
    text: &str,
    files: &Files,
    plan: &Path,
) -> Result<(Settings, Vec<Remark>), Vec<PlanError>> {
    checked(text, files, plan, Purpose::Rates, None)
}

fn checked(
    text: &str,
    files: &Files,
    plan: &Path,
    purpose: Purpose,
    inherited: Option<&Inherited>,
) -> Result<(Settings, Vec<Remark>), Vec<PlanError>> {
    let name = name_of(plan);
    let document = Document::new(&name.display().to_string(), homes::home_of);
    let merged = Merged::new(text, plan, &document, inherited)?;
    let typed = PlanFile::read(TableReader::root(&document, &merged.tree));
    let (settings, remarks) =
        resolve::resolve(&typed, &document, &files.beside(plan), name, purpose);
    let mut problems = document.into_problems();
    problems.sort_by_key(|problem| problem.place().row);
    match settings {
        Some(settings) if problems.is_empty() => Ok((merged.told_in(settings), remarks)),
        _ => Err(problems),
    }
}

/// The name alone: what is said of a field must not depend on where its folder lies.
fn name_of(plan: &Path) -> &Path {
    Path::new(plan.file_name().unwrap_or(plan.as_os_str()))
}

/// A plan with what it takes from its farm.
struct Merged {
    tree: Tree,
    /// Where what was taken stands in the farm file, by key.
    taken: BTreeMap<String, Place>,
    /// The farm file as seen from the plan, where something was taken.
    farm_file: Option<PathBuf>,
}

impl Merged {
    fn new(
        text: &str,
        plan: &Path,
        document: &Document,
        inherited: Option<&Inherited>,
    ) -> Result<Self, Vec<PlanError>> {
        let mut tree = parsed(text, document)?;
        let Some(farm) = inherited else {
            return Ok(Self {
                tree,
                taken: BTreeMap::new(),
                farm_file: None,
            });
        };
        let mut problems = Vec::new();
        let taken = farm.fill(&mut tree, plan, &mut problems);
        problems
            .into_iter()
            .for_each(|problem| document.note(problem));
        let farm_file = farm.file_from(plan).filter(|_| !taken.is_empty());
        Ok(Self {
            tree,
            taken,
            farm_file,
        })
    }

    fn told_in(self, settings: Settings) -> Settings {
        let farm = TakenFromFarm {
            budget: FarmBudget::None,
            file: self.farm_file,
            places: self.taken,
        };
        Settings { farm, ..settings }
    }
}

/// The tables of a text.
fn parsed(text: &str, document: &Document) -> Result<Tree, Vec<PlanError>> {
    toml_tree::parse(text, &document.file).map_err(|stumbles| {
        let syntax = |stumble: Stumble| PlanError::Syntax {
            place: stumble.place,
            cause: stumble.what,
        };
        stumbles.into_iter().map(syntax).collect::<Vec<_>>()
    })
}

fn bytes_as_text(files: &Files, plan: &Path, limit_bytes: u64) -> Result<String, PlanError> {
    let place = || Place::file(plan.display().to_string());
    let bytes = files
        .read(plan, limit_bytes)
        .map_err(|cause| match cause.kind() {
            io::ErrorKind::IsADirectory | io::ErrorKind::InvalidInput => {
                PlanError::NotAFile { place: place() }
            }
            io::ErrorKind::FileTooLarge => PlanError::TooLarge {
                place: place(),
                limit_bytes,
            },
            _ => PlanError::Unreadable {
                place: place(),
                cause,
            },
        })?;
    String::from_utf8(bytes).map_err(|wrong| {
        let good = String::from_utf8_lossy(&wrong.as_bytes()[..wrong.utf8_error().valid_up_to()]);
        PlanError::NotText {
            place: place().at_row(good.matches('\n').count() as u32 + 1),
        }
    })
}

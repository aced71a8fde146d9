//! One `[[points]]` table of the plan, from the columns of a file.

use std::path::{Path, PathBuf};

use crate::analyte::plain_name;
use crate::files::Files;
use crate::intake::columns::Header;
use crate::intake::columns::depth_mark::depth_mark;
use crate::intake::columns::result_unit::NO_DEPTH;
use crate::intake::columns::roles;
use crate::intake::columns::table_roles::table_roles;
use crate::intake::context::{Context, ReadingRules};
use crate::intake::error::IntakeError;
use crate::intake::source::place_of;
use crate::plan::{
    BelowDetection, BlankBelow, ConeSettings, Depths, DraftLine, FileForm, PointKind, PointsDraft,
    PointsSettings, Trust,
};

use super::columns::{ignored, push_columns};
use super::cone::{cone_unit, push_cone};
use super::ground::Ground;
use super::part::{Part, best_part};
use super::places::{push_depth, push_places};
use super::sketch::{Sketch, sketch_of};
use super::text::relative;

/// Sheets or layers that a note lists.
const MOST_LISTED: usize = 12;

/// A file of points, and its head.
pub(super) struct Head {
    file: PathBuf,
    /// The sheet or layer that is taken, where there are several.
    part: Option<Part>,
    /// The head.
    pub sketch: Sketch,
}

impl Head {
    /// Reads the head of the sheet or layer that holds the most that is known.
    pub(super) fn read(files: &Files, file: &Path) -> Result<Self, IntakeError> {
        let part = best_part(files, file)?;
        let name = part.as_ref().map(|part| part.name.as_str());
        Ok(Self {
            file: file.to_owned(),
            sketch: sketch_of(files, file, name)?,
            part,
        })
    }
}

/// One `[[points]]` table.
pub(super) fn draft_points(head: &Head, folder: &Path, ground: Option<&Ground>) -> PointsDraft {
    let (file, sketch) = (&head.file, &head.sketch);
    let settings = settings_of(file, sketch);
    let rules = ReadingRules {
        below_detection: BelowDetection::Half,
        bulk_density: None,
        crop: "corn".to_owned(),
        season: None,
        units: crate::units::UnitSystem::UnitedStates,
    };
    let mut context = Context::new(&settings, &rules);
    let roles = table_roles(&sketch.header, &mut context, sketch.has_geometry);
    let mut draft = PointsDraft::default();
    draft
        .lines
        .push(DraftLine::text("file", &relative(file, folder)));
    draft.lines.extend(head.part.as_ref().map(part_line));
    draft.lines.push(kind_line(sketch.kind));
    push_places(&mut draft, sketch, &roles, ground);
    push_depth(&mut draft, sketch, &roles);
    push_cone(&mut draft, sketch, &roles);
    draft.lines.extend(ignored(&context.errors));
    let hard = context.errors.iter().filter(|error| !is_answered(error));
    draft.looks.extend(hard.map(ToString::to_string));
    push_columns(&mut draft, sketch, &roles);
    draft
}

/// The sheet or layer that is read, and the others.
fn part_line(part: &Part) -> DraftLine {
    let others: Vec<String> = part
        .others
        .iter()
        .take(MOST_LISTED)
        .map(|name| DraftLine::quoted(name))
        .collect();
    let more = if part.others.len() > MOST_LISTED {
        " and more"
    } else {
        ""
    };
    let why = format!(
        "it has the most columns that are known; not read: {}{more}",
        others.join(", ")
    );
    DraftLine::text(part.key, &part.name).because(Trust::Guessed, why)
}

/// Problems that the draft answers with a guess.
fn is_answered(error: &IntakeError) -> bool {
    matches!(
        error,
        IntakeError::Depth { .. } | IntakeError::Cone { .. } | IntakeError::CoordinateSystem { .. }
    ) || matches!(error, IntakeError::NotConvertible { why, .. } if why == NO_DEPTH)
}

fn kind_line(kind: PointKind) -> DraftLine {
    let (word, why) = match kind {
        PointKind::Cores => ("cores", "soil tests among its columns"),
        PointKind::Cone => ("cone", "readings by depth"),
        PointKind::Readings => ("readings", "other located numbers"),
    };
    DraftLine::text("kind", word).because(Trust::Guessed, format!("{why}; cores | cone | readings"))
}

fn settings_of(file: &Path, sketch: &Sketch) -> PointsSettings {
    let cone = ConeSettings {
        unit: cone_unit(&sketch.header).0.to_owned(),
        base_area_mm2: None,
        depths: Vec::new(),
        moisture: None,
        blank_below: BlankBelow::default(),
    };
    let unit = Some("in".to_owned())
        .filter(|_| sketch.kind == PointKind::Cone && !has_depth_unit(&sketch.header));
    let depth = sketch
        .header
        .find_role(&["depth"])
        .map(|at| sketch.header.name(at).to_owned());
    PointsSettings {
        file: file.to_owned(),
        kind: sketch.kind,
        crs: Some("EPSG:4326".to_owned()),
        x: None,
        y: None,
        id: None,
        depths: match (unit, depth) {
            (Some(unit), column) => Depths::Column {
                column: column.unwrap_or_default(),
                unit: Some(unit),
            },
            _ => Depths::Unknown,
        },
        columns: Vec::new(),
        ignore: Vec::new(),
        reading: FileForm::default(),
        cone: (sketch.kind == PointKind::Cone).then_some(cone),
        laboratory: None,
        sampled: None,
        place: place_of(file),
    }
}

fn has_depth_unit(header: &Header) -> bool {
    header.names.iter().any(|name| {
        let plain = plain_name(name);
        matches!(depth_mark(&plain), Some((_, Some(_))))
            || (plain.contains("depth") && roles::without_unit(&plain).1.is_some())
    })
}

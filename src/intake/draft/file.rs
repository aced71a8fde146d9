//! One `[[points]]` table of the plan, from the columns of a file.

use std::path::{Path, PathBuf};

use crate::analyte::plain_name;
use crate::files::Files;
use crate::intake::columns::Header;
use crate::intake::columns::reading_column::column_mark;
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
use super::depth::push_depth;
use super::depth_unit::{DepthUnit, depth_numbers, depth_unit};
use super::ground::Ground;
use super::joint_id::JointId;
use super::part::{Part, best_part};
use super::places::push_places;
use super::sketch::{Sketch, sketch_of};
use super::text::relative;

/// Sheets or layers that a note lists.
const MOST_LISTED: usize = 12;
/// Stands in for the base area of a cone that the draft asks for; no reading is turned with it.
const ASKED_AREA_MM2: f64 = 323.0;

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
///
/// `joint` is the column by which another file's results find their places here.
pub(super) fn draft_points(
    head: &Head,
    folder: &Path,
    ground: Option<&Ground>,
    joint: Option<JointId>,
) -> PointsDraft {
    let (file, sketch) = (&head.file, &head.sketch);
    let marks_unit = unit_of_marks(sketch, ground);
    let mut settings = settings_of(file, sketch, marks_unit.as_ref());
    settings.id = joint.as_ref().map(|joint| joint.name.clone());
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
    draft.looks.extend(joint.and_then(JointId::question));
    push_depth(&mut draft, sketch, &roles, ground);
    push_cone(&mut draft, sketch, &roles, marks_unit.as_ref());
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
    let others = format!("not read: {}{more}", others.join(", "));
    let line = DraftLine::text(part.key, &part.name);
    if part.tied.is_empty() {
        let why = format!("it has the most columns that are known; {others}");
        return line.because(Trust::Guessed, why);
    }
    let tied: Vec<String> = part
        .tied
        .iter()
        .map(|name| DraftLine::quoted(name))
        .collect();
    let why = format!(
        "{} may be meant as well, with as many columns that are known; {others}",
        tied.join(", ")
    );
    line.because(Trust::Look, why)
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

fn settings_of(file: &Path, sketch: &Sketch, marks_unit: Option<&DepthUnit>) -> PointsSettings {
    let unit = cone_unit(&sketch.header);
    let cone = ConeSettings {
        // What stands in the plan is what the roles are found with; the area is asked for in the draft.
        base_area_mm2: unit.is_force().then_some(ASKED_AREA_MM2),
        unit: unit.text,
        depths: Vec::new(),
        moisture: None,
        blank_below: BlankBelow::default(),
    };
    let depth = sketch
        .header
        .find_role(&roles::RoleNames::built_in().depth)
        .map(|at| sketch.header.name(at).to_owned());
    PointsSettings {
        file: file.to_owned(),
        kind: sketch.kind,
        crs: Some("EPSG:4326".to_owned()),
        x: None,
        y: None,
        id: None,
        depths: match (marks_unit, depth) {
            (Some(guess), column) => Depths::Column {
                column: column.unwrap_or_default(),
                unit: Some(guess.unit.to_owned()),
            },
            _ => Depths::Unknown,
        },
        columns: Vec::new(),
        ignore: Vec::new(),
        leave_out: Vec::new(),
        reading: FileForm::default(),
        cone: (sketch.kind == PointKind::Cone).then_some(cone),
        laboratory: None,
        sampled: None,
        place: place_of(file),
    }
}

/// The unit that is taken for depths of cone readings; `None` where the file says it.
fn unit_of_marks(sketch: &Sketch, ground: Option<&Ground>) -> Option<DepthUnit> {
    let header = &sketch.header;
    if sketch.kind != PointKind::Cone || has_depth_unit(header) {
        return None;
    }
    let mut depths: Vec<f64> = (0..header.names.len())
        .filter_map(|at| column_mark(header, at))
        .map(|(number, _)| number)
        .collect();
    if depths.len() < 2
        && let Some(at) = header.find_role(&roles::RoleNames::built_in().depth)
    {
        let cells = header.sample.iter().filter_map(|row| row.get(at));
        depths = depth_numbers(cells.map(String::as_str)).0;
    }
    Some(depth_unit(header, ground, &depths, true))
}

fn has_depth_unit(header: &Header) -> bool {
    let says_unit = |at: usize| {
        let (name, unit) = roles::without_unit(&plain_name(header.name(at)));
        let is_depth = roles::RoleNames::built_in().depth.contains(&name);
        let below = header.unit(at).unwrap_or_default();
        matches!(column_mark(header, at), Some((_, Some(_))))
            || (is_depth && (unit.is_some() || roles::is_length_unit(below)))
    };
    (0..header.names.len()).any(says_unit)
}

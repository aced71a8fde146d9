//! A first plan for the files of a field: which keys it has, and why. The plan side makes a file of it.

mod boundary;
mod columns;
mod cone;
mod depth;
mod depth_unit;
mod file;
pub(in crate::intake) mod ground;
mod joint_id;
mod part;
mod places;
pub(in crate::intake) mod sketch;
mod text;

use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use crate::files::Files;
use crate::plan::{DraftLine, PlanDraft, Trust};

use super::error::IntakeError;
use super::formats::shapes::Shapes;
pub use sketch::{ColumnHead, column_heads};

use file::{Head, draft_points};
use ground::Ground;
use joint_id::JointId;

/// Seconds of a year, a hundredth day long.
const DAYS: u64 = 86_400 * 36_525 / 100;

/// A first plan, and where its boundary lies.
#[derive(Debug)]
pub struct Draft {
    /// The plan.
    pub plan: PlanDraft,
    /// The boundary's coordinate system and two corners of its box; `None` where the file does not say the system.
    pub ground: Option<(String, [(f64, f64); 2])>,
}

/// A commented plan for a boundary and files of points, with paths relative to `folder`. Without files of points it is the plan of a field
/// that is still to be sampled.
///
/// # Errors
/// Where a file cannot be read.
pub fn draft_plan(
    files: &Files,
    boundary: &Path,
    points: &[PathBuf],
    folder: &Path,
) -> Result<Draft, Vec<IntakeError>> {
    let mut errors = Vec::new();
    let mut heads = Vec::new();
    for file in points {
        match Head::read(files, file) {
            Ok(head) => heads.push(head),
            Err(error) => errors.push(error),
        }
    }
    let places: Vec<(f64, f64)> = heads.iter().flat_map(|head| head.sketch.places()).collect();
    let field = boundary::field_of(files, boundary, &places)
        .map_err(|error| errors.push(error))
        .unwrap_or_default();
    let shapes = &field.shapes;
    let ground = Ground::from_shapes(shapes);
    let tables = heads
        .iter()
        .map(|head| draft_points(head, folder, ground.as_ref(), joint_id(head, &heads)))
        .collect();
    if !errors.is_empty() {
        return Err(errors);
    }
    let mut plan = PlanDraft {
        head: head(shapes),
        points: tables,
        people: boundary::people(shapes),
        looks: boundary::looks(&field, &places),
    };
    plan.head.push(units_line(&plan, ground.as_ref()));
    plan.head
        .push(boundary::boundary_line(&field, boundary, folder));
    let ground = ground.map(|ground| (ground.crs.clone(), ground.corners()));
    Ok(Draft { plan, ground })
}

/// The column of a file of places by which another file's results find theirs.
fn joint_id(head: &Head, heads: &[Head]) -> Option<JointId> {
    let mut others = heads.iter().filter(|other| !std::ptr::eq(*other, head));
    others.find_map(|other| JointId::find(&head.sketch, &other.sketch))
}

/// The top of the plan. Where nothing says the season it is next year's from September on.
fn head(shapes: &Shapes) -> Vec<DraftLine> {
    let field = boundary::field_name(shapes).map_or_else(
        || {
            DraftLine::text("field", "My field")
                .because(Trust::Guessed, "the name that the report prints")
        },
        |(attribute, name)| {
            DraftLine::text("field", &name).because(
                Trust::Guessed,
                format!("from the boundary's attribute {attribute}"),
            )
        },
    );
    let season = boundary::season(shapes).map_or_else(
        || {
            let seconds = SystemTime::now()
                .duration_since(UNIX_EPOCH)
                .map_or(0, |since| since.as_secs());
            let season = 1970 + (seconds + DAYS / 3) / DAYS;
            DraftLine::new("season", season.to_string())
                .because(Trust::Guessed, "the season that is planned for")
        },
        |(attribute, season)| {
            DraftLine::new("season", season.to_string()).because(
                Trust::Guessed,
                format!("from the boundary's attribute {attribute}"),
            )
        },
    );
    let crop = DraftLine::text("crop", "corn")
        .because(Trust::Guessed, "the rulebook says which crops it knows");
    vec![field, season, crop]
}

/// Metric where the files' own units are, or where the field lies neither in the United States nor in Canada.
fn units_line(plan: &PlanDraft, ground: Option<&Ground>) -> DraftLine {
    let text = plan.to_text().to_lowercase();
    let text = text.split("\n[grid]").next().unwrap_or_default();
    let count = |units: &[&str]| {
        units
            .iter()
            .map(|unit| text.matches(unit).count())
            .sum::<usize>()
    };
    let metric = count(&[
        " cm\"",
        "\"cm\"",
        "\"kpa\"",
        "\"mpa\"",
        "kg/ha",
        "mg/100g",
        "\"mg/kg\"",
        "[cm]",
    ]);
    let us = count(&[" in\"", "\"in\"", "\"psi\"", "lb/a", "lbs/a", "(in)"]);
    let is_far = ground.is_some_and(Ground::is_metric);
    let units = if metric > us || (metric == us && is_far) {
        "metric"
    } else {
        "us"
    };
    DraftLine::text("units", units).because(
        Trust::Guessed,
        "us | metric: what is printed; both are read",
    )
}

//! What a draft says of a file of cone pushes.

use crate::analyte::plain_name;
use crate::intake::columns::Header;
use crate::intake::columns::cone_roles::ConeForm;
use crate::intake::columns::depth_mark::depth_mark;
use crate::intake::columns::roles;
use crate::intake::columns::table_roles::TableRoles;
use crate::plan::{DraftLine, PointsDraft, Trust};
use crate::units::{Length, decimal};

use super::sketch::Sketch;

/// A unit for cone readings: the file's word, else the one that the size of the readings speaks for.
pub(super) fn cone_unit(header: &Header) -> (&'static str, bool) {
    let text = header
        .names
        .iter()
        .chain(header.units.iter().flatten())
        .map(|name| plain_name(name))
        .collect::<Vec<_>>()
        .join(" ");
    if let Some(unit) = [("psi", "psi"), ("kpa", "kPa"), ("mpa", "MPa")]
        .iter()
        .find(|(word, _)| text.contains(word))
    {
        return (unit.1, true);
    }
    let is_reading = |at: usize| {
        let plain = plain_name(header.name(at));
        depth_mark(&plain).is_some()
            || roles::RoleNames::built_in()
                .resistance
                .contains(&roles::role_name(&plain))
    };
    let mut numbers: Vec<f64> = header
        .sample
        .iter()
        .flat_map(|row| {
            row.iter()
                .enumerate()
                .filter(|(at, _)| is_reading(*at))
                .filter_map(|(_, cell)| cell.trim().parse().ok())
        })
        .collect();
    numbers.sort_by(f64::total_cmp);
    let unit = match numbers.get(numbers.len() / 2) {
        Some(median) if *median < 10.0 => "MPa",
        Some(median) if *median >= 700.0 => "kPa",
        _ => "psi",
    };
    (unit, false)
}

/// Unit, depths and moisture.
pub(super) fn push_cone(draft: &mut PointsDraft, sketch: &Sketch, roles: &TableRoles) {
    let Some(cone) = &roles.cone else { return };
    let (unit, is_said) = cone_unit(&sketch.header);
    let why = if is_said {
        "because of the columns' names"
    } else {
        "because of the size of the readings; check it"
    };
    draft
        .lines
        .push(DraftLine::text("unit", unit).because(Trust::Guessed, why));
    match &cone.form {
        ConeForm::Wide(marks) => {
            let depths: Vec<Length> = marks.iter().map(|(_, _, depth)| *depth).collect();
            let list: Vec<String> = marks
                .iter()
                .map(|(_, name, depth)| {
                    format!(
                        "{} = \"{}\"",
                        DraftLine::quoted(name),
                        depth_text(*depth, &depths)
                    )
                })
                .collect();
            let line = DraftLine::new("depths", format!("{{ {} }}", list.join(", ")));
            draft
                .lines
                .push(line.because(Trust::Guessed, "because of the columns' names"));
        }
        ConeForm::Long { depth, metres, .. } => {
            let column = DraftLine::text("depth_column", sketch.header.name(*depth));
            draft
                .lines
                .push(column.because(Trust::Guessed, "one reading per row"));
            draft
                .lines
                .push(DraftLine::text("depth_unit", unit_of_length(*metres)));
        }
        ConeForm::Maximum(at) => {
            let name = DraftLine::quoted(sketch.header.name(*at));
            let line = DraftLine::new("depths", format!("{{ {name} = \"15 in\" }}"));
            draft.lines.push(line.because(
                Trust::Guessed,
                "the largest reading of each push; how deep was pushed?",
            ));
        }
    }
    let moisture = DraftLine::text("moisture", "field capacity").as_comment();
    draft.lines.push(moisture.because(
        Trust::Said,
        "what the operator noted; readings in dry soil are too high",
    ));
}

/// A depth in inches where all are whole quarters of an inch, else in centimetres.
fn depth_text(depth: Length, all: &[Length]) -> String {
    let is_quarter = |depth: &Length| {
        let quarters = depth.metres() / 0.0254 * 4.0;
        (quarters - quarters.round()).abs() < 1e-6
    };
    if all.iter().all(is_quarter) {
        format!("{} in", decimal(depth.metres() / 0.0254, 2))
    } else {
        format!("{} cm", decimal(depth.metres() * 100.0, 2))
    }
}

/// The name of a unit of depth.
pub(super) fn unit_of_length(metres: f64) -> &'static str {
    let is = |unit: f64| (metres - unit).abs() < 1e-9;
    if is(0.0254) {
        "in"
    } else if is(0.01) {
        "cm"
    } else if is(0.001) {
        "mm"
    } else if is(0.3048) {
        "ft"
    } else {
        "m"
    }
}

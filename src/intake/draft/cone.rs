//! What a draft says of a file of cone pushes.

use crate::intake::columns::Header;
use crate::intake::columns::cone_roles::ConeForm;
use crate::intake::columns::reading_column::{column_mark, newtons, pressure, unit_in_file};
use crate::intake::columns::roles;
use crate::intake::columns::table_roles::TableRoles;
use crate::plan::{DraftLine, PointsDraft, Trust};
use crate::units::{Length, decimal};

use super::depth_unit::DepthUnit;
use super::sketch::Sketch;

/// Units of readings as people spell them.
const SPELLINGS: [&str; 8] = ["psi", "kPa", "MPa", "bar", "N", "kN", "kgf", "lbf"];
const BY_SIZE: &str = "the file does not say the unit: because of the size of the readings";

/// A unit of cone readings, and who says it.
pub(super) struct ConeUnit {
    /// As a plan names it.
    pub text: String,
    /// Whether the file says it.
    pub is_said: bool,
}

impl ConeUnit {
    /// Whether the readings are a force, which needs the base area of the cone.
    pub(super) fn is_force(&self) -> bool {
        newtons(&self.text).is_some()
    }
}

/// A unit for cone readings: the file's word, else the one that the size of the readings speaks for.
pub(super) fn cone_unit(header: &Header) -> ConeUnit {
    let is_reading = |at: usize| {
        let role = roles::role_name(header.name(at));
        column_mark(header, at).is_some() || roles::RoleNames::built_in().resistance.contains(&role)
    };
    let said = |at: usize| {
        unit_in_file(header, at)
            .filter(|unit| pressure(unit).is_some() || (newtons(unit).is_some() && is_reading(at)))
    };
    if let Some(unit) = (0..header.names.len()).find_map(said) {
        let known = SPELLINGS
            .iter()
            .find(|known| known.eq_ignore_ascii_case(&unit));
        return ConeUnit {
            text: known.map_or(unit, |known| (*known).to_owned()),
            is_said: true,
        };
    }
    let number = |cell: &String| cell.trim().replace(',', ".").parse::<f64>().ok();
    let mut numbers: Vec<f64> = header
        .sample
        .iter()
        .flat_map(|row| {
            row.iter()
                .enumerate()
                .filter(|(at, _)| is_reading(*at))
                .filter_map(|(_, cell)| number(cell))
        })
        .collect();
    numbers.sort_by(f64::total_cmp);
    let unit = match numbers.get(numbers.len() / 2) {
        Some(median) if *median < 10.0 => "MPa",
        Some(median) if *median >= 700.0 => "kPa",
        _ => "psi",
    };
    ConeUnit {
        text: unit.to_owned(),
        is_said: false,
    }
}

/// The unit, and where it is a force the cone's base area, which is asked for.
fn push_unit(draft: &mut PointsDraft, header: &Header) {
    let unit = cone_unit(header);
    let why = if unit.is_said {
        "because of the columns' names"
    } else {
        BY_SIZE
    };
    draft
        .lines
        .push(DraftLine::text("unit", &unit.text).because(Trust::Guessed, why));
    if unit.is_force() {
        let area = DraftLine::text("base_area", "323 mm2").as_comment();
        draft.lines.push(area.because(
            Trust::Look,
            "the readings are a force: write the base area of the cone that was used (323 mm2 is a 20.27 mm cone, 130 mm2 a 12.83 mm one)",
        ));
    }
}

/// Unit, depths and moisture.
///
/// `marks_unit` is the unit that was guessed for depths without one.
pub(super) fn push_cone(
    draft: &mut PointsDraft,
    sketch: &Sketch,
    roles: &TableRoles,
    marks_unit: Option<&DepthUnit>,
) {
    let Some(cone) = &roles.cone else { return };
    push_unit(draft, &sketch.header);
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
            let why = marks_unit.map_or_else(
                || "because of the columns' names".to_owned(),
                DepthUnit::note,
            );
            draft.lines.push(line.because(Trust::Guessed, why));
        }
        ConeForm::Long { depth, metres, .. } => {
            let column = DraftLine::text("depth_column", sketch.header.name(*depth));
            draft
                .lines
                .push(column.because(Trust::Guessed, "one reading per row"));
            let line = DraftLine::text("depth_unit", unit_of_length(*metres));
            draft.lines.push(match marks_unit {
                Some(guess) => line.because(Trust::Guessed, guess.note()),
                None => line,
            });
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

//! What a draft says of the sampling depth.

use crate::analyte::DepthRange;
use crate::intake::columns::Header;
use crate::intake::columns::roles::RoleNames;
use crate::intake::columns::table_roles::{DepthRole, TableRoles};
use crate::plan::{DraftLine, PointKind, PointsDraft, Trust};

use super::cone::unit_of_length;
use super::depth_unit::{depth_numbers, depth_unit};
use super::ground::Ground;
use super::sketch::Sketch;

/// Where the sampling depth stands.
pub(super) fn push_depth(
    draft: &mut PointsDraft,
    sketch: &Sketch,
    roles: &TableRoles,
    ground: Option<&Ground>,
) {
    if sketch.kind != PointKind::Cores {
        return;
    }
    let name = |at: usize| sketch.header.name(at);
    match &roles.depth {
        DepthRole::Text(at, unit) => {
            let line = DraftLine::text("depth_column", name(*at));
            draft
                .lines
                .push(line.because(Trust::Guessed, "because of its name"));
            let unit = unit
                .as_deref()
                .filter(|unit| matches!(*unit, "in" | "cm" | "mm" | "m" | "ft"));
            draft.lines.push(match unit {
                Some(unit) => DraftLine::text("depth_unit", unit),
                None => guessed_unit(sketch, &[*at], ground),
            });
        }
        DepthRole::Pair(top, bottom, metres) => {
            push_pair(draft, (name(*top), name(*bottom)));
            let unit = unit_of_length(*metres);
            draft.lines.push(DraftLine::text("depth_unit", unit));
        }
        DepthRole::Sections => {}
        _ => match pair_without_unit(&sketch.header) {
            Some((top, bottom)) => {
                push_pair(draft, (name(top), name(bottom)));
                draft
                    .lines
                    .push(guessed_unit(sketch, &[top, bottom], ground));
            }
            None if roles.results.iter().all(|result| result.depth.is_some())
                && !roles.results.is_empty() => {}
            None => draft.lines.push(assumed_depth(roles, ground)),
        },
    }
}

/// A depth for columns of which nothing says one.
fn assumed_depth(roles: &TableRoles, ground: Option<&Ground>) -> DraftLine {
    let mut said: Vec<DepthRange> = roles.results.iter().filter_map(|own| own.depth).collect();
    said.sort_unstable();
    said.dedup();
    let usual = if ground.is_some_and(Ground::is_metric) {
        "0-15 cm"
    } else {
        "0-6 in"
    };
    let Some(first) = said.first() else {
        return DraftLine::text("depth", usual).because(
            Trust::Guessed,
            "nothing in the file says how deep was sampled",
        );
    };
    let others: Vec<String> = roles
        .results
        .iter()
        .filter(|own| own.depth.is_none())
        .map(|own| DraftLine::quoted(&own.name))
        .collect();
    let list: Vec<String> = said.iter().map(|depth| depth.as_written()).collect();
    DraftLine::text("depth", &first.as_written()).because(
        Trust::Look,
        format!(
            "GUESS for {}, whose names say no depth; other columns' names say {}",
            others.join(", "),
            list.join(", ")
        ),
    )
}

/// The unit of depths in some columns that do not say theirs: the one that their cells say, else a guess.
fn guessed_unit(sketch: &Sketch, columns: &[usize], ground: Option<&Ground>) -> DraftLine {
    let header = &sketch.header;
    let cells = header
        .sample
        .iter()
        .flat_map(|row| columns.iter().filter_map(|at| row.get(*at)))
        .map(String::as_str);
    let (numbers, in_cells) = depth_numbers(cells);
    if let (true, Some(unit)) = (numbers.is_empty(), in_cells) {
        return DraftLine::text("depth_unit", unit)
            .because(Trust::Said, "of depths that have none of their own");
    }
    let guess = depth_unit(header, ground, &numbers, false);
    DraftLine::text("depth_unit", guess.unit).because(Trust::Guessed, guess.note())
}

fn push_pair(draft: &mut PointsDraft, (top, bottom): (&str, &str)) {
    let line = DraftLine::text("top", top);
    draft
        .lines
        .push(line.because(Trust::Guessed, "because of the names of both columns"));
    draft.lines.push(DraftLine::text("bottom", bottom));
}

fn pair_without_unit(header: &Header) -> Option<(usize, usize)> {
    RoleNames::built_in()
        .top_and_bottom
        .iter()
        .find_map(|(top, bottom)| Some((header.find_role(&[top])?, header.find_role(&[bottom])?)))
}

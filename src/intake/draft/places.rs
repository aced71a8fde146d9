//! What a draft says of places, sample names and depths.

use crate::intake::columns::table_roles::TableRoles;
use crate::intake::table::coordinates::is_degree_name;
use crate::plan::{DraftLine, PointKind, PointsDraft, Trust};

use super::ground::Ground;
use super::sketch::Sketch;

const BY_NAME: &str = "because of its name";

/// Coordinate system, columns of coordinates, column of names.
pub(super) fn push_places(
    draft: &mut PointsDraft,
    sketch: &Sketch,
    roles: &TableRoles,
    ground: Option<&Ground>,
) {
    let column = |key: &str, at: usize| {
        DraftLine::text(key, sketch.header.name(at)).because(Trust::Guessed, BY_NAME)
    };
    match (roles.x, roles.y) {
        _ if sketch.has_geometry => {
            if !sketch.has_crs {
                push_crs(draft, &sketch.points, false, ground);
            }
        }
        (Some(x), Some(y)) => {
            let is_degrees = [x, y].iter().all(|at| is_degree_name(sketch.header.name(*at)));
            let points = sketch.header.number_pairs(x, y);
            push_crs(draft, &points, is_degrees, ground);
            draft.lines.extend([column("x", x), column("y", y)]);
        }
        _ if roles.id.is_some() => draft.looks.push(
            "no columns of coordinates: the results are joined by sample name to another [[points]] file that has places".to_owned(),
        ),
        _ => draft.looks.push(
            "no columns of coordinates and none of sample names were recognised: name them with x and y, or with id".to_owned(),
        ),
    }
    match roles.id {
        Some(id) => draft.lines.push(column("id", id)),
        None if sketch.kind == PointKind::Cores && (roles.x.is_some() || sketch.has_geometry) => {
            draft
                .lines
                .push(DraftLine::text("id", "...").as_comment().because(
                    Trust::Guessed,
                    "no column of sample names was recognised; the rows are told by their numbers",
                ));
        }
        None => {}
    }
}

/// The coordinate system: degrees by the columns' names, the boundary's where the points fall inside it there, else still to be found.
fn push_crs(
    draft: &mut PointsDraft,
    points: &[(f64, f64)],
    is_degrees: bool,
    ground: Option<&Ground>,
) {
    let inside = ground.map_or(0, |ground| ground.count_inside(points));
    let crs = ground
        .filter(|_| inside * 2 > points.len())
        .map(|ground| ground.crs.as_str());
    let share = format!(
        "{inside} of the first {} points fall inside the boundary",
        points.len()
    );
    match (crs, is_degrees) {
        (Some(crs), _) => draft.lines.push(
            DraftLine::text("crs", crs)
                .because(Trust::Guessed, format!("as the boundary: {share}")),
        ),
        (None, true) => draft.lines.push(
            DraftLine::text("crs", "EPSG:4326")
                .because(Trust::Guessed, "degrees, because of the columns' names"),
        ),
        (None, false) => draft.unplaced = points.to_vec(),
    }
}

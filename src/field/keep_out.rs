//! Keep-outs: areas, lines and points with a buffer round them, brought to the field's plane and cut from the field.

use geo::{Area as _, BooleanOps, BoundingRect, Geometry, MultiPolygon};

use super::buffer::{ground_within, has_ring, union_of};
use super::meridian;
use super::misplaced::{self, FARTHEST_MISS_M, Neighbourhood};
use super::observations::check_route;
use super::outline;
use super::{FieldError, KeptOut};
use crate::intake::AreaShape;
use crate::plan::{KeepOut, Settings};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::{Area, UnitSystem};

/// Parts of the workable area smaller than this are dropped, m²: no machine can work them, and they come from
/// outlines that run side by side.
const SMALLEST_PART_M2: f64 = 1.0;
/// Less ground than this is none, m².
const NO_GROUND_M2: f64 = 0.01;
/// Widest distance round a keep-out that is believed, metres (own; setbacks from water and wells are a few hundred at most).
const WIDEST_DISTANCE_M: f64 = 5_000.0;

/// Brings every keep-out to the plane and says what each takes.
pub(super) fn keep_outs(
    shapes: &[AreaShape<Geometry<f64>>],
    settings: &Settings,
    around: &Neighbourhood<'_>,
    boundary: &MultiPolygon<f64>,
    remarks: &mut Vec<Remark>,
) -> Result<Vec<KeptOut>, Vec<FieldError>> {
    let (mut kept, mut problems) = (Vec::new(), Vec::new());
    for (source, wanted) in shapes.iter().zip(&settings.keep_outs) {
        match keep_out(source, wanted, around, boundary, remarks) {
            Ok(one) => {
                remarks.push(ground_taken(&one, wanted, settings.units));
                kept.push(one);
            }
            Err(problem) => problems.push(problem),
        }
    }
    if problems.is_empty() {
        Ok(kept)
    } else {
        Err(problems)
    }
}

fn keep_out(
    source: &AreaShape<Geometry<f64>>,
    wanted: &KeepOut,
    around: &Neighbourhood<'_>,
    boundary: &MultiPolygon<f64>,
    remarks: &mut Vec<Remark>,
) -> Result<KeptOut, FieldError> {
    let distance_m = wanted.distance.metres();
    if !(0.0..=WIDEST_DISTANCE_M).contains(&distance_m) {
        return Err(FieldError::DistanceTooWide {
            place: wanted.place.clone(),
            limit_kilometres: WIDEST_DISTANCE_M / 1_000.0,
        });
    }
    let place = Place::file(source.file.clone());
    let failed = |cause| FieldError::Projection {
        place: place.clone(),
        cause,
    };
    let (degrees, route) = outline::to_degrees(&source.shape, &source.crs).map_err(|cause| {
        around
            .elsewhere(source, wanted, None)
            .unwrap_or(failed(cause))
    })?;
    check_route(&route, &source.crs, &place, remarks)?;
    let degrees = meridian::beside(degrees, around.bounds.center().x);
    if around.misses(&degrees) {
        return Err(around.certainly_elsewhere(source, wanted, &degrees));
    }
    let plane = outline::to_plane(&degrees, around.crs).map_err(failed)?;
    let shape = ground_within(&plane, distance_m);
    let covered_m2 = shape.unsigned_area();
    let inside_m2 = ground_inside(&shape, boundary);
    if inside_m2 < NO_GROUND_M2
        && misplaced::distance_m(&plane, boundary) - distance_m > FARTHEST_MISS_M
    {
        return Err(around.certainly_elsewhere(source, wanted, &degrees));
    }
    if has_ring(&source.shape) {
        remarks.push(
            Remark::assumption(
                "keep-out-closed-line",
                "a line of this keep-out ends where it began: the ground inside it is kept out too, as of a pond",
            )
            .at(place)
            .help("open the line by one vertex if only the line itself is to be kept out"),
        );
    }
    Ok(KeptOut {
        shape,
        why: wanted.why.clone(),
        file: source.file.clone(),
        covered_m2,
        inside_m2,
    })
}

fn ground_inside(shape: &MultiPolygon<f64>, boundary: &MultiPolygon<f64>) -> f64 {
    if apart(shape, boundary) {
        0.0
    } else {
        shape.intersection(boundary).unsigned_area()
    }
}

/// Whether the bounding boxes of two areas have no point in common.
fn apart(a: &MultiPolygon<f64>, b: &MultiPolygon<f64>) -> bool {
    match (a.bounding_rect(), b.bounding_rect()) {
        (Some(a), Some(b)) => {
            a.max().x < b.min().x
                || b.max().x < a.min().x
                || a.max().y < b.min().y
                || b.max().y < a.min().y
        }
        _ => true,
    }
}

/// What a keep-out takes, in words. Nothing is worth a look: somebody meant to keep something out.
fn ground_taken(one: &KeptOut, wanted: &KeepOut, units: UnitSystem) -> Remark {
    let show = |square_metres: f64| {
        let area = Area::from_square_metres(square_metres);
        let decimals = if square_metres < 4_000.0 { 3 } else { 1 };
        area.show(units, decimals)
    };
    if one.covered_m2 < NO_GROUND_M2 {
        return Remark::warning(
            "keep-out-without-area",
            "this keep-out is a line or point without a distance, so it takes no ground",
        )
        .at(wanted.place.clone())
        .help("add distance = \"33 ft\" (or what the setback is) to this keep_out");
    }
    if one.inside_m2 < NO_GROUND_M2 {
        return Remark::warning(
            "keep-out-outside-field",
            format!(
                "\"{}\" ({}) takes no ground: 0 of {} asked lies inside the field",
                one.why,
                one.file,
                show(one.covered_m2)
            ),
        )
        .at(wanted.place.clone())
        .help(
            "check its crs and its distance, or take it out of the plan if it is of another field",
        );
    }
    let rest = if one.covered_m2 - one.inside_m2 < NO_GROUND_M2 {
        ""
    } else {
        "; the rest lies outside the field"
    };
    Remark::info(
        "keep-out-ground",
        format!(
            "\"{}\" ({}) takes {} of {} asked{rest}",
            one.why,
            one.file,
            show(one.inside_m2),
            show(one.covered_m2)
        ),
    )
    .at(wanted.place.clone())
}

/// The boundary without the keep-outs. A keep-out that does not touch the field leaves the boundary as it is.
pub(super) fn cut(boundary: &MultiPolygon<f64>, keep_outs: &[KeptOut]) -> MultiPolygon<f64> {
    let touching: Vec<_> = keep_outs
        .iter()
        .filter(|one| one.inside_m2 > 0.0)
        .map(|one| one.shape.clone())
        .collect();
    if touching.is_empty() {
        return boundary.clone();
    }
    let left = boundary.difference(&union_of(&touching));
    MultiPolygon(
        left.0
            .into_iter()
            .filter(|part| part.unsigned_area() >= SMALLEST_PART_M2)
            .collect(),
    )
}

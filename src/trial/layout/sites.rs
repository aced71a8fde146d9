use geo::MultiPolygon;

use super::rings::Rings;
use super::runs::{Run, shared};
use crate::trial::machines::Machines;

/// Headland: so many swaths from the outline no check lies.
const HEADLAND_SWATHS: f64 = 2.0;

/// For each pass that a check could begin at, the stretches on which the check and both its sides lie in one zone, off the
/// headland. Runs rise along the pass; a run is one stretch of one zone.
///
/// # Shape
/// One list a position, as many positions as whole checks fit between the edges of the area.
#[must_use]
pub fn sites(
    workable: &MultiPolygon<f64>,
    zones: &[(u32, &MultiPolygon<f64>)],
    machines: &Machines,
    passes: usize,
) -> Vec<Vec<Run>> {
    let field = Rings::new(workable, &machines.frame);
    let zones: Vec<(u32, Rings)> = zones
        .iter()
        .map(|(number, shape)| (*number, Rings::new(shape, &machines.frame)))
        .collect();
    (0..(passes + 1).saturating_sub(machines.check_passes))
        .map(|position| runs_at(&field, &zones, machines, position))
        .collect()
}

fn runs_at(
    field: &Rings,
    zones: &[(u32, Rings)],
    machines: &Machines,
    position: usize,
) -> Vec<Run> {
    let (middle, reach) = (machines.middle(position), machines.reach());
    let whole = field.well_inside_over(
        (middle - reach, middle + reach),
        HEADLAND_SWATHS * machines.frame.swath_m,
    );
    let Some(longest) = whole.into_iter().max_by(|a, b| {
        (a.1 - a.0)
            .total_cmp(&(b.1 - b.0))
            .then(b.0.total_cmp(&a.0))
    }) else {
        return Vec::new();
    };
    let mut runs: Vec<Run> = zones
        .iter()
        .flat_map(|(number, shape)| {
            let across = [middle - reach, middle, middle + reach];
            let stretches = across
                .iter()
                .map(|&at| shape.inside(at))
                .fold(vec![longest], |all, one| shared(&all, &one));
            stretches.into_iter().map(|(from_m, to_m)| Run {
                zone: *number,
                from_m,
                to_m,
            })
        })
        .collect();
    runs.sort_by(|a, b| a.from_m.total_cmp(&b.from_m));
    runs
}

/// Metres across of the leftmost and rightmost place of an area, and how many whole passes lie between.
#[must_use]
pub fn passes_over(workable: &MultiPolygon<f64>, heading: f64, swath_m: f64) -> (f64, usize) {
    use geo::CoordsIter;
    let frame = crate::trial::frame::Frame {
        heading,
        left_m: 0.0,
        swath_m,
    };
    let (left, right) = workable
        .coords_iter()
        .map(|c| frame.along_across((c.x, c.y)).1)
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), across| {
            (low.min(across), high.max(across))
        });
    if left > right {
        return (0.0, 0);
    }
    (left, ((right - left) / swath_m) as usize)
}

use geo::{Coord, LineString, MultiPolygon};
use serde::{Deserialize, Serialize};

use crate::trial::frame::Frame;

/// A stretch along a pass that lies in one zone.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Run {
    /// Number of the zone.
    pub zone: u32,
    /// Metres along, of its beginning.
    pub from_m: f64,
    /// Metres along, of its end.
    pub to_m: f64,
}

impl Run {
    /// Length, metres.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.to_m - self.from_m
    }
}

/// The stretches of a line along the way of travel that lie inside an area, rising. Metres along.
#[must_use]
pub fn inside(area: &MultiPolygon<f64>, frame: &Frame, across: f64) -> Vec<(f64, f64)> {
    let mut crossings: Vec<f64> = Vec::new();
    for polygon in area {
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            cross(ring, frame, across, &mut crossings);
        }
    }
    crossings.sort_by(f64::total_cmp);
    crossings
        .chunks_exact(2)
        .map(|pair| (pair[0], pair[1]))
        .filter(|(from, to)| to > from)
        .collect()
}

fn cross(ring: &LineString<f64>, frame: &Frame, across: f64, found: &mut Vec<f64>) {
    let on_frame = |c: &Coord<f64>| frame.along_across((c.x, c.y));
    for pair in ring.0.windows(2) {
        let ((a, u), (b, v)) = (on_frame(&pair[0]), on_frame(&pair[1]));
        // A vertex on the line counts as right of it: each crossing once.
        if (u < across) != (v < across) {
            found.push(a + (across - u) / (v - u) * (b - a));
        }
    }
}

/// What two lists of stretches share.
#[must_use]
pub fn shared(a: &[(f64, f64)], b: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut both = Vec::new();
    for (from, to) in a {
        for (other_from, other_to) in b {
            let (start, end) = (from.max(*other_from), to.min(*other_to));
            if end > start {
                both.push((start, end));
            }
        }
    }
    both
}

/// The stretches over which a whole width lies inside an area: looked at along several lines across it.
#[must_use]
pub fn inside_over(
    area: &MultiPolygon<f64>,
    frame: &Frame,
    (left, right): (f64, f64),
) -> Vec<(f64, f64)> {
    const LINES: usize = 5;
    // A millimetre inside, so that an edge on the outline counts as inside.
    let (left, right) = (left + 1e-3, right - 1e-3);
    (0..LINES)
        .map(|line| left + (right - left) * line as f64 / (LINES - 1) as f64)
        .map(|across| inside(area, frame, across))
        .reduce(|all, one| shared(&all, &one))
        .unwrap_or_default()
}

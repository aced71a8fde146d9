//! An area in metres along and across the way of travel.

use geo::MultiPolygon;

use super::runs::shared;
use crate::trial::frame::Frame;

/// How far a rectangle must stay off an area's outline to lie inside, metres: more than rounding, less than anybody steers.
const CLEAR_M: f64 = 1e-6;

/// The rings of an area, each place as metres along and across the way of travel.
#[derive(Debug, Clone)]
pub struct Rings(Vec<Vec<(f64, f64)>>);

impl Rings {
    /// The outlines and holes of an area.
    #[must_use]
    pub fn new(area: &MultiPolygon<f64>, frame: &Frame) -> Self {
        let rings = area.iter().flat_map(|polygon| {
            std::iter::once(polygon.exterior())
                .chain(polygon.interiors())
                .map(|ring| {
                    ring.0
                        .iter()
                        .map(|c| frame.along_across((c.x, c.y)))
                        .collect()
                })
        });
        Self(rings.collect())
    }

    /// The stretches of a line along the way of travel that lie inside, rising. Metres along.
    #[must_use]
    pub fn inside(&self, across: f64) -> Vec<(f64, f64)> {
        let mut crossings = self.crossings(across);
        crossings.sort_by(f64::total_cmp);
        crossings
            .chunks_exact(2)
            .map(|pair| (pair[0], pair[1]))
            .filter(|(from, to)| to > from)
            .collect()
    }

    /// The stretches of a line along the way of travel that lie inside and farther than `distance_m` from every outline, rising.
    #[must_use]
    pub fn well_inside(&self, across: f64, distance_m: f64) -> Vec<(f64, f64)> {
        let mut near: Vec<(f64, f64)> = self
            .edges()
            .filter_map(|(a, b)| near_segment(a, b, across, distance_m))
            .collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0));
        let inside = self.inside(across);
        inside
            .into_iter()
            .flat_map(|whole| without(whole, &near))
            .collect()
    }

    /// The stretches over which a whole width lies well inside: looked at along several lines across it.
    #[must_use]
    pub fn well_inside_over(&self, (left, right): (f64, f64), distance_m: f64) -> Vec<(f64, f64)> {
        const LINES: usize = 5;
        // A millimetre inside, so that an edge on the outline counts as inside.
        let (left, right) = (left + 1e-3, right - 1e-3);
        (0..LINES)
            .map(|line| left + (right - left) * line as f64 / (LINES - 1) as f64)
            .map(|across| self.well_inside(across, distance_m))
            .reduce(|all, one| shared(&all, &one))
            .unwrap_or_default()
    }

    /// Whether a whole rectangle lies inside: its middle does, and no edge of the area comes into it. Metres along and across.
    #[must_use]
    pub fn holds(&self, along: (f64, f64), across: (f64, f64)) -> bool {
        let middle = f64::midpoint(along.0, along.1);
        let before = self.crossings(f64::midpoint(across.0, across.1));
        let is_inside = before.iter().filter(|&&at| at < middle).count() % 2 == 1;
        let (low, high) = (
            (along.0 - CLEAR_M, across.0 - CLEAR_M),
            (along.1 + CLEAR_M, across.1 + CLEAR_M),
        );
        is_inside && !self.edges().any(|(a, b)| enters(a, b, low, high))
    }

    fn edges(&self) -> impl Iterator<Item = ((f64, f64), (f64, f64))> {
        let rings = self.0.iter();
        rings.flat_map(|ring| ring.windows(2).map(|pair| (pair[0], pair[1])))
    }

    /// Where the outlines cross a line along the way of travel, metres along, in no order.
    fn crossings(&self, across: f64) -> Vec<f64> {
        // A vertex on the line counts as right of it: each crossing once.
        self.edges()
            .filter(|((_, u), (_, v))| (*u < across) != (*v < across))
            .map(|((a, u), (b, v))| a + (across - u) / (v - u) * (b - a))
            .collect()
    }
}

/// Where `from + step * t` lies between two bounds: the range of `t`, if any.
fn slab(from: f64, step: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    if step == 0.0 {
        let is_between = (low..=high).contains(&from);
        return is_between.then_some((f64::NEG_INFINITY, f64::INFINITY));
    }
    let (one, other) = ((low - from) / step, (high - from) / step);
    Some((one.min(other), one.max(other)))
}

/// What two ranges share.
fn overlap(a: (f64, f64), b: (f64, f64)) -> Option<(f64, f64)> {
    let both = (a.0.max(b.0), a.1.min(b.1));
    (both.0 <= both.1).then_some(both)
}

/// Whether a segment has a place in common with a rectangle, by the slabs that bound it: along first, then across.
fn enters(a: (f64, f64), b: (f64, f64), low: (f64, f64), high: (f64, f64)) -> bool {
    let along = slab(a.0, b.0 - a.0, low.0, high.0);
    let across = slab(a.1, b.1 - a.1, low.1, high.1);
    let both = along.zip(across).and_then(|(p, q)| overlap(p, q));
    both.and_then(|both| overlap(both, (0.0, 1.0))).is_some()
}

/// The stretch of a line along the way of travel that lies within a distance of a segment. What lies so near is a convex shape (a rectangle
/// beside the segment, a disc about each end), so that the stretch is one: the hull of what the three have of the line.
fn near_segment(a: (f64, f64), b: (f64, f64), across: f64, distance: f64) -> Option<(f64, f64)> {
    if across < a.1.min(b.1) - distance || across > a.1.max(b.1) + distance {
        return None;
    }
    let disc = |end: (f64, f64)| {
        let half = (distance * distance - (across - end.1).powi(2)).sqrt();
        // No number where the line misses the disc.
        (half >= 0.0).then_some((end.0 - half, end.0 + half))
    };
    let (along, up, rise) = (b.0 - a.0, b.1 - a.1, across - a.1);
    let length = along.hypot(up);
    let beside = (length > 0.0)
        .then(|| {
            let lengthwise = slab(rise * up / length, along / length, 0.0, length);
            let sideways = slab(-rise * along / length, up / length, -distance, distance);
            lengthwise.zip(sideways).and_then(|(p, q)| overlap(p, q))
        })
        .flatten()
        .map(|(from, to)| (a.0 + from, a.0 + to));
    let parts = [disc(a), disc(b), beside].into_iter().flatten();
    parts.reduce(|all, one| (all.0.min(one.0), all.1.max(one.1)))
}

/// A stretch without others, which rise by where they begin.
fn without(whole: (f64, f64), others: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut left = Vec::new();
    let mut from = whole.0;
    for other in others {
        if other.0 > from && from < whole.1 {
            left.push((from, other.0.min(whole.1)));
        }
        from = from.max(other.1);
    }
    if from < whole.1 {
        left.push((from, whole.1));
    }
    left
}

#[cfg(test)]
mod tests {
    use geo::{Contains, Distance, LineString, MultiPolygon, Polygon};

    use super::Rings;
    use crate::trial::frame::Frame;

    /// A comb: teeth that reach into the area from one side.
    fn comb() -> MultiPolygon<f64> {
        let mut outline = vec![(0.0, 0.0), (100.0, 0.0), (100.0, 60.0)];
        outline.extend((0..10).rev().flat_map(|tooth| {
            let at = f64::from(tooth) * 10.0;
            [(at + 6.0, 60.0), (at + 5.0, 35.0), (at + 4.0, 60.0)]
        }));
        outline.push((0.0, 60.0));
        let hole = LineString::from(vec![(20.0, 10.0), (24.0, 10.0), (22.0, 14.0)]);
        MultiPolygon::new(vec![Polygon::new(LineString::from(outline), vec![hole])])
    }

    #[test]
    fn a_rectangle_is_held_where_the_geometry_library_finds_it_inside() {
        let area = comb();
        for heading in [0.0, 33.0, 90.0] {
            let frame = Frame {
                heading,
                left_m: 0.0,
                swath_m: 6.0,
            };
            let rings = Rings::new(&area, &frame);
            let mut held = 0;
            // Off whole metres, where outlines touch and rounding decides.
            for step in 0..4000 {
                let (along, across) = (
                    f64::from(step % 80) * 2.3 - 60.01234,
                    f64::from(step / 80) * 3.1 - 70.00567,
                );
                let (long, wide) = (3.0 + f64::from(step % 7) * 4.0, 2.0 + f64::from(step % 5));
                let corners = [(0.0, 0.0), (long, 0.0), (long, wide), (0.0, wide)];
                let corners = corners.map(|(a, c)| frame.place(along + a, across + c));
                let rectangle = Polygon::new(LineString::from(corners.to_vec()), Vec::new());
                let is_held = rings.holds((along, along + long), (across, across + wide));
                assert_eq!(
                    is_held,
                    area.contains(&rectangle),
                    "{heading} {along} {across}"
                );
                held += usize::from(is_held);
            }
            assert!(held > 50, "{held}");
        }
    }
    #[test]
    fn well_inside_is_as_far_from_every_outline_as_the_geometry_library_measures() {
        let area = comb();
        let frame = Frame {
            heading: 33.0,
            left_m: 0.0,
            swath_m: 6.0,
        };
        let rings = Rings::new(&area, &frame);
        let outlines: Vec<LineString<f64>> = area
            .iter()
            .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()).cloned())
            .collect();
        let mut found = 0;
        for line in 0..60 {
            let across = f64::from(line) * 2.37 - 50.0;
            let stretches = rings.well_inside(across, 4.0);
            for step in 0..300 {
                let along = f64::from(step) * 0.731 - 80.0;
                let place = geo::Point::from(frame.place(along, across));
                let off = outlines
                    .iter()
                    .map(|outline| geo::Euclidean.distance(&place, outline))
                    .fold(f64::INFINITY, f64::min);
                let is_well_inside = area.contains(&place) && off > 4.0;
                let is_found = stretches.iter().any(|s| (s.0..=s.1).contains(&along));
                assert_eq!(is_found, is_well_inside, "{across} {along} {off}");
                found += usize::from(is_found);
            }
        }
        assert!(found > 500, "{found}");
    }
}

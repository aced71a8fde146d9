//! Points on a fine integer lattice, where every question of left, right and between has an exact answer.

use std::cmp::Ordering;

/// A point of the lattice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(super) struct Point {
    pub x: i64,
    pub y: i64,
}

impl Point {
    /// The lattice point nearest to a place.
    pub fn nearest(x: f64, y: f64, per_unit: f64) -> Self {
        Self {
            x: (x * per_unit).round() as i64,
            y: (y * per_unit).round() as i64,
        }
    }

    /// The place as floating-point numbers; exact below 2^53 lattice units.
    pub fn place(self, per_unit: f64) -> (f64, f64) {
        (self.x as f64 / per_unit, self.y as f64 / per_unit)
    }

    /// Square of the distance to another point, in lattice units.
    pub fn squared_distance(self, other: Self) -> i128 {
        let (dx, dy) = (i128::from(self.x - other.x), i128::from(self.y - other.y));
        dx * dx + dy * dy
    }

    /// The place half-way to another point.
    pub fn middle(self, other: Self) -> (f64, f64) {
        (
            (self.x as f64).midpoint(other.x as f64),
            (self.y as f64).midpoint(other.y as f64),
        )
    }

    /// Distance to another point, in lattice units.
    pub fn distance(self, other: Self) -> f64 {
        ((self.x - other.x) as f64).hypot((self.y - other.y) as f64)
    }
}

/// The box round some points.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Bounds {
    low: Point,
    high: Point,
}

impl Bounds {
    /// The smallest box that holds all of some points.
    pub fn new(points: &[Point]) -> Self {
        let start = Self {
            low: Point {
                x: i64::MAX,
                y: i64::MAX,
            },
            high: Point {
                x: i64::MIN,
                y: i64::MIN,
            },
        };
        points.iter().fold(start, |box_so_far, p| Self {
            low: Point {
                x: box_so_far.low.x.min(p.x),
                y: box_so_far.low.y.min(p.y),
            },
            high: Point {
                x: box_so_far.high.x.max(p.x),
                y: box_so_far.high.y.max(p.y),
            },
        })
    }

    /// Whether a point lies in the box or on its rim.
    pub fn holds(self, p: Point) -> bool {
        (self.low.x..=self.high.x).contains(&p.x) && (self.low.y..=self.high.y).contains(&p.y)
    }
}

/// Twice the signed area of a triangle: above 0 where c lies left of the way from a to b.
pub(super) fn turn(a: Point, b: Point, c: Point) -> i128 {
    i128::from(b.x - a.x) * i128::from(c.y - a.y) - i128::from(b.y - a.y) * i128::from(c.x - a.x)
}

/// Twice the signed area of a ring (first point not repeated); above 0 for counter-clockwise.
pub(super) fn doubled_area(ring: &[Point]) -> i128 {
    let Some(&origin) = ring.first() else {
        return 0;
    };
    ring.windows(2)
        .map(|pair| turn(origin, pair[0], pair[1]))
        .sum()
}

/// Order of two directions by angle, counter-clockwise from east.
pub(super) fn by_angle(a: (i64, i64), b: (i64, i64)) -> Ordering {
    let is_lower = |d: (i64, i64)| d.1 < 0 || (d.1 == 0 && d.0 < 0);
    let cross = i128::from(a.0) * i128::from(b.1) - i128::from(a.1) * i128::from(b.0);
    is_lower(a).cmp(&is_lower(b)).then_with(|| 0.cmp(&cross))
}

/// Whether a point lies strictly inside the stretch from a to b.
pub(super) fn is_between(p: Point, a: Point, b: Point) -> bool {
    let in_box =
        p.x >= a.x.min(b.x) && p.x <= a.x.max(b.x) && p.y >= a.y.min(b.y) && p.y <= a.y.max(b.y);
    in_box && p != a && p != b && turn(a, b, p) == 0
}

/// Where two stretches cross, both from side to side, rounded to the lattice; `None` where they do not.
pub(super) fn crossing(a: Point, b: Point, c: Point, d: Point) -> Option<Point> {
    let (at_c, at_d) = (turn(a, b, c), turn(a, b, d));
    let (at_a, at_b) = (turn(c, d, a), turn(c, d, b));
    let is_proper = at_c.signum() * at_d.signum() < 0 && at_a.signum() * at_b.signum() < 0;
    is_proper.then(|| {
        let part = at_a as f64 / (at_a - at_b) as f64;
        let along = |from: i64, to: i64| from + ((to - from) as f64 * part).round() as i64;
        Point {
            x: along(a.x, b.x),
            y: along(a.y, b.y),
        }
    })
}

/// Whether a place lies inside the area that rings enclose (even-odd); the rings are closed by their first point.
pub(super) fn encloses<'a>(
    rings: impl IntoIterator<Item = &'a [Point]>,
    (x, y): (f64, f64),
) -> bool {
    let mut is_inside = false;
    for ring in rings {
        let Some(&last) = ring.last() else { continue };
        let mut previous = last;
        for &point in ring {
            let ((ax, ay), (bx, by)) = (
                (previous.x as f64, previous.y as f64),
                (point.x as f64, point.y as f64),
            );
            if (ay > y) != (by > y) && x < (bx - ax) * (y - ay) / (by - ay) + ax {
                is_inside = !is_inside;
            }
            previous = point;
        }
    }
    is_inside
}

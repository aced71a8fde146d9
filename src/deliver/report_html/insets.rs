//! Parts of a field that lie far apart are drawn as insets beside each other, at one scale.

use geo::{BoundingRect, MultiPolygon, Rect};

/// Parts whose gap is wider than this share of the larger one's longer side lie far apart (own).
const WIDEST_GAP: f64 = 0.75;
/// Gap between two insets, and rim round the ground of each, as shares of the longest side of all.
const GAP: f64 = 0.05;
const RIM: f64 = 0.012;
/// The insets are laid out in rows so that the sheet is about this many times as wide as high.
const ASPECT: f64 = 1.3;

/// A rectangle of the plane and where it is drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inset {
    /// West, south, east and north end on the plane, metres.
    pub ground: (f64, f64, f64, f64),
    /// Distance of its north-west corner from the sheet's, east and south, metres.
    pub corner: (f64, f64),
}

impl Inset {
    /// Width and height, metres.
    #[must_use]
    pub fn size(&self) -> (f64, f64) {
        let (west, south, east, north) = self.ground;
        (east - west, north - south)
    }

    /// How far a place lies outside, squared; 0 inside.
    #[must_use]
    pub fn away(&self, x: f64, y: f64) -> f64 {
        let (west, south, east, north) = self.ground;
        let right = (west - x).max(x - east).max(0.0);
        let up = (south - y).max(y - north).max(0.0);
        right * right + up * up
    }
}

/// The insets of a boundary, from west to east, and the width and height of them all. One, the whole ground, where the parts lie near each
/// other.
#[must_use]
pub fn insets(boundary: &MultiPolygon<f64>, whole: Rect<f64>) -> (Vec<Inset>, (f64, f64)) {
    let groups = far_apart(boundary);
    if groups.len() < 2 {
        let ground = (whole.min().x, whole.min().y, whole.max().x, whole.max().y);
        let inset = Inset {
            ground,
            corner: (0.0, 0.0),
        };
        return (vec![inset], inset.size());
    }
    lay_out(&groups)
}

/// Rectangles round parts that lie near each other, from west to east.
fn far_apart(boundary: &MultiPolygon<f64>) -> Vec<Rect<f64>> {
    let mut groups: Vec<Rect<f64>> = boundary
        .iter()
        .filter_map(BoundingRect::bounding_rect)
        .collect();
    // Two near groups become one until none are near; there are few parts.
    while let Some((a, b)) = near_pair(&groups) {
        let other = groups.swap_remove(b);
        groups[a] = joined(groups[a], other);
    }
    groups.sort_by(|a, b| {
        let by_east = a.min().x.total_cmp(&b.min().x);
        by_east.then(a.min().y.total_cmp(&b.min().y))
    });
    groups
}

fn near_pair(groups: &[Rect<f64>]) -> Option<(usize, usize)> {
    let pairs = (0..groups.len()).flat_map(|b| (0..b).map(move |a| (a, b)));
    pairs.into_iter().find(|&(a, b)| {
        let side = longest(groups[a]).max(longest(groups[b]));
        gap(groups[a], groups[b]) <= WIDEST_GAP * side
    })
}

fn longest(rect: Rect<f64>) -> f64 {
    rect.width().max(rect.height())
}

fn gap(a: Rect<f64>, b: Rect<f64>) -> f64 {
    let along = |low_a: f64, high_a: f64, low_b: f64, high_b: f64| {
        (low_a - high_b).max(low_b - high_a).max(0.0)
    };
    let right = along(a.min().x, a.max().x, b.min().x, b.max().x);
    let up = along(a.min().y, a.max().y, b.min().y, b.max().y);
    right.hypot(up)
}

fn joined(a: Rect<f64>, b: Rect<f64>) -> Rect<f64> {
    Rect::new(
        (a.min().x.min(b.min().x), a.min().y.min(b.min().y)),
        (a.max().x.max(b.max().x), a.max().y.max(b.max().y)),
    )
}

/// Side by side in rows.
fn lay_out(groups: &[Rect<f64>]) -> (Vec<Inset>, (f64, f64)) {
    let side = groups.iter().copied().map(longest).fold(0.0, f64::max);
    let (gap, rim) = (GAP * side, RIM * side);
    let area: f64 = groups
        .iter()
        .map(|rect| (rect.width() + gap) * (rect.height() + gap))
        .sum();
    let widest = (area * ASPECT).sqrt().max(side + 2.0 * rim);
    let (mut x, mut y, mut row_height, mut width) = (0.0, 0.0, 0.0_f64, 0.0_f64);
    let mut insets = Vec::with_capacity(groups.len());
    for rect in groups {
        let inset = Inset {
            ground: (
                rect.min().x - rim,
                rect.min().y - rim,
                rect.max().x + rim,
                rect.max().y + rim,
            ),
            corner: (0.0, 0.0),
        };
        let size = inset.size();
        if x > 0.0 && x + size.0 > widest {
            y += row_height + gap;
            (x, row_height) = (0.0, 0.0);
        }
        insets.push(Inset {
            corner: (x, y),
            ..inset
        });
        x += size.0 + gap;
        row_height = row_height.max(size.1);
        width = width.max(x - gap);
    }
    (insets, (width, y + row_height))
}

#[cfg(test)]
mod tests {
    use geo::{MultiPolygon, Rect};

    use super::insets;

    fn square(x: f64, y: f64, side: f64) -> geo::Polygon<f64> {
        Rect::new((x, y), (x + side, y + side)).to_polygon()
    }

    fn whole() -> Rect<f64> {
        Rect::new((0.0, 0.0), (5_000.0, 400.0))
    }

    #[test]
    fn parts_near_each_other_are_drawn_where_they_lie() {
        let boundary = MultiPolygon(vec![square(0.0, 0.0, 400.0), square(450.0, 0.0, 300.0)]);
        let (found, size) = insets(&boundary, whole());
        assert_eq!((found.len(), size), (1, (5_000.0, 400.0)));
    }

    #[test]
    fn parts_far_apart_are_drawn_side_by_side_without_overlap() {
        let boundary = MultiPolygon(vec![
            square(0.0, 0.0, 400.0),
            square(3_000.0, 0.0, 200.0),
            square(4_800.0, 0.0, 200.0),
        ]);
        let (found, size) = insets(&boundary, whole());
        assert_eq!(found.len(), 3);
        assert!(size.0 < 1_000.0 && size.1 < 800.0, "{size:?}");
        for (at, a) in found.iter().enumerate() {
            for b in &found[..at] {
                let (a_size, b_size) = (a.size(), b.size());
                let is_apart = a.corner.0 >= b.corner.0 + b_size.0
                    || b.corner.0 >= a.corner.0 + a_size.0
                    || a.corner.1 >= b.corner.1 + b_size.1
                    || b.corner.1 >= a.corner.1 + a_size.1;
                assert!(is_apart, "{a:?} {b:?}");
            }
        }
    }
}

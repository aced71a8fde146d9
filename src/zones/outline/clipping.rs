//! Of the lines between zones, only what lies inside the workable area is kept.

use super::lattice::{Point, encloses};
use super::noding::Polyline;

/// The polylines of the outline, and the pieces of the other polylines that lie inside it. All polylines must have been cut where they
/// meet.
pub(super) fn clip(polylines: Vec<Polyline>) -> Vec<Polyline> {
    let (outline, lines): (Vec<Polyline>, Vec<Polyline>) = polylines
        .into_iter()
        .partition(|polyline| polyline.is_outline);
    let mut on_outline: Vec<Point> = outline
        .iter()
        .flat_map(|polyline| polyline.points.iter().copied())
        .collect();
    on_outline.sort_unstable();
    on_outline.dedup();
    let rings: Vec<&[Point]> = outline
        .iter()
        .map(|polyline| polyline.points.as_slice())
        .collect();
    let mut kept = Vec::new();
    for line in &lines {
        for piece in pieces(&line.points, &on_outline) {
            if encloses(rings.iter().copied(), middle_of_longest(piece)) {
                kept.push(Polyline {
                    points: piece.to_vec(),
                    ..*line
                });
            }
        }
    }
    kept.extend(outline);
    kept
}

/// The stretches of a line from one touch with the outline to the next.
fn pieces<'a>(points: &'a [Point], on_outline: &[Point]) -> Vec<&'a [Point]> {
    let last = points.len().saturating_sub(1);
    let mut cuts: Vec<usize> = (1..last)
        .filter(|&i| on_outline.binary_search(&points[i]).is_ok())
        .collect();
    cuts.insert(0, 0);
    cuts.push(last);
    cuts.windows(2)
        .filter(|pair| pair[1] > pair[0])
        .map(|pair| &points[pair[0]..=pair[1]])
        .collect()
}

fn middle_of_longest(piece: &[Point]) -> (f64, f64) {
    let longest = piece
        .windows(2)
        .max_by_key(|pair| pair[0].squared_distance(pair[1]));
    longest.map_or((0.0, 0.0), |pair| pair[0].middle(pair[1]))
}

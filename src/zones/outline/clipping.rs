//! Of the lines between zones, only what lies inside the workable area is kept.

use super::lattice::{Point, encloses};
use super::noding::Chain;

/// The chains of the outline, and the pieces of the other chains that lie inside it. All chains must have been cut where they
/// meet.
pub(super) fn clip(chains: Vec<Chain>) -> Vec<Chain> {
    let (outline, lines): (Vec<Chain>, Vec<Chain>) =
        chains.into_iter().partition(|chain| chain.is_outline);
    let mut on_outline: Vec<Point> = outline
        .iter()
        .flat_map(|chain| chain.points.iter().copied())
        .collect();
    on_outline.sort_unstable();
    on_outline.dedup();
    let rings: Vec<&[Point]> = outline
        .iter()
        .map(|chain| chain.points.as_slice())
        .collect();
    let mut kept = Vec::new();
    for line in &lines {
        for piece in pieces(&line.points, &on_outline) {
            if encloses(rings.iter().copied(), middle_of_longest(piece)) {
                kept.push(Chain {
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

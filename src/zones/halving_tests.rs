use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::super::tried_parts::centres;
use super::*;

/// Three clouds of cells in two layers, the middles of which lie at these places.
const MIDDLES: [(f32, f32); 3] = [(-3.0, 0.0), (3.0, 1.0), (0.0, 6.0)];

fn clouds(cells: usize) -> Vec<(f32, f32)> {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    (0..cells)
        .map(|cell| {
            let (x, y) = MIDDLES[cell % MIDDLES.len()];
            let mut off = || random.random_range(-1.0..1.0);
            (x + off(), y + off())
        })
        .collect()
}

fn features(cells: &[(f32, f32)]) -> Features {
    let (x, y) = cells.iter().copied().unzip();
    Features::as_they_are(vec![x, y])
}

/// The means of the parts.
fn middles(features: &Features, count: usize) -> Vec<f32> {
    let labels = parted(features, count).pop().unwrap();
    centres(features, labels.into_iter().enumerate(), count)
}

#[test]
fn clouds_that_lie_apart_are_found_with_their_middles() {
    let cells = clouds(3_000);
    let centres = middles(&features(&cells), 3);
    for (x, y) in MIDDLES {
        let off = |centre: &[f32]| (centre[0] - x).hypot(centre[1] - y);
        let nearest = centres.chunks(2).map(off).fold(f32::INFINITY, f32::min);
        assert!(nearest < 0.06, "({x}, {y}): {nearest} off in {centres:?}");
    }
}

/// A field that is mirrored holds the same cells in another order.
#[test]
fn the_order_of_the_cells_changes_nothing() {
    let cells = clouds(3_000);
    let mirrored: Vec<(f32, f32)> = cells.iter().rev().copied().collect();
    let (there, back) = (features(&cells), features(&mirrored));
    for count in 2..=6 {
        let (a, b) = (middles(&there, count), middles(&back, count));
        let pairs = a.into_iter().zip(b);
        let most = pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f32::max);
        assert!(most < 1e-3, "{count}: {most}");
    }
}

#[test]
fn no_more_clusters_are_found_than_cells_that_differ() {
    let cells: Vec<(f32, f32)> = (0..100).map(|cell| ((cell % 3) as f32, 0.0)).collect();
    let features = features(&cells);
    assert_eq!(parted(&features, 8).len(), 3);
}

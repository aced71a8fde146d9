use rand::SeedableRng;

use super::*;

/// Two pairs, one of them with a third place that is near to one of it only, and one place alone.
fn places() -> Blocks {
    within(&[0.0, 1.0, 50.0, 51.0, 51.9, 100.0])
}

/// Places along a line, joined within 1 m.
fn within(at: &[f64]) -> Blocks {
    let places: Vec<(f64, f64)> = at.iter().map(|x| (*x, 0.0)).collect();
    Blocks::new(&Heaps::within(&places, 1.0)).unwrap()
}

#[test]
fn means_go_to_blocks_of_their_size_only() {
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let values = [1.0, 3.0, 10.0, 12.0, 14.0, 100.0];
    for _ in 0..20 {
        let made = places().shuffled(&values, &mut random);
        let mean = |block: &[usize]| {
            block.iter().map(|&place| made[place]).sum::<f64>() / block.len() as f64
        };
        assert!((mean(&[0, 1]) - 2.0).abs() < 1e-12, "{made:?}");
        assert!((mean(&[2, 3, 4]) - 12.0).abs() < 1e-12, "{made:?}");
        assert_eq!(made[5], 100.0);
    }
}

/// Twins that are equal stay equal, and their means are shuffled: of three pairs each of the six orders comes up.
#[test]
fn equal_twins_stay_equal() {
    let blocks = within(&[0.0, 1.0, 50.0, 51.0, 100.0, 101.0]);
    let mut random = ChaCha8Rng::seed_from_u64(1);
    let mut seen = std::collections::BTreeSet::new();
    for _ in 0..100 {
        let made = blocks.shuffled(&[1.0, 1.0, 2.0, 2.0, 3.0, 3.0], &mut random);
        assert!(made[0] == made[1] && made[2] == made[3] && made[4] == made[5]);
        seen.insert(format!("{made:?}"));
    }
    assert_eq!(seen.len(), 6);
}

/// A pair that differs by 2 gives differences of the square root of 2 each: half their squares is the variance of one place, 2.
#[test]
fn differences_have_the_scatter_of_a_place() {
    let values = [1.0, 3.0];
    let blocks = within(&[0.0, 0.0]);
    let found = blocks.differences(&values, &[2.0]);
    assert!((found.iter().map(|d| d * d).sum::<f64>() / 2.0 - 2.0).abs() < 1e-12);
}

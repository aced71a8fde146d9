use rand::SeedableRng;

use super::*;

/// Two pairs, one of them with a third place that is near to one of it only, and one place alone.
fn places() -> Blocks {
    let at = [0.0, 1.0, 50.0, 51.0, 51.9, 100.0];
    Blocks::within(at.len(), 1.0, |place| (at[place], 0.0)).unwrap()
}

#[test]
fn places_are_joined_through_their_neighbours() {
    assert_eq!(places().members, [vec![0, 1], vec![2, 3, 4], vec![5]]);
    assert!(Blocks::within(3, 1.0, |place| (place as f64 * 2.0, 0.0)).is_none());
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
    let at = [0.0, 1.0, 50.0, 51.0, 100.0, 101.0];
    let blocks = Blocks::within(6, 1.0, |place| (at[place], 0.0)).unwrap();
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
    let blocks = Blocks::within(2, 1.0, |_| (0.0, 0.0)).unwrap();
    let found = blocks.differences(&values, &[2.0]);
    assert!((found.iter().map(|d| d * d).sum::<f64>() / 2.0 - 2.0).abs() < 1e-12);
}

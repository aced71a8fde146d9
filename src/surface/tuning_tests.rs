use super::*;
use crate::plan::{FixedOrAuto, SurfaceSettings};

const ENTRIES: [(f64, usize); 4] = [(1.0, 8), (2.0, 12), (4.0, 12), (2.0, 60)];

#[test]
fn equal_errors_are_drawn_to_the_middle_of_the_table() {
    assert_eq!(choose(&ENTRIES, |_| 1.0), (1, Power(2.0), 12));
    // 1.9 % in the square is within 1 % in the error.
    let squares = [1.0, 1.019, 1.5, 1.5];
    assert_eq!(
        choose(&ENTRIES, |entry| squares[entry]),
        (1, Power(2.0), 12)
    );
}

#[test]
fn a_clearly_smaller_error_wins() {
    let squares = [1.0, 1.05, 0.9, 1.0];
    assert_eq!(
        choose(&ENTRIES, |entry| squares[entry]),
        (2, Power(4.0), 12)
    );
}

#[test]
fn the_table_is_held_to_the_observations_and_the_plan() {
    let auto = SurfaceSettings::default();
    assert_eq!(Table::new(&auto, 10).counts, [8, 10]);
    assert_eq!(Table::new(&auto, 160).counts, [8, 12, 16, 160]);
    assert_eq!(Table::new(&auto, 5_000).counts, [8, 12, 16]);
    let fixed = SurfaceSettings {
        power: FixedOrAuto::Fixed(1.7),
        neighbours: FixedOrAuto::Fixed(200),
    };
    let table = Table::new(&fixed, 50);
    assert_eq!((table.powers, table.counts), (vec![1.7], vec![50]));
}

/// Two percent of the error are 0.98² of its square: 0.9604.
#[test]
fn a_plane_must_gain_two_percent() {
    let of = |plane: f64| Squares {
        plain: vec![[100.0; LANES], [120.0; LANES]],
        plane: vec![[plane; LANES], [130.0; LANES]],
    };
    for (plane, tilted) in [(96.0, true), (96.1, false), (95.0, true), (103.0, false)] {
        assert_eq!(is_tilted(&of(plane), 0), tilted, "{plane}");
        assert_eq!(least(&of(plane), 3), if tilted { plane } else { 100.0 });
    }
}

/// One percent of the error are 1.0201 of its square.
#[test]
fn an_error_a_little_over_one_percent_is_worse() {
    let squares = [1.0, 1.0205, 1.5, 1.5];
    assert_eq!(choose(&ENTRIES, |entry| squares[entry]), (0, Power(1.0), 8));
}

/// Doublings from power 2 and 12 neighbours: 1 and 0.58, 0 and 2.32, 1 and 0. Eight are as far off as eighteen.
#[test]
fn the_middle_counts_both_ways() {
    let of = |entries: &[(f64, usize)]| choose(entries, |_| 1.0).0;
    assert_eq!(of(&[(1.0, 8), (2.0, 60), (4.0, 12)]), 2);
    assert_eq!(of(&[(2.0, 8), (2.0, 12)]), 1);
    assert_eq!(of(&[(2.0, 12), (2.0, 8)]), 0);
}

#[test]
fn three_hundred_are_tried_all_at_once() {
    let auto = SurfaceSettings::default();
    assert_eq!(Table::new(&auto, 300).counts, [8, 12, 16, 300]);
    assert_eq!(Table::new(&auto, 301).counts, [8, 12, 16]);
}

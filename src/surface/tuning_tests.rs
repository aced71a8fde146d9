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

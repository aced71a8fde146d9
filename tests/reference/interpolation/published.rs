//! Hand-worked and published small cases.

use lowstave::surface::{Neighbourhood, interpolate, inverse_distance};

use super::made_fields::{fixed, grid, one_layer};

/// Three points of a worked example (derived, no publication): (0,0) = 10, (100,0) = 20, (0,100) = 30.
const WORKED: [(f64, f64, f64); 3] = [(0.0, 0.0, 10.0), (100.0, 0.0, 20.0), (0.0, 100.0, 30.0)];

/// Squared distances from (25,25) are 1250, 6250, 6250: with power 2 (10/1250 + 50/6250) / (1/1250 + 2/6250) = 14.2857. Derived by hand.
#[test]
fn three_points_by_hand() {
    for (power, expected) in [(1.0, 17.082), (2.0, 14.2857), (4.0, 11.111)] {
        let found = inverse_distance(&WORKED, (25.0, 25.0), power, Neighbourhood::All).unwrap();
        assert!(
            (found - expected).abs() < 1e-3,
            "power {power}: {found}, {expected}"
        );
    }
    let found = inverse_distance(&WORKED, (25.0, 25.0), 2.0, Neighbourhood::All).unwrap();
    assert!((found - 14.2857).abs() < 1e-4);
}

/// Predictions 25, 16.667, 13.333, so errors 15, -3.333, -16.667: RMSE 13.088, against 12.247 for the mean of the other two. Derived by hand.
#[test]
fn leave_one_out_by_hand() {
    let points = WORKED.map(|w| (w.0, w.1));
    let made = one_layer(grid(0.0, 0.0, 1, 1, 1.0), &points, &WORKED.map(|w| w.2));
    let surfaces = interpolate(&made, &fixed(2.0, 12)).unwrap();
    let skill = surfaces.surfaces[0].skill.unwrap();
    assert!((skill.plain.rmse - 13.0880).abs() < 1e-4, "{skill:?}");
    assert!((skill.baseline_rmse - 12.2474).abs() < 1e-4, "{skill:?}");
    assert!((skill.plain.efficiency - -0.142).abs() < 1e-3, "{skill:?}");
}

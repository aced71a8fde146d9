use super::*;

fn saturating(x: f64, scale: f64) -> f64 {
    x / (x + scale)
}

#[test]
fn a_curve_of_the_family_is_found_again() {
    let rows: Vec<Row> = (0..30)
        .map(|i| (1.0, f64::from(i), 2.0 + 5.0 * saturating(f64::from(i), 8.0)))
        .collect();
    let found = NonnegativeFit::fit(&rows, [2.0, 4.0, 8.0, 16.0].into_iter(), saturating).unwrap();
    assert_eq!(found.scale, 8.0);
    assert!(
        (found.constant - 2.0).abs() < 1e-9 && (found.rise - 5.0).abs() < 1e-9,
        "{found:?}"
    );
}

#[test]
fn neither_term_falls_below_zero() {
    let falling: Vec<Row> = (0..30)
        .map(|i| (1.0, f64::from(i), 9.0 - 0.1 * f64::from(i)))
        .collect();
    let found = NonnegativeFit::fit(&falling, [4.0].into_iter(), saturating).unwrap();
    assert_eq!(found.rise, 0.0);
    let steep: Vec<Row> = (0..30)
        .map(|i| (1.0, f64::from(i), (f64::from(i) - 5.0).max(-1.0)))
        .collect();
    let found = NonnegativeFit::fit(&steep, [1_000.0].into_iter(), saturating).unwrap();
    assert_eq!(found.constant, 0.0);
    assert!(NonnegativeFit::fit(&[], [4.0].into_iter(), saturating).is_none());
}

/// Weights count: a row of weight 3 is three rows.
#[test]
fn a_weight_is_so_many_rows() {
    let weighted: Vec<Row> = vec![(3.0, 1.0, 4.0), (1.0, 2.0, 5.0), (2.0, 5.0, 9.0)];
    let single: Vec<Row> = weighted
        .iter()
        .flat_map(|&(weight, x, target)| vec![(1.0, x, target); weight as usize])
        .collect();
    let scales = || [2.0, 4.0, 8.0, 16.0].into_iter();
    let once = NonnegativeFit::fit(&weighted, scales(), saturating).unwrap();
    let thrice = NonnegativeFit::fit(&single, scales(), saturating).unwrap();
    assert_eq!(once.scale, thrice.scale);
    assert!((once.constant - thrice.constant).abs() < 1e-9);
    assert!((once.rise - thrice.rise).abs() < 1e-9);
}

/// Falling targets of weight 1 and 3: the constant is their weighted mean. Targets below zero have no constant and no rise.
#[test]
fn without_a_rise_the_constant_is_the_mean_and_never_below_zero() {
    let falling: Vec<Row> = vec![(1.0, 0.0, 9.0), (3.0, 5.0, 5.0)];
    let found = NonnegativeFit::fit(&falling, [4.0].into_iter(), saturating).unwrap();
    assert!((found.constant - 6.0).abs() < 1e-12 && found.rise == 0.0);
    let below: Vec<Row> = vec![(1.0, 0.0, -1.0), (3.0, 5.0, -5.0)];
    let found = NonnegativeFit::fit(&below, [4.0].into_iter(), saturating).unwrap();
    assert_eq!((found.constant, found.rise), (0.0, 0.0));
}

/// A constant that would be negative is none: the rise alone is least squares through the origin, sum g t / sum g g.
#[test]
fn without_a_constant_the_rise_goes_through_the_origin() {
    let steep: Vec<Row> = vec![(1.0, 4.0, 1.0), (2.0, 12.0, 9.0)];
    let found = NonnegativeFit::fit(&steep, [4.0].into_iter(), saturating).unwrap();
    // g is 0.5 and 0.75.
    let rise = (0.5 + 2.0 * 0.75 * 9.0) / (0.25 + 2.0 * 0.5625);
    assert_eq!(found.constant, 0.0);
    assert!((found.rise - rise).abs() < 1e-12, "{found:?}");
}

/// All at one distance: nothing tells a rise, and the constant is the weighted mean, (4 + 3 x 8) / 4.
#[test]
fn rows_at_one_distance_have_their_mean() {
    let rows: Vec<Row> = vec![(1.0, 4.0, 4.0), (3.0, 4.0, 8.0)];
    let found = NonnegativeFit::fit(&rows, [4.0].into_iter(), saturating).unwrap();
    assert!(
        (found.constant - 7.0).abs() < 1e-12 && found.rise == 0.0,
        "{found:?}"
    );
}

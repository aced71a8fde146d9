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

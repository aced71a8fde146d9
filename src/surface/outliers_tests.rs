use super::*;

/// 1, 2, 3, 4 and 10: mean 4, variance 10, third moment 36; 36 / 10^1.5 = 1.1384.
#[test]
fn skewness_is_the_third_moment_in_deviations() {
    assert!((skewness(&[1.0, 2.0, 3.0, 4.0, 10.0]) - 1.138_419_957_660_6).abs() < 1e-9);
    assert!((skewness(&[-1.0, -2.0, -3.0, -4.0, -10.0]) + 1.138_419_957_660_6).abs() < 1e-9);
    assert_eq!(skewness(&[1.0, 2.0, 3.0]), 0.0);
    assert_eq!(skewness(&[5.0, 5.0, 5.0]), 0.0);
}

/// sqrt(2 ln(20 n)): 3.311 at 12, where 3.5 holds, and 3.899 at 100.
#[test]
fn the_limit_of_what_is_odd() {
    assert_eq!(least_z(12), 3.5);
    assert!((least_z(100) - 3.898_9).abs() < 1e-3, "{}", least_z(100));
}

/// Median 3; 2, 1, 0, 1 and 97 off it, of which 1 is the middle: 1 / 0.6745.
#[test]
fn the_middle_and_the_spread() {
    let (middle, spread) = middle_and_spread(&[1.0, 2.0, 3.0, 4.0, 100.0]);
    assert_eq!(middle, 3.0);
    assert!((spread - 1.0 / 0.674_5).abs() < 1e-12, "{spread}");
}

#[test]
fn values_come_back_from_their_logarithms() {
    assert_eq!(Scale::Plain.back(7.5), 7.5);
    assert!((Scale::Logarithm.back(7.5_f64.ln()) - 7.5).abs() < 1e-12);
}

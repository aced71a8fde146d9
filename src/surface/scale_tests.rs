use super::*;

/// 1, 2, 3, 4 and 10: mean 4, variance 10, third moment 36; 36 / 10^1.5 = 1.1384.
#[test]
fn skewness_is_the_third_moment_in_deviations() {
    assert!((skewness(&[1.0, 2.0, 3.0, 4.0, 10.0]) - 1.138_419_957_660_6).abs() < 1e-9);
    assert!((skewness(&[-1.0, -2.0, -3.0, -4.0, -10.0]) + 1.138_419_957_660_6).abs() < 1e-9);
    assert_eq!(skewness(&[1.0, 2.0, 3.0]), 0.0);
    assert_eq!(skewness(&[5.0, 5.0, 5.0]), 0.0);
}

use super::*;

#[test]
fn holm_corrects_as_r_does() {
    // R 4.2.2: p.adjust(c(.01, .04, .03, .005), "holm")
    let corrected = holm(&[0.01, 0.04, 0.03, 0.005]);
    for (found, expected) in corrected.iter().zip([0.03, 0.06, 0.06, 0.02]) {
        assert!((found - expected).abs() < 1e-12, "{corrected:?}");
    }
    assert_eq!(holm(&[]), Vec::<f64>::new());
}

#[test]
fn the_tail_is_that_of_the_gamma_distribution() {
    // SciPy 1.15: scipy.stats.pearson3.sf(z, skew)
    for (z, skewness, expected) in [
        (2.0, 0.0, 0.022_750_131_948_179_195),
        (2.0, 1.0, 0.042_380_111_991_683_96),
        (3.0, -0.5, 4.892_610_719_877_837e-6),
        (4.0, 0.5, 0.000_659_927_527_599_939_9),
    ] {
        let found = upper_tail(z, skewness);
        assert!(
            (found / expected - 1.0).abs() < 1e-6,
            "{z} {skewness}: {found}"
        );
    }
}

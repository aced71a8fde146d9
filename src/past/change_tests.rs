use super::{Sample, change};
use crate::analyte::{Analyte, Catalogue};

#[test]
fn two_samples_without_other_errors_are_the_test_of_welch() {
    // Worked by hand: means 3 and 6.5, variances 2.5 and 4.333, n 5 and 4.
    let then = Sample::of_values(&[1.0, 2.0, 3.0, 4.0, 5.0]).unwrap();
    let now = Sample::of_values(&[4.0, 6.0, 7.0, 9.0]).unwrap();
    let found = change(then, now, None);
    assert!((found.difference - 3.5).abs() < 1e-12);
    let (a, b) = (0.5, 13.0 / 3.0 / 4.0);
    let freedom = (a + b) * (a + b) / (a * a / 4.0 + b * b / 3.0);
    assert!((found.degrees_of_freedom - freedom).abs() < 1e-9);
    assert!((found.standard_error - (a + b).sqrt()).abs() < 1e-12);
    assert!(
        (found.interval.1 - found.difference - (found.difference - found.interval.0)).abs() < 1e-9
    );
    assert!(found.interval.0 > 0.0, "{found:?}");
}

#[test]
fn laboratory_and_time_of_sampling_widen_the_interval() {
    let sample = |mean: f64| Sample {
        mean,
        standard_error: 0.05,
        degrees_of_freedom: 9.0,
        cores: 10,
    };
    let repeat = Catalogue::built_in()
        .entry(&Analyte::Ph)
        .and_then(|entry| entry.repeat);
    let plain = change(sample(6.0), sample(6.2), None);
    let whole = change(sample(6.0), sample(6.2), repeat);
    assert!(!plain.holds(0.0), "{plain:?}");
    assert!(whole.holds(0.0), "{whole:?}");
    // 0.05 and 0.10 pH in each of two years.
    assert!((whole.laboratory - 0.05 * 2_f64.sqrt()).abs() < 1e-12);
    assert!((whole.season - 0.10 * 2_f64.sqrt()).abs() < 1e-12);
    assert!(whole.least_seen > whole.interval.1 - whole.difference);
}

#[test]
fn two_cores_are_no_mean() {
    assert_eq!(Sample::of_values(&[6.0, 6.2]), None);
}

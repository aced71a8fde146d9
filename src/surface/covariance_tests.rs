use super::*;

/// Check values of `tests/reference/interpolation/mean_error.py`, which goes another way to the same likelihood.
#[test]
fn the_most_likely_covariance_is_that_of_an_independent_script() {
    let places = [
        (0.0, 0.0),
        (40.0, 5.0),
        (90.0, 0.0),
        (10.0, 60.0),
        (55.0, 50.0),
        (95.0, 70.0),
        (5.0, 110.0),
        (60.0, 105.0),
        (100.0, 100.0),
        (50.0, 52.0),
    ];
    let values = vec![6.1, 6.0, 5.2, 6.4, 5.7, 5.0, 6.6, 5.9, 5.1, 5.6];
    let found = most_likely(&places, &[(values.clone(), false), (values, true)]);
    let expected = [
        (0.0, 0.331_175_191_158_468_5, 83.249_984_984_983_64),
        (
            0.014_054_751_025_582_637,
            0.042_164_253_076_747_91,
            83.249_984_984_983_64,
        ),
    ];
    for (found, (nugget, shared, range)) in found.iter().zip(expected) {
        let found = found.unwrap();
        assert!((found.nugget - nugget).abs() < 1e-6, "{found:?}");
        assert!((found.shared - shared).abs() < 1e-6, "{found:?}");
        assert!((found.range - range).abs() < 1e-9, "{found:?}");
    }
}

#[test]
fn equal_values_and_two_places_have_no_covariance() {
    let places = [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)];
    assert_eq!(most_likely(&places, &[(vec![2.0; 3], false)]), [None]);
    assert_eq!(most_likely(&places, &[(vec![1.0, 2.0, 4.0], true)]), [None]);
    assert_eq!(most_likely(&places[..1], &[(vec![2.0], false)]), [None]);
}

#[test]
fn semivariance_rises_from_the_nugget_to_the_sill() {
    let covariance = Covariance {
        nugget: 1.0,
        shared: 3.0,
        range: 10.0,
    };
    assert_eq!(covariance.semivariance(0.0), 0.0);
    assert!((covariance.semivariance(1e-9) - 1.0).abs() < 1e-6);
    assert!((covariance.semivariance(10.0) - (4.0 - 3.0 / std::f64::consts::E)).abs() < 1e-12);
    assert_eq!(covariance.sill(), 4.0);
}

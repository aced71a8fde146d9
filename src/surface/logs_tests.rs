use super::*;

fn logs(correction: f64) -> Logs {
    Logs {
        curve: StandardErrorCurve {
            at_core: 0.1,
            rise: 0.4,
            halfway: 10.0,
        },
        correction,
        low: 1.0,
        high: 100.0,
    }
}

/// Half of the risen variance is added: at 10 m half of the rise is reached, so 0.2 is risen, and exp(2 + 0.1) is what is meant.
#[test]
fn a_mean_of_logarithms_is_lifted_by_half_of_its_variance() {
    assert!((logs(1.0).value(2.0, 100.0) - 2.1_f64.exp()).abs() < 1e-9);
    assert!((logs(0.0).value(2.0, 100.0) - 2.0_f64.exp()).abs() < 1e-9);
}

#[test]
fn a_core_keeps_its_value() {
    assert!((logs(1.7).value(17.0_f64.ln(), 0.0) - 17.0).abs() < 1e-9);
}

#[test]
fn no_value_lies_beyond_the_observations() {
    assert_eq!(logs(4.0).value(4.6, 1e9), 100.0);
    assert_eq!(logs(0.0).value(-1.0, 1e9), 1.0);
}

/// Lognormal: with a variance of 0.1 of the logarithm the standard deviation is the root of exp(0.1) - 1 of the mean.
#[test]
fn the_standard_error_of_a_cell_goes_with_its_value() {
    let (value, error) = logs(1.0).cell(2.0, 0.1_f32.sqrt());
    assert!((value - 2.0_f32.exp()).abs() < 1e-4);
    let share = f64::from(error) / f64::from(value);
    assert!(
        (share - (0.1_f64.exp() - 1.0).sqrt()).abs() < 1e-4,
        "{share}"
    );
}

use super::{half_width_90, probability_past, share_with_standard_error};
use crate::rulebook::Side;

fn close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1e-4, "{found} is not {wanted}");
}

/// Normal distribution: 84.134 % lie below one standard error above the mean, 97.725 % below two.
#[test]
fn the_probability_follows_the_normal_distribution() {
    close(probability_past(10.0, 12.0, 2.0, Side::Below), 0.84134);
    close(probability_past(10.0, 12.0, 1.0, Side::Below), 0.97725);
    close(probability_past(10.0, 12.0, 2.0, Side::Above), 0.15866);
    close(probability_past(14.0, 12.0, 2.0, Side::Above), 0.84134);
    close(probability_past(12.0, 12.0, 2.0, Side::Above), 0.5);
}

#[test]
fn without_an_error_a_value_is_past_or_is_not() {
    for (value, below, above) in [(11.0, 1.0, 0.0), (13.0, 0.0, 1.0), (12.0, 0.0, 0.0)] {
        assert_eq!(probability_past(value, 12.0, 0.0, Side::Below), below);
        assert_eq!(probability_past(value, 12.0, 0.0, Side::Above), above);
    }
}

#[test]
fn what_is_not_known_is_even_odds() {
    assert_eq!(probability_past(11.0, 12.0, f64::NAN, Side::Below), 0.5);
    assert_eq!(
        probability_past(11.0, 12.0, f64::INFINITY, Side::Below),
        0.5
    );
    assert_eq!(probability_past(f64::NAN, 12.0, 0.0, Side::Below), 0.5);
    assert_eq!(probability_past(f64::NAN, 12.0, 1.0, Side::Above), 0.5);
}

/// 90 % of a normal distribution lie within 1.6449 standard errors.
#[test]
fn half_of_a_ninety_percent_interval() {
    close(half_width_90(2.0), 3.2898);
    assert_eq!(half_width_90(f64::NAN), 0.0);
}

/// Three of three: 4 of 5 with one hit and one miss thought of besides, 80 %, and the root of 0.8 x 0.2 / 5, 17.889 %.
#[test]
fn a_share_of_few_tries_is_not_certain() {
    let (share, error) = share_with_standard_error(3, 3);
    close(share, 80.0);
    close(error, 17.8885);
    let (share, error) = share_with_standard_error(1, 6);
    close(share, 25.0);
    close(error, 15.3093);
}

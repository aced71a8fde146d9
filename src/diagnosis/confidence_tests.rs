use super::{Law, interval_90, share_with_standard_error};
use crate::rulebook::Side;

fn probability_past(value: f64, threshold: f64, standard_error: f64, side: Side) -> f64 {
    super::probability_past(value, threshold, standard_error, side, Law::Normal)
}

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
fn ends_of_a_ninety_percent_interval() {
    let (low, high) = interval_90(10.0, 2.0, Law::Normal);
    close(low, 6.7102);
    close(high, 13.2898);
    assert_eq!(interval_90(10.0, f64::NAN, Law::Normal), (10.0, 10.0));
    assert_eq!(
        interval_90(10.0, 0.0, Law::Lognormal).0,
        interval_90(10.0, 0.0, Law::Lognormal).1
    );
}

/// Mean 20, standard error 5: the logarithm has variance ln(1 + 1/16) and mean ln 20 less half of that; with `scipy.stats`,
/// `lognorm(s, scale=exp(m)).ppf([0.05, 0.95])` and `.cdf(15)`.
#[test]
fn a_skewed_value_reaches_farther_up_than_down_and_never_below_zero() {
    let (low, high) = interval_90(20.0, 5.0, Law::Lognormal);
    close(low, 12.9411);
    close(high, 29.0910);
    let past =
        |threshold, side| super::probability_past(20.0, threshold, 5.0, side, Law::Lognormal);
    close(past(15.0, Side::Below), 0.1479);
    close(past(15.0, Side::Above), 0.8521);
    assert_eq!(past(0.0, Side::Below), 0.0);
    assert_eq!(past(-1.0, Side::Above), 1.0);
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

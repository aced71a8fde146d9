use proptest::prelude::*;

use super::{decimal, fixed, significant};

#[test]
fn decimals_have_no_trailing_zeros_and_no_minus_zero() {
    assert_eq!(decimal(5.0, 3), "5");
    assert_eq!(decimal(5.25, 3), "5.25");
    assert_eq!(decimal(100.0, 0), "100", "zeros before the point stay");
    assert_eq!(decimal(-0.0, 2), "0");
    assert_eq!(decimal(-0.001, 2), "0");
    assert_eq!(decimal(-1.5, 2), "-1.5");
    assert_eq!(fixed(-0.001, 2), "0.00");
    assert_eq!(fixed(2.0, 2), "2.00");
}

#[test]
fn what_is_no_number_is_a_question_mark() {
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert_eq!(
            (decimal(value, 2), fixed(value, 2), significant(value, 3)),
            ("?".into(), "?".into(), "?".into())
        );
    }
}

#[test]
fn significant_digits_follow_the_size_of_the_number() {
    assert_eq!(significant(0.012_345, 3), "0.0123");
    assert_eq!(significant(4.5678, 3), "4.57");
    assert_eq!(
        significant(1234.5, 3),
        "1234",
        "no digit before the point is lost"
    );
    assert_eq!(significant(-45.67, 3), "-45.7");
    assert_eq!(significant(0.0, 3), "0");
    assert_eq!(significant(1e-12, 3), "0", "at most nine decimals");
}

proptest! {
    #[test]
    fn numbers_are_plain_decimals_whatever_their_size(value in proptest::num::f64::ANY, decimals in 0usize..10) {
        for text in [decimal(value, decimals), fixed(value, decimals), significant(value, decimals.max(1))] {
            let is_plain = text.chars().all(|c| c.is_ascii_digit() || c == '.' || c == '-') || text == "?";
            prop_assert!(is_plain, "{text}");
            prop_assert!(text.bytes().any(|b| b.is_ascii_digit()) || text == "?", "{text}");
            prop_assert!(!text.starts_with("-0") || text.bytes().any(|b| (b'1'..=b'9').contains(&b)), "minus zero: {text}");
        }
    }

    #[test]
    fn a_printed_number_is_the_number_to_its_last_decimal(value in -1e9f64..1e9, decimals in 0usize..7) {
        let back: f64 = decimal(value, decimals).parse().map_err(|_| TestCaseError::fail("not a number"))?;
        // Half of the last decimal, and the rounding of a double of that size.
        let tolerance = 0.5 * 10f64.powi(-(decimals as i32)) + value.abs() * f64::EPSILON;
        prop_assert!((back - value).abs() <= tolerance, "{value} printed as {back}");
    }
}

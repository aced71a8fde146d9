use super::{down_to_step, show, to_step_from, up_to_step};
use crate::units::{Metering, UnitSystem};

#[test]
fn a_rate_goes_down_to_the_step_and_stays_where_it_is_one() {
    for (rate, step, down) in [
        (1_099.0, 100.0, 1_000.0),
        (1_100.0, 100.0, 1_100.0),
        // A decimal's rounding below a step is that step.
        (0.3, 0.1, 0.3),
        (99.999_95, 100.0, 100.0),
        (99.98, 100.0, 0.0),
        (-250.0, 100.0, 0.0),
    ] {
        let found = down_to_step(rate, step);
        assert!((found - down).abs() < 1e-9, "{rate}: {found}");
    }
}

#[test]
fn a_rate_goes_up_to_the_step_and_stays_where_it_is_one() {
    for (rate, step, up) in [
        (1_001.0, 100.0, 1_100.0),
        (1_100.0, 100.0, 1_100.0),
        (1_100.000_05, 100.0, 1_100.0),
        (1_100.02, 100.0, 1_200.0),
        (0.3, 0.1, 0.3),
        (-250.0, 100.0, 0.0),
    ] {
        let found = up_to_step(rate, step);
        assert!((found - up).abs() < 1e-9, "{rate}: {found}");
    }
}

#[test]
fn without_a_step_a_rate_stays_but_is_never_negative() {
    for to_step in [down_to_step, up_to_step] {
        assert_eq!(to_step(12.3, 0.0), 12.3);
        assert_eq!(to_step(-12.3, 0.0), 0.0);
    }
}

/// The least that spreads evenly is 300, the step 80: 240 is too little, 320 is the step above.
#[test]
fn a_rate_goes_up_only_where_that_adds_next_to_nothing_and_the_cap_allows_it() {
    let at = |rate, cap| to_step_from(300.0, rate, 80.0, cap);
    // 5 % are the most that is added: 320 of 305 is 4.9 %, of 304 5.3 %.
    assert_eq!(at(305.0, None), 320.0);
    assert_eq!(at(304.0, None), 240.0);
    assert_eq!(at(310.0, None), 320.0);
    // Inside the cap, exactly at it too.
    assert_eq!(at(310.0, Some(320.0)), 320.0);
    assert_eq!(at(310.0, Some(319.0)), 240.0);
    assert_eq!(at(310.0, Some(400.0)), 320.0);
    // From the least on there is nothing to lift.
    assert_eq!(at(399.0, None), 320.0);
    assert_eq!(at(400.0, None), 400.0);
}

/// What does not spread evenly by itself is not lifted to what does: 299 of 300 stays below.
#[test]
fn what_does_not_spread_evenly_is_not_lifted() {
    assert_eq!(to_step_from(300.0, 299.0, 50.0, None), 250.0);
    assert_eq!(to_step_from(300.0, 300.0, 50.0, None), 300.0);
    assert_eq!(to_step_from(300.0, 300.0, 310.0, None), 310.0);
    // A hair below by a decimal's rounding counts as the least itself.
    assert_eq!(to_step_from(300.0, 300.0 - 1e-8, 310.0, None), 310.0);
    // The step itself is the least: nothing lies between.
    assert_eq!(to_step_from(300.0, 300.0, 300.0, None), 300.0);
}

#[test]
fn small_rates_show_two_decimals_and_large_ones_none() {
    let dry = |rate| show(rate, Metering::Dry, UnitSystem::Metric);
    assert_eq!(dry(19.994), "19.99 kg/ha");
    assert_eq!(dry(19.4), "19.4 kg/ha");
    assert_eq!(dry(20.4), "20 kg/ha");
    assert_eq!(dry(20.0), "20 kg/ha");
    // 100 lb/ac are 112.085 kg/ha.
    let wet = show(112.085_11, Metering::Dry, UnitSystem::UnitedStates);
    assert_eq!(wet, "100 lb/ac");
}

/// 316 of 300.5 are 5.16 % more, 315 are 4.83 %. A rate of 296 that the step of 10 takes to 290 is lifted to the least of 295, to 300.
#[test]
fn the_most_that_is_added_and_the_least_hold_within_a_fifth_of_a_percent() {
    assert_eq!(to_step_from(300.0, 300.5, 316.0, None), 0.0);
    assert_eq!(to_step_from(300.0, 300.5, 315.0, None), 315.0);
    assert_eq!(to_step_from(295.0, 296.0, 10.0, None), 300.0);
}

use super::{OwnHarvest, OwnTrial};
use crate::rulebook::Rulebook;
use crate::units::{MassPerArea, Quantity};

fn trial(gains: &[(f64, f64)]) -> OwnTrial {
    OwnTrial {
        product: "starter".to_owned(),
        gate: "open".to_owned(),
        crop: "corn".to_owned(),
        harvests: gains
            .iter()
            .zip(2025..)
            .map(|((gain, standard_error), season)| OwnHarvest {
                season,
                gain: *gain,
                standard_error: *standard_error,
                strips: 4,
            })
            .collect(),
        pays_from: None,
    }
}

#[test]
fn trials_and_prior_are_weighed_by_one_over_their_variance() {
    let mut numbers = Rulebook::built_in().numbers;
    numbers.own_trial_prior_gain = MassPerArea::from_stored(0.0);
    numbers.own_trial_prior_spread = MassPerArea::from_stored(200.0);
    numbers.own_trial_between_seasons = MassPerArea::from_stored(80.0);
    // By hand: weights 1/40,000, 1/(3,600 + 6,400) and 1/(14,400 + 6,400): 0.000025, 0.0001, 0.0000480769.
    let weighed = trial(&[(300.0, 60.0), (100.0, 120.0)]).weigh(&numbers);
    let weight = 0.000_025 + 0.000_1 + 1.0 / 20_800.0;
    let mean = (300.0 * 0.000_1 + 100.0 / 20_800.0) / weight;
    assert!((weighed.gain - mean).abs() < 1e-9, "{weighed:?}");
    assert!((weighed.gain - 201.111_111).abs() < 1e-5, "{weighed:?}");
    assert!((weighed.spread - weight.powf(-0.5)).abs() < 1e-9);
    assert!((weighed.interval.1 - weighed.gain - 1.6449 * weighed.spread).abs() < 1e-9);
    assert_eq!((weighed.trials, weighed.strips), (2, 8));
}

#[test]
fn without_a_trial_the_prior_stays() {
    let numbers = Rulebook::built_in().numbers;
    let weighed = trial(&[]).weigh(&numbers);
    let prior = numbers.own_trial_prior_spread.kilograms_per_hectare();
    assert!((weighed.spread - prior).abs() < 1e-9);
    assert!((weighed.gain - numbers.own_trial_prior_gain.kilograms_per_hectare()).abs() < 1e-9);
}

#[test]
fn harvests_that_cannot_be_one_gain_disagree() {
    let mut numbers = Rulebook::built_in().numbers;
    numbers.own_trial_between_seasons = MassPerArea::from_stored(160.0);
    // By hand: both variances 60² + 160² = 29,200; Q = 396² / (2 x 29,200) = 2.6852, and chi-square with one degree of freedom passes it
    // with a chance of 0.1013.
    let near = trial(&[(0.0, 60.0), (396.0, 60.0)]);
    let chance = near.chance_of_one_gain(&numbers).unwrap();
    assert!((chance - 0.1013).abs() < 2e-4, "{chance}");
    assert!(!near.disagrees(&numbers));
    // -6 and +24 bu/ac of corn.
    let far = trial(&[(-376.6, 90.0), (1_506.4, 90.0)]);
    assert!(far.disagrees(&numbers));
    assert!(!trial(&[(3_000.0, 60.0)]).disagrees(&numbers));
    assert_eq!(trial(&[]).chance_of_one_gain(&numbers), None);
}

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

#[test]
fn no_corrected_p_value_is_more_than_one() {
    assert_eq!(holm(&[0.9, 0.8]), [1.0, 1.0]);
    assert_eq!(holm(&[0.97]), [0.97]);
}

/// 1, 2, 3, 4 and 10: mean 4, variance 10, third moment 36, skewness 36 / 10^1.5.
#[test]
fn the_lower_tail_goes_by_mean_spread_and_skewness() {
    let numbers = [1.0, 2.0, 3.0, 4.0, 10.0];
    let (z, skewness): (f64, f64) = (2.0 / 10.0_f64.sqrt(), 36.0 / 10.0_f64.powf(1.5));
    let turned = numbers.map(|number| 8.0 - number);
    // What lies below 2 of the numbers lies above 6 of those turned round at their mean, 4.
    assert!((lower_tail(&numbers, 2.0) - upper_tail(z, -skewness)).abs() < 1e-12);
    assert!((lower_tail(&turned, 2.0) - upper_tail(z, skewness)).abs() < 1e-12);
    assert!(lower_tail(&numbers, 1.0) < lower_tail(&numbers, 2.0));
    assert_eq!(lower_tail(&[3.0, 3.0], 2.0), 1.0);
}

/// Mean 6, the luckiest 4: a truth of 1 gains 5, two and a half times the 2 of the luckiest.
#[test]
fn gains_are_counted_in_those_of_the_luckiest() {
    assert!((gains(&[4.0, 6.0, 8.0], 1.0) - 2.5).abs() < 1e-12);
}

#[test]
fn squares_are_squares_of_differences() {
    assert_eq!(squares(&[1.0, 2.0, 7.0], &[3.0, 5.0, 6.0]), 4.0 + 9.0 + 1.0);
}

/// Mean 4 and variance 10: 1 lies 3 below.
#[test]
fn the_lower_tail_at_another_number() {
    let skewness = 36.0 / 10.0_f64.powf(1.5);
    let wanted = upper_tail(3.0 / 10.0_f64.sqrt(), -skewness);
    assert!((lower_tail(&[1.0, 2.0, 3.0, 4.0, 10.0], 1.0) - wanted).abs() < 1e-12);
}

/// Every order of some numbers (Heap 1963, Permutations by interchanges).
fn every_order(numbers: &mut Vec<f64>, size: usize, seen: &mut impl FnMut(&[f64])) {
    if size <= 1 {
        return seen(numbers);
    }
    for at in 0..size {
        every_order(numbers, size - 1, seen);
        numbers.swap(if size.is_multiple_of(2) { at } else { 0 }, size - 1);
    }
}

/// Eight observations against their predictions: all 40,320 orders, counted. The shuffles find the same share to within their own chance,
/// and the fitted tail, which is asked only for what few shuffles reach, is never shorter than the counted one.
#[test]
fn shuffles_and_fitted_tail_agree_with_full_enumeration() {
    let prediction = Prediction {
        predicted: vec![5.6, 5.9, 6.0, 6.3, 6.4, 6.6, 6.9, 7.1],
        observed: vec![5.5, 6.1, 5.8, 6.2, 6.9, 6.5, 6.7, 7.3],
    };
    let mut all = Vec::new();
    every_order(&mut prediction.observed.clone(), 8, &mut |order| {
        all.push(squares(&prediction.predicted, order));
    });
    assert_eq!(all.len(), 40_320);
    all.sort_by(f64::total_cmp);
    let shuffled: Vec<f64> = (0..500)
        .flat_map(|batch| batch_of_pairs(&prediction, batch))
        .take(4_000)
        .collect();
    assert_eq!(shuffled.len(), 4_000);
    for share in [0.2, 0.05, 0.01, 0.002] {
        let limit = all[(share * all.len() as f64) as usize];
        let count = |errors: &[f64]| {
            errors.iter().filter(|&&error| error <= limit).count() as f64 / errors.len() as f64
        };
        let (exact, counted) = (count(&all), count(&shuffled));
        let chance = (exact * (1.0 - exact) / shuffled.len() as f64).sqrt();
        assert!(
            (counted - exact).abs() < 4.0 * chance,
            "{counted} by shuffles, {exact} by enumeration"
        );
        // Of eight values the tail ends early: the fit tells it longer than it is, so that it errs towards drawing no map.
        let fitted = lower_tail(&shuffled[..1_000], limit);
        assert!(
            fitted > 0.8 * exact,
            "{fitted} fitted, {exact} by enumeration"
        );
        assert!(
            exact < 0.05 || fitted < 1.25 * exact,
            "{fitted} fitted, {exact} by enumeration"
        );
    }
}

/// What `share_as_good` finds where the observed values are shuffled against a perfect prediction of as many places, 0, 1, 2 and so on. The
/// thousand and one sites only make it a layer of more than 1,000 places.
fn of_perfect(places: usize, limit: f64) -> f64 {
    use super::super::joined::Group;
    use super::super::neighbours::Neighbours;
    use super::super::tuning_table::Table;
    use crate::plan::SurfaceSettings;
    let x: Vec<f64> = (0..1_001).map(f64::from).collect();
    let group = Group {
        y: x.clone().into(),
        x: x.into(),
        layers: Vec::new(),
    };
    let sites = Sites::new(&group, (0..1_001).collect(), 1);
    let neighbours = Neighbours::new(&sites);
    let left_out = LeftOut::new(&neighbours, 1, Vec::new());
    let table = Table::new(&SurfaceSettings::default(), 1);
    let smoother = Smoother::new(&table, &left_out, &sites, false);
    let numbers: Vec<f64> = (0..places).map(|i| i as f64).collect();
    let prediction = Prediction {
        observed: numbers.clone(),
        predicted: numbers,
    };
    let tested = Tested {
        left_out: &left_out,
        blocks: None,
        sites: &sites,
        smoother: &smoother,
        values: &[],
        tuned: Tuned {
            power: super::super::inverse_distance::Power(2.0),
            count: 1,
            entry: 0,
            is_tilted: false,
            least: 0.0,
        },
        prediction: &prediction,
    };
    assert!(!tested.is_small());
    share_as_good(&tested, None, limit)
}

/// One order of ten numbers in 3.6 million is perfect: none of 4,000 shuffles is as good, and the true order is counted. The truth lies three
/// standard deviations of the shuffles below their mean (the square root of places less one), and the luckiest shuffle nearly as low, so that no
/// tail is trusted, be the limit as lax as can be.
#[test]
fn a_p_value_is_never_zero() {
    assert_eq!(of_perfect(10, 0.0), 1.0 / 4_001.0);
    assert_eq!(of_perfect(10, 1_000.0), 1.0 / 4_001.0);
}

/// Two hundred places: the truth lies fourteen standard deviations below, many times what the luckiest shuffle gains, but a limit of nothing is not
/// passed by any tail; with the usual limit a tail ten thousand times beyond it decides at once.
#[test]
fn a_clear_gain_alone_does_not_stop_the_shuffles() {
    assert_eq!(of_perfect(200, 0.0), 1.0 / 4_001.0);
    assert!(of_perfect(200, LARGEST_P) < LARGEST_P / 10_000.0);
}

/// Forty-five places: the root of 44 is 6.63 standard deviations, beyond which lie 1.6e-11 of a normal distribution. That is nowhere near fifty times
/// beyond a limit of 1e-11.
#[test]
fn a_tail_that_is_not_far_beyond_the_limit_does_not_stop_the_shuffles() {
    assert_eq!(of_perfect(45, 1e-11), 1.0 / 4_001.0);
}

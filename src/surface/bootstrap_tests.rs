use super::*;

/// Two places drawn twice: with chance 1/4 the first twice, 1 - 2 / 8; with 1/4 the second twice, 1 - 18 / 32; else both. Twenty of a
/// hundred draws lie beyond either end of a 90 % interval, so that it runs from the least to the greatest.
#[test]
fn two_places_have_three_draws() {
    let layers = [
        (vec![1.0, 3.0], vec![2.0, 4.0]),
        (vec![4.0, 4.0], vec![2.0, 4.0]),
    ];
    let found = efficiency_intervals(&layers);
    assert_eq!(found, [(0.4375, 0.75), (-3.0, 0.0)]);
}

/// Of ten places one has all of the map's error. It is drawn k times with the chance C(10, k) 0.1^k 0.9^(10 - k): 0.349, 0.387, 0.194,
/// 0.057, 0.011 and so on. So the 5 % end of `1 - k / 10` is at k = 3 (0.070 lies at or beyond it, 0.013 beyond), the 95 % end at k = 0.
#[test]
fn one_place_with_all_of_the_error() {
    let mut errors = vec![0.0; 10];
    errors[4] = -1.0;
    let found = efficiency_intervals(&[(errors, vec![1.0; 10])]);
    assert!((found[0].0 - 0.7).abs() < 1e-12, "{found:?}");
    assert_eq!(found[0].1, 1.0);
}

#[test]
fn a_layer_whose_mean_has_no_error_has_no_efficiency() {
    let found = efficiency_intervals(&[(vec![1.0; 4], vec![0.0; 4])]);
    assert_eq!(found, [(0.0, 0.0)]);
    assert!(efficiency_intervals(&[]).is_empty());
    assert!(efficiency_intervals(&[(Vec::new(), Vec::new())]).is_empty());
}

/// 300 places: the first 44 groups hold two of them, the others one.
#[test]
fn many_places_are_drawn_in_256_groups() {
    let errors: Vec<f64> = (0..300).map(f64::from).collect();
    let of_mean: Vec<f64> = errors.iter().map(|error| 1_000.0 - error).collect();
    let groups = group(&errors, &of_mean);
    assert_eq!(groups.len(), 256);
    // 3² + 259², and (1000 - 3)² + (1000 - 259)².
    assert_eq!(groups[3], (67_090.0, 1_543_090.0));
    assert_eq!(groups[44], (1_936.0, 913_936.0));
    assert_eq!(
        group(&errors[..3], &of_mean[..3]),
        [(0.0, 1e6), (1.0, 998_001.0), (4.0, 996_004.0)]
    );
}

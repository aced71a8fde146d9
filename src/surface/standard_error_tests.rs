use super::super::joined::Group;
use super::*;

/// 100,000 pairs: of 12 neighbours 73 pairs a sample, of 40 there are 801, of 100 and more 5,001; between 32 and 128 samples.
#[test]
fn samples_are_as_many_as_their_pairs_allow() {
    for (count, samples) in [
        (1, 128),
        (12, 128),
        (40, 124),
        (50, 79),
        (100, 32),
        (300, 32),
    ] {
        assert_eq!(samples_for(count), samples, "{count}");
    }
}

/// The middles of four stretches of 1,000: an eighth, three eighths and so on.
#[test]
fn numbers_are_taken_from_the_middle_of_each_stretch() {
    assert_eq!(spread(1_000, 4).collect::<Vec<_>>(), [125, 375, 625, 875]);
    assert_eq!(spread(3, 9).collect::<Vec<_>>(), [0, 1, 2]);
}

/// Neighbours beyond the hundredth have no say in the variance.
#[test]
fn the_hundred_nearest_have_a_say_in_the_variance() {
    let x: Vec<f64> = (0..150).map(|i| f64::from(i) + 1.0).collect();
    let group = Group {
        y: vec![0.0; 150].into(),
        x: x.into(),
        layers: Vec::new(),
    };
    let sites = Sites::new(&group, (0..150).collect(), 150);
    let neighbours = Neighbours::new(&sites);
    let mut near = Vec::new();
    neighbours.nearest(0.0, 0.0, 150, &mut near);
    let values: Vec<f64> = (0..150).map(|i| f64::from(i * i % 17)).collect();
    let left_out = LeftOut::new(&neighbours, 8, Vec::new());
    let variogram = Variogram::fit(&sites, &left_out, &[&values])[0].expect("a variogram");
    let of = |count: usize, near: &[Neighbour]| {
        let model = LayerModel {
            sites: &sites,
            variogram: Some(variogram),
            power: Power(1.0),
            count,
        };
        model.variance(&variogram, near)
    };
    assert_eq!(of(150, &near), of(100, &near[..100]));
    assert_ne!(of(99, &near), of(100, &near));
}

use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::*;

/// Every cell against every centre, pass by pass, in double precision.
fn plainly(table: &[Vec<f32>], mut centres: Vec<Vec<f64>>) -> Vec<u8> {
    let cells = table[0].len();
    let off = |cell: usize, centre: &[f64]| -> f64 {
        let layers = table.iter().zip(centre);
        layers
            .map(|(layer, middle)| (f64::from(layer[cell]) - middle).powi(2))
            .sum()
    };
    let mut labels = vec![u8::MAX; cells];
    loop {
        let nearest = |cell: usize| {
            let all = 0..centres.len();
            all.min_by(|&a, &b| off(cell, &centres[a]).total_cmp(&off(cell, &centres[b])))
                .unwrap() as u8
        };
        let next: Vec<u8> = (0..cells).map(nearest).collect();
        if next == labels {
            return labels;
        }
        labels = next;
        for (cluster, centre) in centres.iter_mut().enumerate() {
            let own: Vec<usize> = (0..cells)
                .filter(|cell| usize::from(labels[*cell]) == cluster)
                .collect();
            for (middle, layer) in centre.iter_mut().zip(table) {
                let sum: f64 = own.iter().map(|cell| f64::from(layer[*cell])).sum();
                *middle = sum / own.len() as f64;
            }
        }
    }
}

/// Eight clouds that run into each other, for two to eleven clusters.
#[test]
fn clusters_are_those_of_the_plain_way() {
    let mut random = ChaCha8Rng::seed_from_u64(9);
    let table: Vec<Vec<f32>> = (0..5)
        .map(|layer| {
            (0..300)
                .map(|cell| {
                    let cloud = (cell % 8) as f32;
                    (cloud * (1.3 + layer as f32)).sin() + random.random_range(-0.8..0.8)
                })
                .collect()
        })
        .collect();
    let features = Features::as_they_are(table.clone());
    let small = SmallTable::new(&features);
    for count in 2..12 {
        let start: Vec<Vec<f64>> = (0..count)
            .map(|cell| {
                table
                    .iter()
                    .map(|layer| f64::from(layer[cell * 7]))
                    .collect()
            })
            .collect();
        let flat: Vec<f32> = start.iter().flatten().map(|v| *v as f32).collect();
        assert_eq!(small.settled(&flat).unwrap(), plainly(&table, start));
    }
}

#[test]
fn a_centre_without_cells_is_told() {
    let features = Features::as_they_are(vec![vec![0.0, 0.1, 5.0, 5.1]]);
    let small = SmallTable::new(&features);
    assert_eq!(small.settled(&[0.0, 5.0]), Some(vec![0, 0, 1, 1]));
    assert_eq!(small.settled(&[0.0, 5.0, 90.0]), None);
}

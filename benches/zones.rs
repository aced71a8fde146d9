//! The zone stage: three sizes, the count fixed and chosen. Data are made outside the timed part.
//!
//! The yardstick is a k-means that a textbook would write: no sample, no parallel passes, ten starts.

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use lowstave::plan::FixedOrAuto;
use lowstave::surface::Map;
use lowstave::zones::delineate;
use lowstave::zones::k_means::k_means;
use lowstave::zones::standardise::Features;
use made_zone_fields::{large, settings};

#[path = "../tests/stages/made_settings.rs"]
mod made_settings;
#[path = "../tests/stages/made_zone_fields.rs"]
mod made_zone_fields;

/// Hectares and side of a cell, metres.
const SIZES: [(f64, f64); 3] = [(10.0, 5.0), (65.0, 2.0), (1000.0, 5.0)];

fn stage(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("zones");
    group.sample_size(20);
    for (hectares, cell) in SIZES {
        let (field, surfaces) = large(hectares, cell);
        let cells = field.grid.cells.len();
        for (name, count) in [("four", FixedOrAuto::Fixed(4)), ("auto", FixedOrAuto::Auto)] {
            let settings = settings(count, 2000.0);
            group.bench_function(BenchmarkId::new(name, cells), |bencher| {
                bencher.iter(|| {
                    delineate(
                        black_box(&field),
                        black_box(&surfaces),
                        black_box(&settings),
                    )
                });
            });
        }
    }
    group.finish();
}

fn clustering(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("k-means");
    group.sample_size(20);
    for (hectares, cell) in SIZES {
        let (_, surfaces) = large(hectares, cell);
        let layers: Vec<(&[f32], f64)> = surfaces
            .surfaces
            .iter()
            .filter_map(|surface| match &surface.map {
                Map::Drawn { values, .. } => Some((values.as_slice(), 1.0)),
                Map::Flat { .. } => None,
            })
            .collect();
        let features = Features::standardised(&layers);
        group.bench_function(BenchmarkId::new("ours", features.cells()), |bencher| {
            bencher.iter(|| k_means(black_box(&features), 4, 1));
        });
        group.bench_function(BenchmarkId::new("plain", features.cells()), |bencher| {
            bencher.iter(|| plain(black_box(&features), 4));
        });
    }
    group.finish();
}

/// Ten starts from evenly spaced cells, all cells in each pass.
fn plain(features: &Features, count: usize) -> f64 {
    let row = |cell: usize| -> Vec<f64> {
        (0..features.layers())
            .map(|layer| f64::from(features.column(layer)[cell]))
            .collect()
    };
    let rows: Vec<Vec<f64>> = (0..features.cells()).map(row).collect();
    let mut best = f64::INFINITY;
    for start in 0..10 {
        let mut centres: Vec<Vec<f64>> = (0..count)
            .map(|c| rows[(c * rows.len() / count + start * 97) % rows.len()].clone())
            .collect();
        let mut inertia = f64::INFINITY;
        for _ in 0..100 {
            let mut sums = vec![vec![0.0; features.layers()]; count];
            let (mut sizes, mut now) = (vec![0.0_f64; count], 0.0);
            for row in &rows {
                let distance = |centre: &Vec<f64>| {
                    row.iter()
                        .zip(centre)
                        .map(|(a, b)| (a - b) * (a - b))
                        .sum::<f64>()
                };
                let (nearest, least) = centres
                    .iter()
                    .map(distance)
                    .enumerate()
                    .fold((0, f64::INFINITY), |a, b| if b.1 < a.1 { b } else { a });
                now += least;
                sizes[nearest] += 1.0;
                sums[nearest]
                    .iter_mut()
                    .zip(row)
                    .for_each(|(sum, value)| *sum += value);
            }
            for ((centre, sum), size) in centres.iter_mut().zip(sums).zip(sizes) {
                *centre = sum.iter().map(|s| s / size.max(1.0)).collect();
            }
            if inertia - now < 1e-4 * now {
                break;
            }
            inertia = now;
        }
        best = best.min(inertia);
    }
    best
}

criterion_group!(benches, stage, clustering);
criterion_main!(benches);

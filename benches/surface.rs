//! Surfaces of four layers, power 2, 12 nearest, at three sizes; `naive` asks every cell for all distances and sorts out the nearest.
//!
//!     cargo bench --bench surface
#![allow(missing_docs, reason = "criterion's macros make undocumented items")]

#[path = "../tests/stages/made_fields.rs"]
mod made_fields;

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, criterion_group, criterion_main};
use lowstave::analyte::{Analyte, LayerKey};
use lowstave::field::Field;
use lowstave::plan::SurfaceSettings;
use lowstave::surface::interpolate;
use made_fields::{add_layer, add_table, field, fixed, grid};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const LAYERS: usize = 4;
const NEIGHBOURS: usize = 12;

/// Cores on a jittered grid; from 5,000 on, readings along passes 10 m apart, to and fro. Invented.
fn places(count: usize, width: f64, height: f64) -> Vec<(f64, f64)> {
    let mut random = ChaCha8Rng::seed_from_u64(count as u64);
    let mut jitter = |step: f64| random.random_range(-0.25..0.25) * step;
    if count < 5_000 {
        let step = (width * height / count as f64).sqrt();
        let columns = (width / step).ceil() as usize;
        return (0..count)
            .map(|i| {
                (
                    ((i % columns) as f64 + 0.5) * step + jitter(step),
                    ((i / columns) as f64 + 0.5) * step + jitter(step),
                )
            })
            .collect();
    }
    let passes = (width / 10.0) as usize;
    let each = count.div_ceil(passes);
    let along = height / each as f64;
    (0..count)
        .map(|i| {
            let (pass, at) = (i / each, i % each);
            let y = if pass.is_multiple_of(2) {
                at as f64 * along
            } else {
                height - at as f64 * along
            };
            (pass as f64 * 10.0 + 5.0 + jitter(0.6), y + jitter(0.2))
        })
        .collect()
}

fn made(count: usize, columns: usize, rows: usize, cell: f64) -> Field {
    let (width, height) = (columns as f64 * cell, rows as f64 * cell);
    let points = places(count, width, height);
    let mut made = field(grid(0.0, 0.0, columns, rows, cell));
    let table = add_table(&mut made, "made.csv", &points);
    for layer in 0..LAYERS {
        let wave = 80.0 + 40.0 * layer as f64;
        let values: Vec<f64> = points
            .iter()
            .map(|(x, y)| 6.0 + (x / wave).sin() + (y / wave).cos())
            .collect();
        add_layer(
            &mut made,
            table,
            &LayerKey::new(
                Analyte::Covariate(Arc::from(format!("layer {layer}"))),
                None,
                None,
            ),
            &values,
        );
    }
    made
}

/// The yardstick, for every `step`-th cell.
fn naive(field: &Field, step: usize) -> Vec<f32> {
    let places = &field.places[0];
    let mut near: Vec<(f64, usize)> = Vec::new();
    let mut values = Vec::new();
    for &cell in field.grid.cells.iter().step_by(step) {
        let (x, y) = field.grid.centre(cell);
        near.clear();
        near.extend(
            places
                .x
                .iter()
                .zip(&places.y)
                .enumerate()
                .map(|(i, (px, py))| ((px - x).powi(2) + (py - y).powi(2), i)),
        );
        near.select_nth_unstable_by(NEIGHBOURS, |a, b| a.0.total_cmp(&b.0));
        let weights: f64 = near[..NEIGHBOURS].iter().map(|n| 1.0 / n.0).sum();
        for layer in &field.layers {
            values.push(
                (near[..NEIGHBOURS]
                    .iter()
                    .map(|n| layer.values[n.1] / n.0)
                    .sum::<f64>()
                    / weights) as f32,
            );
        }
    }
    values
}

fn surfaces(criterion: &mut Criterion) {
    let sizes = [
        ("52 ha at 5 m, 250 cores", made(250, 145, 145, 5.0)),
        ("65 ha at 2 m, 160 cores", made(160, 405, 405, 2.0)),
        (
            "1000 ha at 5 m, 1,000,000 readings",
            made(1_000_000, 634, 634, 5.0),
        ),
    ];
    for (name, field) in &sizes {
        let mut group = criterion.benchmark_group(*name);
        group.sample_size(10);
        group.bench_function("fixed", |bench| {
            bench.iter(|| interpolate(black_box(field), &fixed(2.0, NEIGHBOURS)));
        });
        group.bench_function("tuned", |bench| {
            bench.iter(|| interpolate(black_box(field), &SurfaceSettings::default()));
        });
        // Cells x points: only a part of the work can be waited for.
        let step = if field.places[0].x.len() > 5_000 {
            40_000
        } else {
            100
        };
        group.bench_function(format!("naive, one cell in {step}"), |bench| {
            bench.iter(|| naive(black_box(field), step));
        });
        group.finish();
    }
}

criterion_group!(benches, surfaces);
criterion_main!(benches);

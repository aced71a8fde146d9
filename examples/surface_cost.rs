//! What a map costs as the points grow: 402,000 cells of 5 m, four layers, power 2, 12 nearest, from 1,000 to 10,000,000 points on a
//! jittered lattice (invented). Run it with
//!
//!     cargo run --release --example surface_cost
#![allow(
    clippy::print_stdout,
    clippy::panic,
    reason = "a study prints its result and stops at anything unexpected"
)]

#[path = "../tests/stages/made_fields.rs"]
mod made_fields;

use std::sync::Arc;
use std::time::Instant;

use lowstave::analyte::{Analyte, LayerKey};
use lowstave::surface::interpolate;
use made_fields::{add_layer, add_table, field, fixed, grid};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

const SIDE: usize = 634;
const RUNS: usize = 5;

fn main() {
    println!("| points | best of {RUNS}, ms |");
    println!("|---|---|");
    for exponent in 3..=7 {
        let count = 10_usize.pow(exponent);
        let width = SIDE as f64 * 5.0;
        let across = (count as f64).sqrt().ceil() as usize;
        let step = width / across as f64;
        let mut random = ChaCha8Rng::seed_from_u64(count as u64);
        let mut off = || 0.5 + random.random_range(-0.3..0.3);
        let points: Vec<(f64, f64)> = (0..count)
            .map(|i| {
                (
                    ((i % across) as f64 + off()) * step,
                    ((i / across) as f64 + off()) * step,
                )
            })
            .collect();
        let mut made = field(grid(0.0, 0.0, SIDE, SIDE, 5.0));
        let table = add_table(&mut made, "made.csv", &points);
        for layer in 0..4 {
            let values: Vec<f64> = points
                .iter()
                .map(|(x, y)| (x / (80.0 + 40.0 * f64::from(layer))).sin() + (y / 150.0).cos())
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
        drop(points);
        let best = (0..RUNS)
            .map(|_| {
                let start = Instant::now();
                let surfaces = interpolate(&made, &fixed(2.0, 12))
                    .unwrap_or_else(|errors| panic!("{errors:?}"));
                assert_eq!(surfaces.surfaces.len(), 4);
                start.elapsed().as_secs_f64() * 1e3
            })
            .fold(f64::INFINITY, f64::min);
        println!("| {count} | {best:.0} |");
    }
}

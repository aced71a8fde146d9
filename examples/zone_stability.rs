//! How far the zones of farm fields (`plan.toml` in each folder) move where cores are left out, and whether their number hangs on a metre.
//! First the verdict "stable" (median adjusted Rand index of 0.8 or more) by folds of neighbouring cores, as the program does it, beside
//! that of twenty jackknifes by a tenth of the cores; then the count that is chosen where every core is moved by 1 m in a direction drawn
//! at random, three times a field.
//!
//!     cargo run --release --example zone_stability -- FOLDER...
#![allow(
    clippy::print_stdout,
    clippy::panic,
    clippy::expect_used,
    reason = "a study prints its result and stops at anything unexpected"
)]

use std::collections::BTreeMap;
use std::path::Path;

use lowstave::Files;
use lowstave::choice::{Trial, adjusted_rand, folds};
use lowstave::engine::{self, Inputs, Unwatched};
use lowstave::field::Field;
use lowstave::order_statistics::median;
use lowstave::plan::{FixedOrAuto, Purpose, Settings};
use lowstave::surface::{LeftOutFold, Map, Surfaces, interpolate};
use lowstave::zones::{Sketch, Zones};
use lowstave::{diagnosis, rates};
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

const MOST_ZONES: usize = 8;
const STABLE: f64 = 0.8;
const MOVES: u64 = 3;

/// What a field says.
struct Found {
    /// By count from two: by folds, by jackknife.
    indices: Vec<(f64, f64)>,
    count: FixedOrAuto<usize>,
    moved: Vec<FixedOrAuto<usize>>,
}

fn main() {
    let folders: Vec<String> = std::env::args().skip(1).collect();
    let found: Vec<Found> = folders.par_iter().map(|folder| of_field(folder)).collect();
    println!(
        "| zones | fields | stable by both | by folds only | by jackknife only | by neither | median index, folds | jackknife |"
    );
    println!("|---|---|---|---|---|---|---|---|");
    for count in 2..=MOST_ZONES {
        let of_count = found
            .iter()
            .filter_map(|field| field.indices.get(count - 2));
        let pairs: Vec<(f64, f64)> = of_count.copied().collect();
        let many = |is: &dyn Fn(bool, bool) -> bool| {
            let verdicts = pairs.iter().map(|(a, b)| (*a >= STABLE, *b >= STABLE));
            verdicts.filter(|(a, b)| is(*a, *b)).count()
        };
        let middle = |of: fn(&(f64, f64)) -> f64| {
            median(&mut pairs.iter().map(of).collect::<Vec<_>>()).unwrap_or(f64::NAN)
        };
        println!(
            "| {count} | {} | {} | {} | {} | {} | {:.2} | {:.2} |",
            pairs.len(),
            many(&|a, b| a && b),
            many(&|a, b| a && !b),
            many(&|a, b| !a && b),
            many(&|a, b| !a && !b),
            middle(|p| p.0),
            middle(|p| p.1)
        );
    }
    let moves = found.iter().map(|field| field.moved.len()).sum::<usize>();
    let other = |field: &Found| field.moved.iter().filter(|c| **c != field.count).count();
    let others = found.iter().map(other).sum::<usize>();
    println!("\nAnother count in {others} of {moves} moves by 1 m.");
    for (folder, field) in folders.iter().zip(&found) {
        let counts: Vec<usize> = field.moved.iter().map(number).collect();
        if counts.iter().any(|count| *count != number(&field.count)) {
            println!("{folder}: {} zones, moved {counts:?}", number(&field.count));
        }
    }
}

fn number(count: &FixedOrAuto<usize>) -> usize {
    match count {
        FixedOrAuto::Fixed(count) => *count,
        FixedOrAuto::Auto => 0,
    }
}

fn of_field(folder: &str) -> Found {
    let files = Files::folder(folder);
    let inputs = engine::read(&files, Path::new("plan.toml"), Purpose::Rates, &Unwatched);
    let inputs = inputs.expect("a sound field");
    let (count, surfaces) = chosen(&inputs, &inputs.field);
    let moved = (0..MOVES).map(|seed| chosen(&inputs, &shaken(&inputs.field, seed)).0);
    Found {
        indices: indices(&inputs, &surfaces),
        moved: moved.collect(),
        count,
    }
}

/// The count that a field gets.
fn chosen(inputs: &Inputs, field: &Field) -> (FixedOrAuto<usize>, Surfaces) {
    let (settings, rulebook) = (&inputs.settings, &inputs.rulebook);
    let surfaces = interpolate(field, &settings.surface).expect("maps");
    let carry = |settings: &Settings, field: &Field, surfaces: &Surfaces, zones: &Zones| {
        let found = diagnosis::diagnose_without_words(settings, field, surfaces, zones, rulebook)
            .map_err(|errors| format!("{errors:?}"))?;
        let rates =
            rates::prescribe_without_words(settings, field, surfaces, zones, &found, rulebook)
                .map_err(|errors| format!("{errors:?}"))?;
        Ok::<_, String>((found, rates))
    };
    let trial = Trial::new((field, &surfaces), None, settings, rulebook, &carry).expect("a trial");
    (trial.settings(settings).zones.count, surfaces)
}

/// Every core moved by 1 m; rows of one place, its depths, stay together.
fn shaken(field: &Field, seed: u64) -> Field {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut field = field.clone();
    let mut moves: BTreeMap<(u64, u64), (f64, f64)> = BTreeMap::new();
    for table in &mut field.places {
        for (x, y) in table.x.iter_mut().zip(&mut table.y) {
            let mut drawn = || {
                let turn = random.random_range(0.0..std::f64::consts::TAU);
                (turn.cos(), turn.sin())
            };
            let (east, north) = *moves
                .entry((x.to_bits(), y.to_bits()))
                .or_insert_with(&mut drawn);
            (*x, *y) = (*x + east, *y + north);
        }
    }
    field
}

/// For each count the median adjusted Rand index by folds and by jackknifes.
fn indices(inputs: &Inputs, surfaces: &Surfaces) -> Vec<(f64, f64)> {
    let field = &inputs.field;
    let by = (field.grid.cells.len() / 400).max(1);
    let slots: Vec<usize> = (by / 2..field.grid.cells.len()).step_by(by).collect();
    let at = |slot: &usize| field.grid.centre(field.grid.cells[*slot]);
    let targets: Vec<(f64, f64)> = slots.iter().map(at).collect();
    let mut whole = surfaces.clone();
    for surface in &mut whole.surfaces {
        if let Map::Drawn { values, .. } = &mut surface.map {
            *values = slots.iter().map(|slot| values[*slot]).collect();
        }
    }
    let Some(whole) = Sketch::of(&whole, &inputs.settings.zones) else {
        return Vec::new();
    };
    let whole = whole.parted(MOST_ZONES);
    let table = &field.places[0];
    let cores = table.x.iter().copied().zip(table.y.iter().copied());
    let mut cores: Vec<(f64, f64)> = cores.collect();
    cores.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.total_cmp(&b.0)));
    cores.dedup();
    let agree = |fold: &[usize]| -> Vec<Vec<f64>> {
        let of = |at: (f64, f64)| {
            let off = |core: &(f64, f64)| (core.0 - at.0).powi(2) + (core.1 - at.1).powi(2);
            let near = (0..cores.len()).min_by(|a, b| off(&cores[*a]).total_cmp(&off(&cores[*b])));
            vec![fold[near.unwrap_or_default()]]
        };
        let redrawing = surfaces.redrawing(field, targets.clone(), &of);
        let rows: Vec<usize> = (0..targets.len()).collect();
        let last = fold.iter().copied().max().unwrap_or_default();
        let parted = (0..=last).filter_map(|left_out| {
            let left_out = LeftOutFold {
                parting: 0,
                fold: left_out,
            };
            Sketch::of(&redrawing.without(left_out, &rows), &inputs.settings.zones)
        });
        let parted: Vec<Vec<Vec<u8>>> = parted.map(|sketch| sketch.parted(MOST_ZONES)).collect();
        let of_count = |at: usize| {
            let of_fold = parted.iter().filter_map(|parts| parts.get(at));
            of_fold
                .map(|labels| adjusted_rand(&whole[at], labels))
                .collect()
        };
        (1..whole.len()).map(of_count).collect()
    };
    let by_folds = agree(&folds(&cores));
    let mut by_jackknife: Vec<Vec<f64>> = vec![Vec::new(); by_folds.len()];
    for seed in 0..2 {
        let mut tenth: Vec<usize> = (0..cores.len()).map(|core| core % 10).collect();
        tenth.shuffle(&mut ChaCha8Rng::seed_from_u64(seed));
        for (all, more) in by_jackknife.iter_mut().zip(agree(&tenth)) {
            all.extend(more);
        }
    }
    let middle = |mut indices: Vec<f64>| median(&mut indices).unwrap_or(f64::NAN);
    let pairs = by_folds.into_iter().zip(by_jackknife);
    pairs.map(|(a, b)| (middle(a), middle(b))).collect()
}

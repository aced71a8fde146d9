//! Does the `standard_error` of a map hold? Gaussian random fields are made, cores taken, maps drawn; then it is counted how often
//! another core, and the true mean of a zone, lie inside the 90 % interval. Run it with
//!
//!     cargo run --release --example surface_coverage
//!
//! Fields: a square of 400 m; exponential and spherical variograms with practical ranges of 0.15 to 1.2 field sides; nugget of 0 to 75 % of
//! the sill; 20 to 200 cores, on a jittered grid and at random places; 60 fields of each kind. What is printed stands in
//! `docs/how-a-map-is-made.md`.
#![allow(
    clippy::print_stdout,
    clippy::panic,
    reason = "a study prints its result and stops at anything unexpected"
)]

#[path = "../tests/stages/made_fields.rs"]
mod made_fields;

use std::sync::Arc;

use lowstave::analyte::{Analyte, LayerKey};
use lowstave::field::Field;
use lowstave::plan::SurfaceSettings;
use lowstave::surface::{Map, Surface, interpolate};
use made_fields::{add_layer, add_table, field, grid};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

/// Side of the field, metres.
const SIDE: f64 = 400.0;
/// Cells along a side.
const CELLS: usize = 16;
/// Fields per setting and layout.
const FIELDS: usize = 60;
/// Two-sided 90 % of a normal.
const Z90: f64 = 1.644_854;

/// One kind of field.
#[derive(Clone, Copy)]
struct Kind {
    is_spherical: bool,
    range: f64,
    nugget: f64,
    cores: usize,
    is_random: bool,
}

/// How often the truth was inside.
#[derive(Clone, Copy, Default)]
struct Count {
    inside: usize,
    all: usize,
}

impl Count {
    fn add(&mut self, off: f64, standard_error: f64) {
        self.inside += usize::from(off.abs() <= Z90 * standard_error);
        self.all += 1;
    }

    fn join(&mut self, other: Self) {
        self.inside += other.inside;
        self.all += other.all;
    }

    fn percent(self) -> String {
        if self.all == 0 {
            "-".to_owned()
        } else {
            format!("{:.1}", 100.0 * self.inside as f64 / self.all as f64)
        }
    }
}

/// What one kind of field gave.
#[derive(Clone, Copy, Default)]
struct Outcome {
    fields: usize,
    drawn: usize,
    cells: Count,
    large: Count,
    small: Count,
    flat_cells: Count,
    flat_large: Count,
}

impl Outcome {
    fn join(&mut self, other: &Self) {
        self.fields += other.fields;
        self.drawn += other.drawn;
        self.cells.join(other.cells);
        self.large.join(other.large);
        self.small.join(other.small);
        self.flat_cells.join(other.flat_cells);
        self.flat_large.join(other.flat_large);
    }

    fn print(&self, name: &str) {
        println!(
            "| {name} | {:.0} | {} | {} | {} | {} | {} |",
            100.0 * self.drawn as f64 / self.fields as f64,
            self.cells.percent(),
            self.large.percent(),
            self.small.percent(),
            self.flat_cells.percent(),
            self.flat_large.percent()
        );
    }
}

#[expect(clippy::too_many_lines, reason = "one table, printed as it is made")]
fn main() {
    let mut kinds = Vec::new();
    for is_spherical in [false, true] {
        for range in [0.15, 0.3, 0.6, 1.2] {
            for nugget in [0.0, 0.25, 0.5, 0.75] {
                for cores in [20, 50, 100, 200] {
                    for is_random in [false, true] {
                        kinds.push(Kind {
                            is_spherical,
                            range,
                            nugget,
                            cores,
                            is_random,
                        });
                    }
                }
            }
        }
    }
    let outcomes: Vec<(Kind, Outcome)> = kinds
        .iter()
        .enumerate()
        .map(|(seed, kind)| (*kind, study(kind, seed as u64)))
        .collect();
    println!(
        "| fields | drawn % | a core | a third | a patch | a core, no map | a third, no map |"
    );
    println!("|---|---|---|---|---|---|---|");
    let print = |name: &str, belongs: &dyn Fn(&Kind) -> bool| {
        let mut sum = Outcome::default();
        outcomes
            .iter()
            .filter(|(kind, _)| belongs(kind))
            .for_each(|(_, outcome)| sum.join(outcome));
        sum.print(name);
    };
    print("all", &|_| true);
    for cores in [20, 50, 100, 200] {
        print(&format!("{cores} cores"), &|kind| kind.cores == cores);
    }
    for range in [0.15, 0.3, 0.6, 1.2] {
        print(&format!("range {range}"), &|kind| kind.range == range);
    }
    for nugget in [0.0, 0.25, 0.5, 0.75] {
        print(&format!("nugget {nugget}"), &|kind| kind.nugget == nugget);
    }
    print("exponential", &|kind| !kind.is_spherical);
    print("spherical", &|kind| kind.is_spherical);
    print("grid", &|kind| !kind.is_random);
    print("random", &|kind| kind.is_random);
    let mut kinds: Vec<f64> = outcomes
        .iter()
        .filter(|(_, o)| o.cells.all > 5_000)
        .map(|(_, o)| o.cells.inside as f64 / o.cells.all as f64)
        .collect();
    kinds.sort_by(f64::total_cmp);
    if let (Some(least), Some(most)) = (kinds.first(), kinds.last()) {
        let within = kinds
            .iter()
            .filter(|share| (0.85..=0.95).contains(*share))
            .count();
        println!(
            "\nkinds with 20 maps or more: {}; coverage of a core from {least:.3} to {most:.3}, within 0.85 to 0.95 in {within}",
            kinds.len()
        );
    }
}

/// Draws the maps of one kind of field and counts.
fn study(kind: &Kind, seed: u64) -> Outcome {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let cores = layout(kind, &mut random);
    let cells = grid(0.0, 0.0, CELLS, CELLS, SIDE / CELLS as f64);
    let mut places = cores.clone();
    places.extend(cells.cells.iter().map(|&cell| cells.centre(cell)));
    let factor = cholesky(kind, &places);
    let mut made = field(cells);
    let table = add_table(&mut made, "made.csv", &cores);
    let mut truths = Vec::new();
    for number in 0..FIELDS {
        let signal = correlated(&factor, &mut random);
        let noise = kind.nugget.sqrt();
        let seen: Vec<f64> = signal[..cores.len()]
            .iter()
            .map(|s| s + noise * normal(&mut random))
            .collect();
        add_layer(&mut made, table, &key(number), &seen);
        truths.push(signal[cores.len()..].to_vec());
    }
    let surfaces = interpolate(&made, &SurfaceSettings::default())
        .unwrap_or_else(|errors| panic!("{errors:?}"));
    let mut outcome = Outcome::default();
    for (number, truth) in truths.iter().enumerate() {
        let surface = surfaces
            .get(&key(number))
            .unwrap_or_else(|| panic!("no surface {number}"));
        count(
            &made,
            surface,
            truth,
            kind.nugget.sqrt(),
            &mut random,
            &mut outcome,
        );
    }
    outcome
}

fn key(number: usize) -> LayerKey {
    LayerKey::new(
        Analyte::Covariate(Arc::from(format!("field {number}"))),
        None,
        None,
    )
}

/// Adds what one map gave.
fn count(
    made: &Field,
    surface: &Surface,
    truth: &[f64],
    noise: f64,
    random: &mut ChaCha8Rng,
    outcome: &mut Outcome,
) {
    let large: Vec<usize> = (0..CELLS * CELLS)
        .filter(|slot| slot % CELLS < CELLS / 3)
        .collect();
    let small: Vec<usize> = (0..CELLS * CELLS)
        .filter(|slot| slot % CELLS / 3 == 2 && slot / CELLS / 3 == 2)
        .collect();
    let mean = |zone: &[usize], of: &dyn Fn(usize) -> f64| {
        zone.iter().map(|&slot| of(slot)).sum::<f64>() / zone.len() as f64
    };
    let value = |slot: usize| match &surface.map {
        Map::Drawn { values, .. } => f64::from(values[slot]),
        Map::Flat { value, .. } => *value,
    };
    let off = |zone: &[usize]| mean(zone, &value) - mean(zone, &|slot| truth[slot]);
    outcome.fields += 1;
    match &surface.map {
        Map::Drawn { standard_error, .. } => {
            outcome.drawn += 1;
            for (slot, (truth, standard_error)) in truth.iter().zip(standard_error).enumerate() {
                outcome.cells.add(
                    value(slot) - truth - noise * normal(random),
                    f64::from(*standard_error),
                );
            }
            outcome
                .large
                .add(off(&large), surface.mean_standard_error(&made.grid, &large));
            outcome
                .small
                .add(off(&small), surface.mean_standard_error(&made.grid, &small));
        }
        Map::Flat { standard_error, .. } => {
            for (slot, truth) in truth.iter().enumerate() {
                outcome.flat_cells.add(
                    value(slot) - truth - noise * normal(random),
                    *standard_error,
                );
            }
            outcome
                .flat_large
                .add(off(&large), surface.mean_standard_error(&made.grid, &large));
        }
    }
}

/// Cores on a jittered grid or at random places.
fn layout(kind: &Kind, random: &mut ChaCha8Rng) -> Vec<(f64, f64)> {
    if kind.is_random {
        return (0..kind.cores)
            .map(|_| {
                (
                    random.random_range(0.0..SIDE),
                    random.random_range(0.0..SIDE),
                )
            })
            .collect();
    }
    let columns = (kind.cores as f64).sqrt().ceil() as usize;
    let rows = kind.cores.div_ceil(columns);
    let (dx, dy) = (SIDE / columns as f64, SIDE / rows as f64);
    (0..kind.cores)
        .map(|i| {
            let mut jitter = || 0.5 + random.random_range(-0.2..0.2);
            (
                ((i % columns) as f64 + jitter()) * dx,
                ((i / columns) as f64 + jitter()) * dy,
            )
        })
        .collect()
}

/// Covariance of the signal, whose sill is 1 less the nugget.
fn covariance(kind: &Kind, distance: f64) -> f64 {
    let share = distance / (kind.range * SIDE);
    // The practical range of an exponential variogram is three times its parameter (95 % of the sill).
    let correlation = if !kind.is_spherical {
        (-3.0 * share).exp()
    } else if share < 1.0 {
        1.0 - 1.5 * share + 0.5 * share.powi(3)
    } else {
        0.0
    };
    (1.0 - kind.nugget) * correlation
}

/// Lower triangle of the covariance matrix, row by row.
fn cholesky(kind: &Kind, places: &[(f64, f64)]) -> Vec<Vec<f64>> {
    let mut factor: Vec<Vec<f64>> = Vec::with_capacity(places.len());
    for (i, a) in places.iter().enumerate() {
        let mut row = Vec::with_capacity(i + 1);
        for (j, b) in places[..=i].iter().enumerate() {
            let other: &[f64] = if j == i { &row } else { &factor[j] };
            let known: f64 = row[..j].iter().zip(&other[..j]).map(|(x, y)| x * y).sum();
            let left = covariance(kind, (a.0 - b.0).hypot(a.1 - b.1)) - known;
            row.push(if j == i {
                left.max(1e-10).sqrt()
            } else {
                left / factor[j][j]
            });
        }
        factor.push(row);
    }
    factor
}

fn correlated(factor: &[Vec<f64>], random: &mut ChaCha8Rng) -> Vec<f64> {
    let independent: Vec<f64> = factor.iter().map(|_| normal(random)).collect();
    factor
        .iter()
        .map(|row| row.iter().zip(&independent).map(|(l, z)| l * z).sum())
        .collect()
}

/// A standard normal number (Box and Muller).
fn normal(random: &mut ChaCha8Rng) -> f64 {
    let (u, v): (f64, f64) = (
        random.random_range(f64::MIN_POSITIVE..1.0),
        random.random_range(0.0..1.0),
    );
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

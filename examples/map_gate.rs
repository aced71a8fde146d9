//! Does a map have to earn its place? Fields of noise, of gradients and of correlated values are made, cores taken evenly or in
//! clusters, and it is counted how often a map is drawn, how good it is told to be and truly is, and how often the mean of a zone lies
//! in its 90 % interval. Run it with
//!
//!     cargo run --release --example map_gate
//!
//! or with `noise`, `maps` or `skewed` after it for one of the tables; then the first seed
//! and the fields per line: `-- noise 31000 100`; for noise then the cores and the layers of one line: `-- noise 31000 100 60 40`.
//!
//! What it prints stands in `docs/how-a-map-is-made.md`. Everything is invented and seeded.
#![allow(
    clippy::print_stdout,
    clippy::panic,
    reason = "a study prints its result and stops at anything unexpected"
)]

#[path = "../tests/stages/made_fields.rs"]
mod made_fields;

use std::ops::Range;
use std::sync::Arc;

use lowstave::analyte::{Analyte, LayerKey};
use lowstave::field::Field;
use lowstave::plan::SurfaceSettings;
use lowstave::surface::{Map, Surface, interpolate};
use made_fields::{add_layer, add_table, field, grid};
use nalgebra::{Cholesky, DMatrix, DVector, Dyn};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

/// Side of the field, metres, and cells along it.
const SIDE: f64 = 400.0;
const CELLS: usize = 16;
/// Fields per line of a table, where it is not said.
const FIELDS: u64 = 200;
/// Practical range over which twins are alike, in field sides: 20 m.
const TWINS_ALIKE: f64 = 0.05;
/// Two-sided 90 % of a normal.
const Z90: f64 = 1.644_854;

/// How cores stand.
#[derive(Clone, Copy, PartialEq)]
enum Layout {
    /// On a jittered grid.
    Even,
    /// In heaps of about twelve.
    Clustered,
    /// Pairs 2 to 10 m apart on a jittered grid.
    Pairs,
}

/// What varies over a field; the variance of an observation is 1.
#[derive(Clone, Copy)]
enum Truth {
    Noise,
    /// Share of the variance that a slope explains.
    Gradient(f64),
    /// Practical range in field sides; the nugget is 0.25.
    Correlated(f64),
}

/// Prints a table for the fields of some seeds.
type Table = fn(&Range<u64>);

fn main() {
    let asked = std::env::args().nth(1);
    let number = |at: usize, usual: u64| {
        let told = std::env::args().nth(at);
        told.and_then(|told| told.parse().ok()).unwrap_or(usual)
    };
    let (first, fields) = (number(2, 0), number(3, FIELDS));
    let seeds = first..first + fields;
    println!(
        "Seeds {first} to {}, {fields} fields a line.\n",
        seeds.end - 1
    );
    let tables: [(&str, Table); 3] = [("noise", noise), ("maps", maps), ("skewed", skewed_layers)];
    for (name, table) in tables {
        if asked.as_deref().is_none_or(|asked| asked == name) {
            table(&seeds);
            println!();
        }
    }
}

/// A skewed layer beside the same one turned upside down, which is never worked in logarithms.
#[derive(Clone, Copy, Default)]
struct Skewed {
    is_in_logs: bool,
    /// Drawn, whole outcome: as it is, and upside down.
    as_it_is: Outcome,
    upside_down: Outcome,
    /// Mean of the map over the true mean, and the same upside down.
    bias: (f64, f64),
    /// Zone means inside their lognormal interval.
    inside: usize,
}

/// Lognormal layers: what working in logarithms changes.
fn skewed_layers(seeds: &Range<u64>) {
    println!(
        "| deviation of the logarithms | range | cores | layout | in logarithms, % | drawn, % | drawn without, % | median of true squared errors, with over without | mean of the map over the true one | without | zone means in their 90 % interval, % | without, % |\n\
         |---|---|---|---|---|---|---|---|---|---|---|---|"
    );
    for deviation in [0.4, 0.7, 1.0] {
        for range in [0.3, 0.6, 1.2] {
            for cores in [30, 60, 120] {
                for layout in [Layout::Even, Layout::Clustered] {
                    let found: Vec<Skewed> = seeds
                        .clone()
                        .into_par_iter()
                        .map(|seed| skewed_field(deviation, range, cores, layout, seed))
                        .collect();
                    let what = format!("{deviation} | {range} | {cores} | {}", name(layout));
                    print_skewed(&what, &found);
                }
            }
        }
    }
}

fn print_skewed(what: &str, found: &[Skewed]) {
    let share = |of: &dyn Fn(&Skewed) -> bool| {
        100.0 * found.iter().filter(|one| of(one)).count() as f64 / found.len() as f64
    };
    let in_logs: Vec<&Skewed> = found
        .iter()
        .filter(|one| one.is_in_logs && one.as_it_is.is_drawn)
        .collect();
    let mut ratios: Vec<f64> = in_logs
        .iter()
        .map(|one| (1.0 - one.as_it_is.truth) / (1.0 - one.upside_down.truth))
        .collect();
    ratios.sort_by(f64::total_cmp);
    let of_logs = in_logs.len().max(1) as f64;
    let mean =
        |of: &dyn Fn(&Skewed) -> f64| in_logs.iter().map(|one| of(one)).sum::<f64>() / of_logs;
    println!(
        "| {what} | {:.0} | {:.0} | {:.0} | {:.2} | {:.2} | {:.2} | {:.0} | {:.0} |",
        share(&|one| one.is_in_logs),
        share(&|one| one.as_it_is.is_drawn),
        share(&|one| one.upside_down.is_drawn),
        ratios.get(ratios.len() / 2).copied().unwrap_or(f64::NAN),
        mean(&|one| one.bias.0),
        mean(&|one| one.bias.1),
        mean(&|one| 100.0 * one.inside as f64 / one.as_it_is.zones as f64),
        mean(&|one| 100.0 * one.upside_down.inside as f64 / one.upside_down.zones as f64),
    );
}

fn skewed_field(deviation: f64, range: f64, cores: usize, layout: Layout, seed: u64) -> Skewed {
    let mut random = ChaCha8Rng::seed_from_u64(500_000 + seed);
    let places = places(cores, layout, &mut random);
    let cells = grid(0.0, 0.0, CELLS, CELLS, SIDE / CELLS as f64);
    let mut all = places.clone();
    all.extend(cells.cells.iter().map(|&cell| cells.centre(cell)));
    let (signal, noise) = signal(Truth::Correlated(range), &all, &mut random);
    let lognormal = |log: f64| 20.0 * (deviation * log).exp();
    let seen: Vec<f64> = signal[..cores]
        .iter()
        .map(|log| lognormal(log + noise * normal(&mut random)))
        .collect();
    // The mean of what a core there shows.
    let lift = (0.5 * (deviation * noise).powi(2)).exp();
    let truth: Vec<f64> = signal[cores..]
        .iter()
        .map(|log| lognormal(*log) * lift)
        .collect();
    let turn = |values: &[f64]| values.iter().map(|v| -v).collect::<Vec<f64>>();
    let made = made(&places, &[seen.clone(), turn(&seen)]);
    let surfaces = surfaces(&made);
    let mean = |of: &dyn Fn(usize) -> f64| (0..truth.len()).map(of).sum::<f64>();
    let value = |surface: &Surface, slot: usize| match &surface.map {
        Map::Drawn { values, .. } => f64::from(values[slot]),
        Map::Flat { value, .. } => *value,
    };
    let wanted = mean(&|slot| truth[slot]);
    Skewed {
        is_in_logs: surfaces[0].logs.is_some(),
        as_it_is: measured(&made, &surfaces[0], &truth, &seen),
        upside_down: measured(&made, &surfaces[1], &turn(&truth), &turn(&seen)),
        bias: (
            mean(&|slot| value(&surfaces[0], slot)) / wanted,
            -mean(&|slot| value(&surfaces[1], slot)) / wanted,
        ),
        inside: inside_lognormal(&made, &surfaces[0], &truth),
    }
}

/// Zones whose true mean lies inside the lognormal interval of the map's.
fn inside_lognormal(made: &Field, surface: &Surface, truth: &[f64]) -> usize {
    let value = |slot: usize| match &surface.map {
        Map::Drawn { values, .. } => f64::from(values[slot]),
        Map::Flat { value, .. } => *value,
    };
    (0..9)
        .filter(|&zone| {
            let slots = slots_of(zone, truth.len());
            let of = |of: &dyn Fn(usize) -> f64| {
                slots.iter().map(|&slot| of(slot)).sum::<f64>() / slots.len() as f64
            };
            let (found, wanted) = (of(&value), of(&|slot| truth[slot]));
            let error = surface.mean_standard_error(&made.grid, &slots);
            let variance = (error / found).powi(2).ln_1p();
            let off = wanted.ln() - (found.ln() - variance / 2.0);
            off.abs() <= Z90 * variance.sqrt()
        })
        .count()
}

/// Cells of one of nine zones.
fn slots_of(zone: usize, cells: usize) -> Vec<usize> {
    (0..cells)
        .filter(|slot| slot % CELLS * 3 / CELLS + 3 * (slot / CELLS * 3 / CELLS) == zone)
        .collect()
}

/// Fields that hold nothing but noise, and fields in which only cores within some 20 m are alike.
fn noise(seeds: &Range<u64>) {
    println!(
        "| cores | layers | layout | fields of noise with any map, % | of twins that are alike, % |\n|---|---|---|---|---|"
    );
    let sizes = [15, 60, 120, 400].map(|cores| [1, 12, 40].map(|layers| (cores, layers)));
    let asked = |at: usize| std::env::args().nth(at)?.parse::<usize>().ok();
    let (only_cores, only_layers) = (asked(4), asked(5));
    let is_asked = |(cores, layers): &(usize, usize)| {
        only_cores.is_none_or(|only| only == *cores)
            && only_layers.is_none_or(|only| only == *layers)
    };
    for (cores, layers) in sizes.into_iter().flatten().filter(is_asked) {
        for layout in [Layout::Even, Layout::Clustered, Layout::Pairs] {
            let share = |are_alike: bool| {
                let any = seeds
                    .clone()
                    .into_par_iter()
                    .filter(|seed| has_map(cores, layers, layout, are_alike, *seed))
                    .count();
                100.0 * any as f64 / (seeds.end - seeds.start) as f64
            };
            println!(
                "| {cores} | {layers} | {} | {:.1} | {:.1} |",
                name(layout),
                share(false),
                share(true)
            );
        }
    }
}

/// Whether a field without any structure that a map could show gets one.
fn has_map(cores: usize, layers: usize, layout: Layout, are_alike: bool, seed: u64) -> bool {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let places = places(cores, layout, &mut random);
    let factor = are_alike.then(|| factor(TWINS_ALIKE, &places));
    let values: Vec<Vec<f64>> = (0..layers)
        .map(|layer| match &factor {
            Some(factor) => {
                let independent = DVector::from_fn(cores, |_, _| normal(&mut random));
                let near = factor.l() * independent;
                near.iter().map(|v| v + 0.5 * normal(&mut random)).collect()
            }
            None => skewed(layer, cores, &mut random),
        })
        .collect();
    surfaces(&made(&places, &values)).iter().any(is_drawn)
}

/// Every second layer is normal, the others lognormal.
fn skewed(layer: usize, cores: usize, random: &mut ChaCha8Rng) -> Vec<f64> {
    let numbers = (0..cores).map(|_| normal(random));
    if layer.is_multiple_of(2) {
        numbers.collect()
    } else {
        numbers.map(f64::exp).collect()
    }
}

/// What one field gave.
#[derive(Clone, Copy, Default)]
struct Outcome {
    is_drawn: bool,
    told: f64,
    plain: f64,
    truth: f64,
    zones: usize,
    inside: usize,
}

fn maps(seeds: &Range<u64>) {
    println!(
        "| field | cores | layout | drawn, % | efficiency told (median) | by plain leave-one-out | true | zone means in their 90 % interval, % |\n\
         |---|---|---|---|---|---|---|---|"
    );
    for (what, truth) in [
        ("noise", Truth::Noise),
        ("gradient, R² 0.3", Truth::Gradient(0.3)),
        ("range 0.3", Truth::Correlated(0.3)),
        ("range 0.6", Truth::Correlated(0.6)),
        ("range 1.2", Truth::Correlated(1.2)),
    ] {
        for cores in [30, 60, 120] {
            for layout in [Layout::Even, Layout::Clustered] {
                let found: Vec<Outcome> = seeds
                    .clone()
                    .into_par_iter()
                    .map(|seed| one_field(truth, cores, layout, seed))
                    .collect();
                print(what, cores, layout, &found);
            }
        }
    }
}

fn print(what: &str, cores: usize, layout: Layout, found: &[Outcome]) {
    let share = |of: f64| 100.0 * of / found.len() as f64;
    let middle = |of: &dyn Fn(&Outcome) -> f64| {
        let mut numbers: Vec<f64> = found.iter().map(of).collect();
        numbers.sort_by(f64::total_cmp);
        numbers[numbers.len() / 2]
    };
    let (zones, inside) = found
        .iter()
        .fold((0, 0), |sum, one| (sum.0 + one.zones, sum.1 + one.inside));
    println!(
        "| {what} | {cores} | {} | {:.0} | {:.2} | {:.2} | {:.2} | {:.0} |",
        name(layout),
        share(found.iter().filter(|one| one.is_drawn).count() as f64),
        middle(&|one| one.told),
        middle(&|one| one.plain),
        middle(&|one| one.truth),
        100.0 * inside as f64 / zones as f64
    );
}

fn one_field(truth: Truth, cores: usize, layout: Layout, seed: u64) -> Outcome {
    let mut random = ChaCha8Rng::seed_from_u64(1_000 + seed);
    let places = places(cores, layout, &mut random);
    let cells = grid(0.0, 0.0, CELLS, CELLS, SIDE / CELLS as f64);
    let mut all = places.clone();
    all.extend(cells.cells.iter().map(|&cell| cells.centre(cell)));
    let (signal, noise) = signal(truth, &all, &mut random);
    let seen: Vec<f64> = signal[..cores]
        .iter()
        .map(|value| value + noise * normal(&mut random))
        .collect();
    let made = made(&places, std::slice::from_ref(&seen));
    let surfaces = surfaces(&made);
    measured(&made, &surfaces[0], &signal[cores..], &seen)
}

/// Holds a surface against the truth at every cell, and for the means of nine zones.
fn measured(made: &Field, surface: &Surface, truth: &[f64], seen: &[f64]) -> Outcome {
    let value = |slot: usize| match &surface.map {
        Map::Drawn { values, .. } => f64::from(values[slot]),
        Map::Flat { value, .. } => *value,
    };
    let mean = seen.iter().sum::<f64>() / seen.len() as f64;
    let squares = |of: &dyn Fn(usize) -> f64| {
        (0..truth.len())
            .map(|slot| (of(slot) - truth[slot]).powi(2))
            .sum::<f64>()
    };
    let skill = surface.skill.unwrap_or_else(|| panic!("enough cores"));
    let mut outcome = Outcome {
        is_drawn: is_drawn(surface),
        told: skill.efficiency,
        plain: skill.plain.efficiency,
        truth: 1.0 - squares(&value) / squares(&|_| mean),
        ..Outcome::default()
    };
    for zone in 0..9 {
        let slots = slots_of(zone, truth.len());
        let of = |of: &dyn Fn(usize) -> f64| {
            slots.iter().map(|&slot| of(slot)).sum::<f64>() / slots.len() as f64
        };
        let off = of(&value) - of(&|slot| truth[slot]);
        let error = surface.mean_standard_error(&made.grid, &slots);
        outcome.zones += 1;
        outcome.inside += usize::from(off.abs() <= Z90 * error);
    }
    outcome
}

/// Values without noise at every place, and the noise of an observation.
fn signal(truth: Truth, places: &[(f64, f64)], random: &mut ChaCha8Rng) -> (Vec<f64>, f64) {
    match truth {
        Truth::Noise => (vec![0.0; places.len()], 1.0),
        Truth::Gradient(share) => {
            let angle = random.random_range(0.0..std::f64::consts::TAU);
            let slope = share.sqrt() * 12.0_f64.sqrt() / SIDE;
            let along = |(x, y): &(f64, f64)| slope * (x * angle.cos() + y * angle.sin());
            (places.iter().map(along).collect(), (1.0 - share).sqrt())
        }
        Truth::Correlated(range) => {
            let factor = factor(range, places);
            let independent = DVector::from_fn(places.len(), |_, _| normal(random));
            let values = factor.l() * independent;
            (values.iter().copied().collect(), 0.5)
        }
    }
}

/// Of an exponential covariance with a sill of 0.75; the practical range is three times its parameter.
fn factor(range: f64, places: &[(f64, f64)]) -> Cholesky<f64, Dyn> {
    let covariance = DMatrix::from_fn(places.len(), places.len(), |i, j| {
        let (a, b) = (places[i], places[j]);
        let distance = (a.0 - b.0).hypot(a.1 - b.1);
        0.75 * (-3.0 * distance / (range * SIDE)).exp() + if i == j { 1e-9 } else { 0.0 }
    });
    covariance
        .cholesky()
        .unwrap_or_else(|| panic!("a covariance matrix is positive"))
}

/// Places of cores.
fn places(cores: usize, layout: Layout, random: &mut ChaCha8Rng) -> Vec<(f64, f64)> {
    if layout == Layout::Pairs {
        return pairs(cores, random);
    }
    if layout == Layout::Clustered {
        let centres: Vec<(f64, f64)> = (0..(cores / 12).max(4))
            .map(|_| {
                let mut inside = || random.random_range(0.1 * SIDE..0.9 * SIDE);
                (inside(), inside())
            })
            .collect();
        return (0..cores)
            .map(|_| {
                let centre = centres[random.random_range(0..centres.len())];
                let near = |at: f64, off: f64| (at + 0.04 * SIDE * off).clamp(0.0, SIDE - 0.001);
                (
                    near(centre.0, normal(random)),
                    near(centre.1, normal(random)),
                )
            })
            .collect();
    }
    let columns = (cores as f64).sqrt().ceil() as usize;
    let step = SIDE / columns as f64;
    let rows = cores.div_ceil(columns);
    (0..cores)
        .map(|i| {
            let mut jitter = || random.random_range(0.1..0.9);
            (
                ((i % columns) as f64 + jitter()) * step,
                ((i / columns) as f64 + jitter()) * SIDE / rows as f64,
            )
        })
        .collect()
}

fn made(places: &[(f64, f64)], layers: &[Vec<f64>]) -> Field {
    let mut made = field(grid(0.0, 0.0, CELLS, CELLS, SIDE / CELLS as f64));
    let table = add_table(&mut made, "made.csv", places);
    for (number, values) in layers.iter().enumerate() {
        let name = Analyte::Covariate(Arc::from(format!("layer {number}")));
        add_layer(&mut made, table, &LayerKey::new(name, None, None), values);
    }
    made
}

fn surfaces(made: &Field) -> Vec<Surface> {
    interpolate(made, &SurfaceSettings::default())
        .unwrap_or_else(|errors| panic!("{errors:?}"))
        .surfaces
}

fn is_drawn(surface: &Surface) -> bool {
    matches!(surface.map, Map::Drawn { .. })
}

fn name(layout: Layout) -> &'static str {
    match layout {
        Layout::Even => "even",
        Layout::Clustered => "clustered",
        Layout::Pairs => "pairs",
    }
}

/// Every second core stands 2 to 10 m from the one before it.
fn pairs(cores: usize, random: &mut ChaCha8Rng) -> Vec<(f64, f64)> {
    let firsts = places(cores.div_ceil(2), Layout::Even, random);
    let both = firsts.into_iter().flat_map(|(x, y)| {
        let (off, angle) = (
            random.random_range(2.0..10.0),
            random.random_range(0.0..std::f64::consts::TAU),
        );
        let inside = |at: f64| at.clamp(0.0, SIDE - 0.001);
        [
            (x, y),
            (inside(x + off * angle.cos()), inside(y + off * angle.sin())),
        ]
    });
    both.take(cores).collect()
}

/// A standard normal number (Box and Muller).
fn normal(random: &mut ChaCha8Rng) -> f64 {
    let u: f64 = random.random_range(f64::MIN_POSITIVE..1.0);
    let v: f64 = random.random_range(0.0..1.0);
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

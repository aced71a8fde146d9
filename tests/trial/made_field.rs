//! A made field of straight passes: two zones one behind the other, a smooth field, an error that a pass carries along its whole
//! length, and noise in each segment.

use lowstave::trial::harvest::CleanPoint;
use lowstave::trial::layout::{Check, Draw, Run};
use lowstave::trial::statistics::Blocks;
use lowstave::trial::verdict::{Question, Verdict, ZoneInQuestion, judge};
use lowstave::trial::{Frame, Machines};
use nalgebra::{Cholesky, DMatrix, DVector};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

pub const PASSES: usize = 52;
pub const SEGMENTS: usize = 40;
pub const WIDTH: f64 = 12.0;
/// Length of each of the two zones, metres.
pub const ZONE: f64 = 200.0;

/// How a field varies; yields in t/ha.
#[derive(Debug, Clone, Copy)]
pub struct Kind {
    pub sd: f64,
    /// Distance at which 95 % of the likeness is gone, metres.
    pub range: f64,
    pub pass: f64,
    pub noise: f64,
}

pub fn machines() -> Machines {
    let frame = Frame {
        heading: 0.0,
        left_m: 0.0,
        swath_m: WIDTH,
    };
    Machines::new(frame, WIDTH, 0.3)
}

/// `checks` blocks over all passes, both zones whole.
pub fn draw(checks: usize, seed: u64) -> Draw {
    let runs = |zone: u32| Run {
        zone,
        from_m: f64::from(zone - 1) * ZONE,
        to_m: f64::from(zone) * ZONE,
    };
    let positions: Vec<Vec<Run>> = (0..PASSES)
        .map(|at| {
            if at == 0 || at == PASSES - 1 {
                Vec::new()
            } else {
                vec![runs(1), runs(2)]
            }
        })
        .collect();
    let eligible: Vec<usize> = (1..PASSES - 1).collect();
    let blocks = Blocks {
        blocks: eligible
            .chunks(eligible.len().div_ceil(checks))
            .map(<[usize]>::to_vec)
            .collect(),
        apart: machines().apart(),
        seed,
    };
    let checks = blocks
        .draw()
        .unwrap()
        .into_iter()
        .enumerate()
        .map(|(at, position)| Check {
            name: format!("check {}", at + 1),
            position,
            pieces: positions[position].clone(),
        })
        .collect();
    Draw {
        blocks,
        checks,
        positions,
    }
}

/// Standard normal numbers by the method of Box and Muller.
pub fn normal(random: &mut ChaCha8Rng) -> f64 {
    let uniform = |random: &mut ChaCha8Rng| (random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64;
    let radius = (-2.0 * (1.0 - uniform(random)).ln()).sqrt();
    radius * (std::f64::consts::TAU * uniform(random)).cos()
}

/// The smooth part of a kind of field, ready to be drawn many times.
pub struct Smooth {
    kind: Kind,
    root: DMatrix<f64>,
}

impl Smooth {
    pub fn new(kind: Kind) -> Self {
        let place = |at: usize| {
            let (pass, segment) = (at / SEGMENTS, at % SEGMENTS);
            (pass as f64 * WIDTH, segment as f64 * 10.0)
        };
        let covariance = DMatrix::from_fn(PASSES * SEGMENTS, PASSES * SEGMENTS, |a, b| {
            let ((x, y), (u, v)) = (place(a), place(b));
            let nugget = if a == b { 1e-9 } else { 0.0 };
            kind.sd * kind.sd * (-3.0 * (x - u).hypot(y - v) / kind.range).exp() + nugget
        });
        Self {
            kind,
            root: Cholesky::new(covariance).unwrap().unpack(),
        }
    }

    /// Clean points, three a segment, of a season with these gains in zone 1 and 2, t/ha; yields in kg/ha.
    pub fn harvest(&self, draw: &Draw, gains: [f64; 2], seed: u64) -> Vec<CleanPoint> {
        let mut random = ChaCha8Rng::seed_from_u64(seed);
        let white = DVector::from_fn(PASSES * SEGMENTS, |_, _| normal(&mut random));
        let smooth = &self.root * white;
        let mut points = Vec::new();
        for pass in 0..PASSES {
            let of_pass = self.kind.pass * normal(&mut random);
            let is_check = draw.checks.iter().any(|check| check.position == pass);
            for segment in 0..SEGMENTS {
                let noise = self.kind.noise * normal(&mut random);
                let gain = gains[usize::from(segment >= SEGMENTS / 2)];
                let tonnes = 10.0 + smooth[pass * SEGMENTS + segment] + of_pass + noise
                    - if is_check { gain } else { 0.0 };
                points.extend((0..3).map(|third| CleanPoint {
                    pass: pass as u32,
                    along: segment as f64 * 10.0 + 2.0 + 3.0 * f64::from(third),
                    across: (pass as f64 + 0.5) * WIDTH,
                    yields: 1_000.0 * tonnes,
                }));
            }
        }
        points
    }
}

/// Judges with the same break-even in both zones, t/ha.
pub fn judged(points: &[CleanPoint], draw: &Draw, break_even: f64) -> Verdict {
    let zones = [1, 2].map(|zone| ZoneInQuestion {
        zone,
        area_m2: PASSES as f64 * WIDTH * ZONE,
        break_even: Some(1_000.0 * break_even),
    });
    let question = Question {
        machines: &machines(),
        draw,
        zones: &zones,
        others: &[],
        elsewhere: lowstave::trial::verdict::Elsewhere::default(),
    };
    judge(points, &question)
}

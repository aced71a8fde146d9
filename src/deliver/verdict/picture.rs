//! The verdict's pictures: gains with their intervals beside what pays, the placebos, and the strips on the ground.

use maud::{Markup, html};

use super::{SetFacts, VerdictInput, ZoneVerdict};
use crate::trial::verdict::JudgedSet;
use crate::units::decimal;

/// Width of a picture, and height of a row of it.
const WIDTH: f64 = 640.0;
const ROW: f64 = 34.0;
/// Room for names on the left.
const LEFT: f64 = 110.0;

/// Numbers along a line of the picture.
struct Scale {
    low: f64,
    high: f64,
}

impl Scale {
    fn over(values: impl Iterator<Item = f64>) -> Self {
        let (low, high) = values
            .filter(|value| value.is_finite())
            .fold((0.0_f64, 0.0_f64), |(low, high), value| {
                (low.min(value), high.max(value))
            });
        let margin = 0.06 * (high - low).max(1e-9);
        Self {
            low: low - margin,
            high: high + margin,
        }
    }

    fn at(&self, value: f64) -> f64 {
        LEFT + (value - self.low) / (self.high - self.low) * (WIDTH - LEFT - 10.0)
    }
}

/// A row a zone: dot, interval, what pays as a dashed line, 0 as a thin one.
pub fn intervals(set: &SetFacts) -> Markup {
    let judged: Vec<&ZoneVerdict> = set.lines().filter(|zone| zone.gain.is_some()).collect();
    let values = judged.iter().flat_map(|zone| {
        let (low, high) = zone.interval_90.unwrap_or_default();
        [Some(low), Some(high), zone.pays_from]
            .into_iter()
            .flatten()
    });
    let scale = Scale::over(values);
    let height = ROW * judged.len() as f64 + 34.0;
    html! {
        svg.chart viewBox={ "0 0 " (WIDTH) " " (height) } role="img" aria-label={ "Gain by zone, " (set.unit) } {
            line.tick x1=(n(scale.at(0.0))) x2=(n(scale.at(0.0))) y1="6" y2=(n(height - 26.0)) {}
            text x=(n(scale.at(0.0))) y=(n(height - 10.0)) text-anchor="middle" { "0" }
            @for (at, zone) in judged.iter().enumerate() {
                (interval_row(set, zone, &scale, ROW * (at as f64 + 0.5) + 6.0))
            }
            text.axis x=(WIDTH) y=(n(height - 10.0)) text-anchor="end" { "gain, " (set.unit) }
        }
    }
}

fn interval_row(set: &SetFacts, zone: &ZoneVerdict, scale: &Scale, y: f64) -> Markup {
    let name = set.name(zone);
    let (low, high) = zone.interval_90.unwrap_or_default();
    html! {
        text x="0" y=(n(y + 4.0)) { (name) }
        line.profile x1=(n(scale.at(low))) x2=(n(scale.at(high))) y1=(n(y)) y2=(n(y)) {}
        circle.dot cx=(n(scale.at(zone.gain.unwrap_or_default()))) cy=(n(y)) r="5" {}
        @if let Some(pays) = zone.pays_from {
            line.limit x1=(n(scale.at(pays))) x2=(n(scale.at(pays))) y1=(n(y - 12.0)) y2=(n(y + 12.0)) {
                title { "pays from " (decimal(pays, 1)) }
            }
        }
    }
}

/// How far passes without a strip differ from their neighbours: a bar for each of some classes, the gain beside them.
pub fn placebos(set: &SetFacts, zone: &ZoneVerdict) -> Markup {
    const CLASSES: usize = 15;
    let gain = zone.gain.unwrap_or_default();
    let scale = Scale::over(zone.placebo_contrasts.iter().copied().chain([gain]));
    let step = (scale.high - scale.low) / CLASSES as f64;
    let mut counts = [0_usize; CLASSES];
    for value in &zone.placebo_contrasts {
        counts[(((value - scale.low) / step) as usize).min(CLASSES - 1)] += 1;
    }
    let most = counts.iter().copied().max().unwrap_or(1).max(1) as f64;
    html! {
        svg.chart viewBox={ "0 0 " (WIDTH) " 130" } role="img" aria-label="Differences at passes without a strip" {
            @for (at, count) in counts.iter().enumerate() {
                @let left = scale.at(scale.low + step * at as f64);
                @let height = 90.0 * *count as f64 / most;
                rect.stave.full x=(n(left)) y=(n(100.0 - height)) width=(n((WIDTH - LEFT - 10.0) / CLASSES as f64 - 1.0)) height=(n(height)) {}
            }
            line.limit x1=(n(scale.at(gain))) x2=(n(scale.at(gain))) y1="4" y2="104" { title { "gain of the strips" } }
            line.tick x1=(n(scale.at(0.0))) x2=(n(scale.at(0.0))) y1="4" y2="104" {}
            text x=(n(scale.at(0.0))) y="120" text-anchor="middle" { "0" }
            text.limittext x=(n(scale.at(gain))) y="120" text-anchor="middle" { "strips " (decimal(gain, 1)) }
            text.axis x=(WIDTH) y="120" text-anchor="end" { (set.unit) }
        }
    }
}

/// The strips on the ground, each with its gain, and the clean records as a light cloud.
pub fn map(input: &VerdictInput, judged: &JudgedSet) -> Markup {
    const MOST: usize = 4_000;
    let points = &input.harvest.cleaned.points;
    let step = points.len().div_ceil(MOST).max(1);
    let frame = judged.set.machines.frame;
    let places: Vec<(f64, f64)> = points
        .iter()
        .step_by(step)
        .map(|point| frame.place(point.along, point.across))
        .collect();
    let bounds = places.iter().fold(
        (
            f64::INFINITY,
            f64::INFINITY,
            f64::NEG_INFINITY,
            f64::NEG_INFINITY,
        ),
        |(w, s, e, n), (x, y)| (w.min(*x), s.min(*y), e.max(*x), n.max(*y)),
    );
    let (width, height) = (
        (bounds.2 - bounds.0).max(1.0),
        (bounds.3 - bounds.1).max(1.0),
    );
    let scale = 1_000.0 / width.max(height);
    let at = |x: f64, y: f64| ((x - bounds.0) * scale, (bounds.3 - y) * scale);
    let machines = judged.set.machines;
    html! {
        svg.map viewBox={ "-10 -10 " (n(width * scale + 20.0)) " " (n(height * scale + 20.0)) } role="img" aria-label="Records that were kept, and the strips" {
            g fill="#b9b7a8" {
                @for (x, y) in &places {
                    @let (right, down) = at(*x, *y);
                    circle cx=(n(right)) cy=(n(down)) r="1.6" {}
                }
            }
            @for check in &judged.set.draw.checks {
                @for piece in &check.pieces {
                    @let middle = machines.middle(check.position);
                    @let half = machines.half_width();
                    polygon fill="none" stroke="#b4481e" stroke-width="4" points=(corners(&[
                        (piece.from_m, middle - half), (piece.from_m, middle + half), (piece.to_m, middle + half), (piece.to_m, middle - half),
                    ], |along, across| { let (x, y) = frame.place(along, across); at(x, y) })) {
                        title { (check.name) ", zone " (piece.zone) }
                    }
                }
            }
        }
    }
}

fn corners(places: &[(f64, f64)], at: impl Fn(f64, f64) -> (f64, f64)) -> String {
    let texts: Vec<String> = places
        .iter()
        .map(|&(along, across)| {
            let (right, down) = at(along, across);
            format!("{},{}", n(right), n(down))
        })
        .collect();
    texts.join(" ")
}

fn n(value: f64) -> String {
    decimal(value, 1)
}

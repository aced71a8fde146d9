//! Where the log of a machine says another rate than the plan.

use std::collections::BTreeMap;

use super::log::AppliedLog;
use crate::trial::harvest::YieldPoint;
use crate::trial::layout::Run;
use crate::trial::strip_plan::{Strip, StripPlan, StripSet};

/// A log is compared with the plan over stretches of a planter's pass of this length, metres; a segment of the harvest is as long.
const STRETCH: f64 = 10.0;
/// How far the rate of a stretch may be off, as a share of what lies between the rate of the zone and that of its strips. Own.
const TOLERANCE: f64 = 0.25;

/// What a log says of one product of one set of strips.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OffPlan {
    /// Name of the treatment.
    pub treatment: String,
    /// Name of the product.
    pub product: String,
    /// Strips that, or a side of which, had another rate than planned over most of what the log covers.
    pub wrong_strips: Vec<String>,
    /// Strips that, or a side of which, the log covers by less than half: of them it says nothing.
    pub unknown_strips: Vec<String>,
    /// Harvest records on the strips and beside them whose stretch the log covers.
    pub logged: usize,
    /// Those that it does not cover: there the plan is taken to have been kept.
    pub not_logged: usize,
    /// Those that lie where another rate went out than planned.
    pub off: usize,
}

/// Which harvest records lie where a log says another rate than planned, and what it says set by set.
///
/// A record is judged by every pass of the planter that the header reached over, each by the mean rate of the log over 10 m of that pass.
#[must_use]
pub fn off_plan(
    points: &[YieldPoint],
    strips: &StripPlan,
    logs: &[AppliedLog],
) -> (Vec<bool>, Vec<OffPlan>) {
    let mut is_off = vec![false; points.len()];
    let mut told = Vec::new();
    for set in &strips.sets {
        for log in logs {
            if set.rates.iter().any(|rate| rate.product == log.product) {
                let compared = Compared {
                    set,
                    product: &log.product,
                    cells: cells(set, log),
                };
                told.push(compared.mark(points, &mut is_off));
            }
        }
    }
    (is_off, told)
}

/// A stretch of a planter's pass.
type Stretch = (usize, i64);

fn stretch_of(along: f64) -> i64 {
    (along / STRETCH).floor() as i64
}

/// Mean logged rate of each stretch.
fn cells(set: &StripSet, log: &AppliedLog) -> BTreeMap<Stretch, f64> {
    let mut sums: BTreeMap<Stretch, (f64, f64)> = BTreeMap::new();
    for ((along, across), rate) in &log.records {
        if let Some(pass) = set.machines.frame.pass_at(*across) {
            let sum = sums.entry((pass, stretch_of(*along))).or_default();
            sum.0 += rate;
            sum.1 += 1.0;
        }
    }
    let mean = |(stretch, (sum, count)): (Stretch, (f64, f64))| (stretch, sum / count);
    sums.into_iter().map(mean).collect()
}

struct Compared<'a> {
    set: &'a StripSet,
    product: &'a str,
    cells: BTreeMap<Stretch, f64>,
}

/// What was planned at a place.
#[derive(Clone, Copy, PartialEq)]
struct Planned {
    rate: f64,
    /// How far the log may be off.
    allowed: f64,
    /// Whether a check lies there.
    is_on_check: bool,
}

impl Compared<'_> {
    fn mark(&self, points: &[YieldPoint], is_off: &mut [bool]) -> OffPlan {
        let mut told = OffPlan {
            treatment: self.set.treatment.clone(),
            product: self.product.to_owned(),
            ..OffPlan::default()
        };
        for (point, is_off) in points.iter().zip(is_off) {
            match self.is_off(point) {
                Some(true) => {
                    told.logged += 1;
                    told.off += 1;
                    *is_off = true;
                }
                Some(false) => told.logged += 1,
                None if self.planned_under(point).next().is_some() => told.not_logged += 1,
                None => {}
            }
        }
        for at in 0..self.set.draw.checks.len() {
            let name = Strip::name_of(&self.set.treatment, at);
            match self.kept(at) {
                Kept::Planned => {}
                Kept::Otherwise => told.wrong_strips.push(name),
                Kept::Unknown => told.unknown_strips.push(name),
            }
        }
        told
    }

    /// Whether any pass under the header had another rate; `None` where nothing is planned or nothing was logged.
    fn is_off(&self, point: &YieldPoint) -> Option<bool> {
        let at = stretch_of(point.along);
        let logged = self.planned_under(point).filter_map(|(pass, planned)| {
            let rate = self.cells.get(&(pass, at))?;
            Some((rate - planned.rate).abs() > planned.allowed)
        });
        logged.reduce(|any, is_off| any || is_off)
    }

    /// The passes under the header for which a rate was planned.
    fn planned_under(&self, point: &YieldPoint) -> impl Iterator<Item = (usize, Planned)> + '_ {
        /// A header that laps over a pass by less than this takes nothing from it that counts, as a share of the pass.
        const LAP: f64 = 0.1;
        let frame = &self.set.machines.frame;
        let half = 0.5 * self.set.machines.header_m - LAP * frame.swath_m;
        let first = frame.pass_at(point.across - half).unwrap_or(0);
        let last = frame.pass_at(point.across + half);
        let stretch = stretch_of(point.along);
        last.into_iter()
            .flat_map(move |last| first..=last)
            .filter_map(move |pass| Some((pass, self.planned_over(pass, stretch)?)))
    }

    /// What was planned over a whole stretch; `None` where the plan changes within it.
    fn planned_over(&self, pass: usize, stretch: i64) -> Option<Planned> {
        let from = stretch as f64 * STRETCH;
        let first = self.planned(pass, from)?;
        let last = self.planned(pass, from + STRETCH)?;
        (first == last).then_some(first)
    }

    fn planned(&self, pass: usize, along: f64) -> Option<Planned> {
        let width = self.set.machines.check_passes;
        let holds = |run: &&Run| run.from_m <= along && along <= run.to_m;
        let checks = self.set.draw.checks.iter();
        let on_check = checks
            .filter(|check| (check.position..check.position + width).contains(&pass))
            .find_map(|check| check.pieces.iter().find(holds));
        if let Some(piece) = on_check {
            return self.planned_in(piece.zone, true);
        }
        // The stretches of a position hold its own passes and the one on either side.
        let near = pass.saturating_sub(width)..=pass + 1;
        let mut positions = near.filter_map(|position| self.set.elsewhere.get(position));
        let zone = positions.find_map(|runs| runs.iter().find(holds))?.zone;
        self.planned_in(zone, false)
    }

    fn planned_in(&self, zone: u32, is_on_check: bool) -> Option<Planned> {
        let mut rates = self.set.rates.iter();
        let rate = rates.find(|rate| rate.zone == zone && rate.product == self.product)?;
        Some(Planned {
            rate: if is_on_check {
                rate.on_strips
            } else {
                rate.in_zone
            },
            allowed: TOLERANCE * (rate.in_zone - rate.on_strips).abs(),
            is_on_check,
        })
    }

    /// Whether a check and the pass on either side of it had what was planned.
    fn kept(&self, at: usize) -> Kept {
        let check = &self.set.draw.checks[at];
        let passes =
            check.position.saturating_sub(1)..=check.position + self.set.machines.check_passes;
        let all: Vec<Kept> = passes
            .map(|pass| self.pass_kept(pass, &check.pieces))
            .collect();
        if all.contains(&Kept::Otherwise) {
            Kept::Otherwise
        } else if all.contains(&Kept::Unknown) {
            Kept::Unknown
        } else {
            Kept::Planned
        }
    }

    /// Whether a pass had what was planned along some pieces.
    fn pass_kept(&self, pass: usize, pieces: &[Run]) -> Kept {
        let (mut planned, mut logged, mut off) = (0, 0, 0);
        for piece in pieces {
            let first = (piece.from_m / STRETCH).ceil() as i64;
            let end = (piece.to_m / STRETCH).floor() as i64;
            for stretch in first..end {
                let Some(plan) = self.planned_over(pass, stretch) else {
                    continue;
                };
                planned += 1;
                if let Some(rate) = self.cells.get(&(pass, stretch)) {
                    logged += 1;
                    off += usize::from((rate - plan.rate).abs() > plan.allowed);
                }
            }
        }
        if 2 * off > logged {
            Kept::Otherwise
        } else if 2 * logged < planned {
            Kept::Unknown
        } else {
            Kept::Planned
        }
    }
}

/// What a log says of a strip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kept {
    Planned,
    Otherwise,
    Unknown,
}

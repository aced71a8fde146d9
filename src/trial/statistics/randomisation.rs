use super::{Contrast, Placements};

/// The contrast of a position, and what putting a gain back into the true checks does to it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shifted {
    /// The contrast as harvested.
    pub contrast: Contrast,
    /// What it changes by where the true checks are raised by one unit: -1 at a true check, up to +1/2 beside one, 0 elsewhere.
    pub shift: f64,
}

/// What the placements that could have been drawn say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Randomisation {
    /// Share of the placements with a mean contrast at least as far from 0 as the true one: the p value of no gain.
    pub p: f64,
    /// The least p value that so many placements can give.
    pub least_p: f64,
    /// The gains that the test does not refuse at 10 %: lower and upper end. Infinite where the placements are too few to refuse any.
    pub interval: (f64, f64),
    /// Number of placements used.
    pub placements: usize,
}

/// Share of placements above which a gain is not refused.
const LEVEL: f64 = 0.10;
/// Sums of the same numbers in another order may differ in their last bits.
const HAIR: f64 = 1e-12;

/// Holds the mean contrast of the true checks against that of every placement that could have been drawn.
///
/// `positions[k]` is the contrast of a check that began at pass `k`, `None` where there is none. The first placement is the true one. A tested gain
/// `g0` is put back into the yields of the true checks, and the share of placements with `|G(a)| >= |G(true)|` is its p value.
/// `None` where the true checks have no contrast.
///
/// # Source
/// Fisher, R.A. 1935. The Design of Experiments; the interval by inverting the test: Rosenbaum, P.R. 2002. Observational Studies, section 2.6 (from memory).
#[must_use]
pub fn randomisation(
    positions: &[Option<Shifted>],
    placements: &Placements,
) -> Option<Randomisation> {
    let lines: Vec<Line> = placements
        .each
        .iter()
        .map(|placement| mean_line(positions, placement))
        .collect::<Vec<Option<Line>>>()
        .into_iter()
        .enumerate()
        .filter_map(|(at, line)| match line {
            None if at == 0 => Some(None),
            None => None,
            some => Some(some),
        })
        .collect::<Option<Vec<Line>>>()?;
    let truth = *lines.first()?;
    let size = lines.iter().map(|l| l.start.abs()).fold(0.0, f64::max);
    let far = lines
        .iter()
        .filter(|line| line.start.abs() >= truth.start.abs() - HAIR * size)
        .count();
    let count = lines.len() as f64;
    Some(Randomisation {
        p: far as f64 / count,
        least_p: 1.0 / count,
        interval: not_refused(&lines, truth),
        placements: lines.len(),
    })
}

/// The mean contrast of a placement as a line over the gain put back: `start + slope g0`.
#[derive(Debug, Clone, Copy)]
struct Line {
    start: f64,
    slope: f64,
}

fn mean_line(positions: &[Option<Shifted>], placement: &[usize]) -> Option<Line> {
    let (mut weight, mut start, mut slope) = (0.0, 0.0, 0.0);
    for position in placement {
        let Some(Some(shifted)) = positions.get(*position) else {
            continue;
        };
        let w = shifted.contrast.weight;
        weight += w;
        start += w * shifted.contrast.gain;
        slope += w * shifted.shift;
    }
    (weight > 0.0).then(|| Line {
        start: start / weight,
        slope: slope / weight,
    })
}

/// The hull of the gains with a p value above the level. Each placement is as far from 0 as the truth on an interval of gains or outside
/// one, between the two roots of `(start + slope g)² = (start0 + slope0 g)²`: a sweep over all roots counts them.
fn not_refused(lines: &[Line], truth: Line) -> (f64, f64) {
    let mut always = 0_i64;
    let mut steps: Vec<(f64, i64)> = Vec::with_capacity(2 * lines.len());
    for line in lines {
        match exceeds(*line, truth) {
            Exceeds::Always => always += 1,
            Exceeds::Never => {}
            Exceeds::Between(low, high) => steps.extend([(low, 1), (high, -1)]),
            Exceeds::Outside(low, high) => {
                always += 1;
                steps.extend([(low, -1), (high, 1)]);
            }
            Exceeds::Above(low) => steps.push((low, 1)),
            Exceeds::Below(high) => {
                always += 1;
                steps.push((high, -1));
            }
        }
    }
    steps.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
    let needed = LEVEL * lines.len() as f64;
    let is_kept = |count: i64| count as f64 > needed + HAIR;
    let (mut low, mut high) = (f64::NAN, f64::NAN);
    if is_kept(always) {
        low = f64::NEG_INFINITY;
    }
    let mut count = always;
    for (place, step) in steps {
        let before = is_kept(count);
        count += step;
        let after = is_kept(count);
        if !before && after && low.is_nan() {
            low = place;
        }
        if before && !after {
            high = place;
        }
    }
    if is_kept(count) {
        high = f64::INFINITY;
    }
    (low, high)
}

/// Where along the gains a placement is at least as far from 0 as the truth.
enum Exceeds {
    Always,
    Never,
    Between(f64, f64),
    Outside(f64, f64),
    Above(f64),
    Below(f64),
}

/// Solves `(s + t g)² - (s0 + t0 g)² >= 0`, which is the product of the two lines `(s - s0) + (t - t0) g` and `(s + s0) + (t + t0) g`.
fn exceeds(line: Line, truth: Line) -> Exceeds {
    let factors = [
        (line.start - truth.start, line.slope - truth.slope),
        (line.start + truth.start, line.slope + truth.slope),
    ];
    let flat = |(_, slope): (f64, f64)| slope.abs() < HAIR;
    let root = |(start, slope): (f64, f64)| -start / slope;
    match (flat(factors[0]), flat(factors[1])) {
        (true, true) => {
            if factors[0].0 * factors[1].0 >= -HAIR {
                Exceeds::Always
            } else {
                Exceeds::Never
            }
        }
        (false, false) => {
            let (a, b) = (root(factors[0]), root(factors[1]));
            let (low, high) = (a.min(b), a.max(b));
            if factors[0].1 * factors[1].1 < 0.0 {
                Exceeds::Between(low, high)
            } else {
                Exceeds::Outside(low, high)
            }
        }
        (is_first_flat, _) => {
            let (constant, moving) = if is_first_flat {
                (factors[0].0, factors[1])
            } else {
                (factors[1].0, factors[0])
            };
            if constant.abs() < HAIR {
                Exceeds::Always
            } else if constant * moving.1 > 0.0 {
                Exceeds::Above(root(moving))
            } else {
                Exceeds::Below(root(moving))
            }
        }
    }
}

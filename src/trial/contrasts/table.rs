use super::ground::Ground;
use super::lines::{Cut, Line};
use crate::trial::machines::Machines;
use crate::trial::statistics::{Contrast, Shifted};

/// A segment of a lane holds at least this many clean points. Own.
const FEWEST_POINTS: u32 = 3;

/// One segment of a position: what the sides have over the middle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// Which segment along the pass.
    pub at: usize,
    /// Number of the zone.
    pub zone: u32,
    /// Mean yields of left side, middle and right side.
    pub yields: [f64; 3],
    /// What the contrast changes by where the true checks are raised by one unit.
    pub shift: f64,
}

impl Segment {
    /// Mean of the two sides less the middle.
    #[must_use]
    pub fn gain(&self) -> f64 {
        0.5 * (self.yields[0] + self.yields[2]) - self.yields[1]
    }
}

/// A place where a check lies or could have lain.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Position {
    /// Lines of left side, middle and right side; `None` where no combine pass fits.
    pub lines: Option<[usize; 3]>,
    /// The segments that count.
    pub segments: Vec<Segment>,
}

/// What each position says, over the whole field.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    /// One entry for each pass that a check could begin at.
    pub positions: Vec<Position>,
    /// Positions of the true checks.
    pub checks: Vec<usize>,
    /// Positions without any check in their three lanes, each on a line of its own.
    pub placebos: Vec<usize>,
}

impl Table {
    /// Compares each line with its two sides at every position. `others` are checks of other treatments: near them no position is a placebo.
    #[must_use]
    pub fn new(
        lines: &[Line],
        cut: &Cut,
        ground: &Ground<'_>,
        machines: &Machines,
        (checks, others): (&[usize], &[usize]),
    ) -> Self {
        let compared = Compared {
            lines,
            cut,
            ground,
            machines,
            checks,
        };
        let positions: Vec<Position> = (0..ground.positions.len())
            .map(|position| {
                let lanes = lanes(lines, machines, position, checks);
                let segments = lanes
                    .map(|lanes| compared.segments(position, lanes))
                    .unwrap_or_default();
                Position {
                    lines: lanes,
                    segments,
                }
            })
            .collect();
        let all: Vec<usize> = checks.iter().chain(others).copied().collect();
        let placebos = placebos(&positions, lines, machines, &all);
        Self {
            positions,
            checks: checks.to_vec(),
            placebos,
        }
    }

    /// The contrast of a position, each segment weighted by what its zone is worth; `None` without a segment that weighs.
    #[must_use]
    pub fn contrast(&self, position: usize, weight: impl Fn(u32) -> f64) -> Option<Shifted> {
        let segments = &self.positions.get(position)?.segments;
        let (mut sum, mut gain, mut shift) = (0.0, 0.0, 0.0);
        for segment in segments {
            let w = weight(segment.zone);
            sum += w;
            gain += w * segment.gain();
            shift += w * segment.shift;
        }
        (sum > 0.0).then(|| Shifted {
            contrast: Contrast {
                gain: gain / sum,
                weight: sum,
            },
            shift: shift / sum,
        })
    }

    /// Number of segments of a position in a zone.
    #[must_use]
    pub fn count(&self, position: usize, zone: u32) -> usize {
        self.positions.get(position).map_or(0, |position| {
            position.segments.iter().filter(|s| s.zone == zone).count()
        })
    }
}

/// The line in the middle of a position and the nearest whole ones on either side. At a true check the middle line must take nothing from
/// outside; elsewhere the nearest line within half a pass stands for the position, and its sides are found from that line.
fn lanes(
    lines: &[Line],
    machines: &Machines,
    position: usize,
    checks: &[usize],
) -> Option<[usize; 3]> {
    let wanted = machines.middle(position);
    let nearest = (0..lines.len()).min_by(|&a, &b| {
        let far = |at: usize| (lines[at].across - wanted).abs();
        far(a).total_cmp(&far(b))
    })?;
    let is_check = checks.contains(&position);
    let allowed = if is_check {
        machines.tolerance()
    } else {
        0.5 * machines.frame.swath_m.max(machines.header_m)
    };
    if (lines[nearest].across - wanted).abs() > allowed {
        return None;
    }
    let middle = if is_check {
        wanted
    } else {
        lines[nearest].across
    };
    let beside = machines.beside();
    let is_near = |far: f64| far >= beside && far < beside + machines.header_m;
    let left = lines[..nearest]
        .iter()
        .rposition(|line| is_near(middle - line.across))?;
    let right = nearest
        + lines[nearest..]
            .iter()
            .position(|line| is_near(line.across - middle))?;
    Some([left, nearest, right])
}

/// What part of a line's header lies on a true check: 1 wholly, 0 not at all, `None` partly.
fn on_check(across: f64, machines: &Machines, checks: &[usize]) -> Option<f64> {
    let mut part = Some(0.0);
    for &check in checks {
        let far = (across - machines.middle(check)).abs();
        if far <= machines.tolerance() {
            return Some(1.0);
        }
        if far < machines.beside() {
            part = None;
        }
    }
    part
}

/// What the segments of a position are made from.
struct Compared<'a> {
    lines: &'a [Line],
    cut: &'a Cut,
    ground: &'a Ground<'a>,
    machines: &'a Machines,
    checks: &'a [usize],
}

impl Compared<'_> {
    fn segments(&self, position: usize, lanes: [usize; 3]) -> Vec<Segment> {
        let lines = lanes.map(|lane| &self.lines[lane]);
        let on = lines.map(|line| on_check(line.across, self.machines, self.checks));
        let [Some(left), Some(middle), Some(right)] = on else {
            return Vec::new();
        };
        let shift = 0.5 * (left + right) - middle;
        (0..self.cut.count)
            .filter_map(|at| {
                let zone = self.ground.zone_of(position, self.cut.middle(at))?;
                let mean = |lane: usize| lines[lane].mean(at, FEWEST_POINTS);
                Some(Segment {
                    at,
                    zone,
                    yields: [mean(0)?, mean(1)?, mean(2)?],
                    shift,
                })
            })
            .collect()
    }
}

/// Positions whose three lanes have no check in them, the first of those on the same line.
fn placebos(
    positions: &[Position],
    lines: &[Line],
    machines: &Machines,
    checks: &[usize],
) -> Vec<usize> {
    let mut used = vec![false; lines.len()];
    let mut placebos = Vec::new();
    for (at, position) in positions.iter().enumerate() {
        let Some(lanes) = position.lines else {
            continue;
        };
        let is_free = lanes
            .iter()
            .all(|&lane| on_check(lines[lane].across, machines, checks) == Some(0.0));
        if is_free && !used[lanes[1]] && !position.segments.is_empty() {
            used[lanes[1]] = true;
            placebos.push(at);
        }
    }
    placebos
}

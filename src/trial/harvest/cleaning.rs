use std::ops::Range;

use serde::Serialize;

use super::lag::{self, Lag};
use super::{YieldPoint, local, outliers, passes};

/// Passes with fewer points are left out.
const FEWEST_POINTS: usize = 10;
/// Points left out at both ends of a pass, where the machine fills and empties.
const ENDS: usize = 4;
/// Furthest flow, distance and moisture from their mean, standard deviations.
const FURTHEST: f64 = 3.0;
/// Furthest yield from the median of its treatment, robust standard deviations.
const FURTHEST_YIELD: f64 = 4.0;

/// What became of a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Fate {
    /// Kept.
    Kept,
    /// No yield can be calculated: a column is empty, no way was driven, or nothing flowed.
    NoYield,
    /// In a pass of fewer than 10 points.
    ShortPass,
    /// Among the first or last 4 points of a pass.
    PassEnd,
    /// Flow, distance or moisture beyond 3 standard deviations.
    Outlier,
    /// Yield beyond 4 robust standard deviations of the median of its treatment.
    YieldLimit,
    /// Unlike the points of other passes near it.
    Local,
    /// Where the log of the planter or spreader says another rate than planned.
    OffPlan,
}

impl Fate {
    /// The fates of points that are left out, in the order of the steps.
    pub const DROPPED: [Self; 7] = [
        Self::ShortPass,
        Self::NoYield,
        Self::PassEnd,
        Self::Outlier,
        Self::YieldLimit,
        Self::Local,
        Self::OffPlan,
    ];

    /// The words that are printed.
    #[must_use]
    pub fn words(self) -> &'static str {
        match self {
            Self::Kept => "kept",
            Self::NoYield => "no yield: a column is empty, or the machine stood still",
            Self::ShortPass => "in a pass of fewer than 10 points",
            Self::PassEnd => "first or last 4 points of a pass",
            Self::Outlier => "flow, distance or moisture beyond 3 standard deviations",
            Self::YieldLimit => "yield beyond 4 robust deviations of its treatment's median",
            Self::Local => "unlike the neighbouring passes within 20 m",
            Self::OffPlan => "where another rate went out than planned",
        }
    }
}

/// A point that was kept.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CleanPoint {
    /// Number of its pass.
    pub pass: u32,
    /// Metres along the way of travel.
    pub along: f64,
    /// Metres across it.
    pub across: f64,
    /// Yield at standard moisture, kg/ha.
    pub yields: f64,
}

/// What cleaning made of the points.
#[derive(Debug, Clone, PartialEq)]
pub struct Cleaned {
    /// What became of each point.
    pub fates: Vec<Fate>,
    /// Yield of each point at standard moisture after the shift, kg/ha; NaN where there is none.
    pub yields: Vec<f64>,
    /// Number of the pass of each point.
    pub passes: Vec<u32>,
    /// The lag that was found and taken out.
    pub lag: Lag,
    /// The points kept, in their order.
    pub points: Vec<CleanPoint>,
}

impl Cleaned {
    /// Leaves out the kept points that lie where another rate went out than planned.
    pub fn leave_out_off_plan(&mut self, points: &[YieldPoint], is_off: &[bool]) {
        for (fate, is_off) in self.fates.iter_mut().zip(is_off) {
            if *is_off && *fate == Fate::Kept {
                *fate = Fate::OffPlan;
            }
        }
        self.gather(points);
    }

    /// The kept points, in their order.
    fn gather(&mut self, points: &[YieldPoint]) {
        let clean = |at: u32| {
            let at = at as usize;
            CleanPoint {
                pass: self.passes[at],
                along: points[at].along,
                across: points[at].across,
                yields: self.yields[at],
            }
        };
        self.points = kept(&self.fates).into_iter().map(clean).collect();
    }

    /// How many points had a fate.
    #[must_use]
    pub fn count(&self, fate: Fate) -> usize {
        self.fates.iter().filter(|f| **f == fate).count()
    }
}

/// Cleans the points of a yield monitor, in the order of their records: passes, lag, ends of passes, outliers, limits of the yield, local
/// outliers. `standard` is the moisture at which the crop is sold, percent. `takes_lag` says whether a lag that is found is taken out.
///
/// # Source
/// Order after Simbahan, G.C. et al. 2004. Agronomy Journal 96:1091-1102, Vega, A. et al. 2019. Precision Agriculture 20:1030-1044 and
/// Leroux, C. et al. 2018, doi 10.1007/s11119-017-9555-0; limits own.
#[must_use]
pub fn clean(points: &[YieldPoint], standard: f64, takes_lag: bool) -> Cleaned {
    let pass_of = passes::split(points);
    let long = long_passes(&pass_of);
    let lag = lag::find(points, &long, standard);
    let shift = if takes_lag { lag.records } else { 0 };
    let mut fates = vec![Fate::ShortPass; points.len()];
    let mut yields = vec![f64::NAN; points.len()];
    for range in &long {
        for at in range.clone() {
            let later = at as i64 + i64::from(shift);
            let from_end = (at - range.start).min(range.end - 1 - at);
            if range.contains(&(later.max(0) as usize)) && later >= 0 {
                yields[at] = lag::shifted(&points[at], &points[later as usize], standard);
            }
            fates[at] = if from_end < ENDS {
                Fate::PassEnd
            } else if yields[at].is_finite() && yields[at] >= 0.0 {
                Fate::Kept
            } else {
                Fate::NoYield
            };
        }
    }
    drop_outliers(points, shift, &mut fates);
    drop_beyond_limits(points, &yields, &mut fates);
    let kept = kept(&fates);
    let unlike = local::unlike(points, &pass_of, &yields, &kept);
    for (&at, is_unlike) in kept.iter().zip(unlike) {
        if is_unlike {
            fates[at as usize] = Fate::Local;
        }
    }
    let mut cleaned = Cleaned {
        points: Vec::new(),
        fates,
        yields,
        passes: pass_of,
        lag,
    };
    cleaned.gather(points);
    cleaned
}

fn kept(fates: &[Fate]) -> Vec<u32> {
    (0..fates.len() as u32)
        .filter(|&at| fates[at as usize] == Fate::Kept)
        .collect()
}

/// Where the passes of at least 10 points begin and end.
fn long_passes(pass_of: &[u32]) -> Vec<Range<usize>> {
    let mut start = 0;
    let mut long = Vec::new();
    for pass in pass_of.chunk_by(|a, b| a == b) {
        let range = start..start + pass.len();
        start = range.end;
        if range.len() >= FEWEST_POINTS {
            long.push(range);
        }
    }
    long
}

/// Flow, distance and moisture are all judged on the same points.
fn drop_outliers(points: &[YieldPoint], shift: i32, fates: &mut [Fate]) {
    let kept = kept(fates);
    let flow = |at: u32| points[(i64::from(at) + i64::from(shift)) as usize].flow;
    let columns: [Vec<f64>; 3] = [
        kept.iter().map(|&at| flow(at)).collect(),
        kept.iter()
            .map(|&at| points[at as usize].distance)
            .collect(),
        kept.iter()
            .map(|&at| points[at as usize].moisture)
            .collect(),
    ];
    for column in &columns {
        for (&at, is_within) in kept.iter().zip(outliers::within(column, FURTHEST)) {
            if !is_within {
                fates[at as usize] = Fate::Outlier;
            }
        }
    }
}

/// Each treatment is judged by its own median, or a real effect would be cut away.
fn drop_beyond_limits(points: &[YieldPoint], yields: &[f64], fates: &mut [Fate]) {
    let kept = kept(fates);
    let mut treatments: Vec<u8> = kept
        .iter()
        .map(|&at| points[at as usize].treatment)
        .collect();
    treatments.sort_unstable();
    treatments.dedup();
    for treatment in treatments {
        let of: Vec<u32> = kept
            .iter()
            .copied()
            .filter(|&at| points[at as usize].treatment == treatment)
            .collect();
        let mut values: Vec<f64> = of.iter().map(|&at| yields[at as usize]).collect();
        let (median, spread) = outliers::median_and_robust_sd(&mut values);
        for at in of {
            if (yields[at as usize] - median).abs() > FURTHEST_YIELD * spread {
                fates[at as usize] = Fate::YieldLimit;
            }
        }
    }
}

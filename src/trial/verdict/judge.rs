use super::gain::{CheckGain, Gain, NotJudged};
use super::opinion;
use crate::trial::contrasts::{Cut, Ground, Line, SEGMENT, Table, lines};
use crate::trial::harvest::CleanPoint;
use crate::trial::layout::{Draw, Run};
use crate::trial::machines::Machines;
use crate::trial::statistics::{
    Blocks, Contrast, Estimate, FEWEST_PLACEBOS, Placements, Scatter, Shifted, estimate, finding,
    holm, least_difference, paired_t, randomisation, scatter, student_t_cdf,
};

/// A zone that was laid out to be judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ZoneInQuestion {
    /// Number.
    pub zone: u32,
    /// Area, m²: its weight in the whole field's gain.
    pub area_m2: f64,
    /// Gain that pays for the product, kg/ha; `None` where no price is known.
    pub break_even: Option<f64>,
}

/// What is asked of a harvest.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// Planter and combine.
    pub machines: &'a Machines,
    /// Where the checks lie and could have lain.
    pub draw: &'a Draw,
    /// The zones, by number.
    pub zones: &'a [ZoneInQuestion],
    /// Positions of checks of other treatments in these zones.
    pub others: &'a [usize],
    /// Passes anywhere in the field that may stand in where too few in the zones had no check.
    pub elsewhere: Elsewhere<'a>,
}

/// Where else passes without any check lie.
#[derive(Debug, Clone, Copy, Default)]
pub struct Elsewhere<'a> {
    /// For every position, stretches of any zone.
    pub positions: &'a [Vec<Run>],
    /// Positions of the checks of all treatments.
    pub checks: &'a [usize],
}

/// Whether the gain of one zone is above that of another, within the checks that cross both.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The zones.
    pub zones: (u32, u32),
    /// Gain of the first less gain of the second.
    pub estimate: Estimate,
    /// Two-sided p value, corrected for the number of comparisons.
    pub corrected_p: f64,
}

/// The whole field.
#[derive(Debug, Clone, PartialEq)]
pub struct WholeField {
    /// Gain weighted by the areas of the zones that are judged; its error from whole strips.
    pub gain: Result<Gain, NotJudged>,
    /// The zones in it.
    pub zones: Vec<u32>,
}

/// Everything that the checks say.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// Zone by zone, in the order of the question.
    pub zones: Vec<(u32, Result<Gain, NotJudged>)>,
    /// The whole field.
    pub field: WholeField,
    /// Zones compared with each other.
    pub comparisons: Vec<Comparison>,
    /// The lines that the combine drove, segment by segment.
    pub lines: Vec<Line>,
    /// What each position says.
    pub table: Table,
    /// Where the segments begin.
    pub cut: Cut,
}

/// Judges a clean harvest.
#[must_use]
pub fn judge(points: &[CleanPoint], question: &Question<'_>) -> Verdict {
    let draw = question.draw;
    let pieces = || {
        draw.positions
            .iter()
            .chain(question.elsewhere.positions)
            .flatten()
    };
    let from = pieces().map(|p| p.from_m).fold(f64::INFINITY, f64::min);
    let to = pieces().map(|p| p.to_m).fold(f64::NEG_INFINITY, f64::max);
    let cut = Cut::over(from, to);
    let checks: Vec<usize> = draw.checks.iter().map(|check| check.position).collect();
    let ground = Ground {
        positions: &draw.positions,
    };
    let lines = lines(points, question.machines, &cut);
    let table = Table::new(
        &lines,
        &cut,
        &ground,
        question.machines,
        (&checks, question.others),
    );
    let unchecked = unchecked(&lines, &cut, question);
    let court = Court {
        question,
        table: &table,
        unchecked: &unchecked,
        placements: clear_of_others(question, &checks).placements(&checks),
    };
    let mut zones: Vec<(u32, Result<Gain, NotJudged>)> = question
        .zones
        .iter()
        .map(|zone| (zone.zone, court.zone(zone)))
        .collect();
    correct(&mut zones);
    let field = court.whole_field(&zones);
    let comparisons = court.comparisons(&zones);
    Verdict {
        zones,
        field,
        comparisons,
        lines,
        table,
        cut,
    }
}

/// The blocks without the passes that lie on checks of other treatments, or share a neighbour with one: what those do is not chance.
fn clear_of_others(question: &Question<'_>, checks: &[usize]) -> Blocks {
    let apart = question.machines.apart();
    let is_clear = |position: &usize| {
        let mut others = question.others.iter();
        checks.contains(position) || others.all(|other| other.abs_diff(*position) >= apart)
    };
    let mut blocks = question.draw.blocks.clone();
    for block in &mut blocks.blocks {
        block.retain(is_clear);
    }
    blocks
}

/// Contrasts of passes without any check, and how many passes there are.
struct Unchecked {
    contrasts: Vec<Contrast>,
    passes: usize,
}

/// The passes of the field without any check, whatever zone they lie in: a contrast for each zone of a pass.
fn unchecked(lines: &[Line], cut: &Cut, question: &Question<'_>) -> Unchecked {
    let Elsewhere { positions, checks } = question.elsewhere;
    let ground = Ground { positions };
    let table = Table::new(lines, cut, &ground, question.machines, (&[], checks));
    let mut zones: Vec<u32> = positions.iter().flatten().map(|run| run.zone).collect();
    zones.sort_unstable();
    zones.dedup();
    let of_zone = |zone: u32| {
        let one = move |number: u32| f64::from(u8::from(number == zone));
        table
            .placebos
            .iter()
            .filter_map(|&at| table.contrast(at, one).map(|shifted| shifted.contrast))
            .collect::<Vec<_>>()
    };
    Unchecked {
        contrasts: zones.into_iter().flat_map(of_zone).collect(),
        passes: table.placebos.len(),
    }
}

impl Verdict {
    /// Adds the least squares opinion with its spatial error to each zone that is judged. It takes most of the time of a verdict.
    #[must_use]
    pub fn with_second_opinion(mut self) -> Self {
        opinion::add(&mut self.zones, &self.table, &self.lines, &self.cut);
        self
    }
}

/// Holm over the zones that have a p value.
fn correct(zones: &mut [(u32, Result<Gain, NotJudged>)]) {
    let with_p = |gain: &Gain| gain.randomisation.map(|r| r.p);
    let p_values: Vec<f64> = zones
        .iter()
        .filter_map(|(_, gain)| gain.as_ref().ok().and_then(with_p))
        .collect();
    let mut corrected = holm(&p_values).into_iter();
    for (_, gain) in zones {
        if let Ok(gain) = gain
            && gain.randomisation.is_some()
        {
            gain.corrected_p = corrected.next();
        }
    }
}

/// Standard deviation of the checks' gains about their mean; 0 of fewer than two.
fn spread(checks: &[Contrast]) -> f64 {
    let count = checks.len() as f64;
    if checks.len() < 2 {
        return 0.0;
    }
    let mean = checks.iter().map(|check| check.gain).sum::<f64>() / count;
    let square: f64 = checks.iter().map(|check| (check.gain - mean).powi(2)).sum();
    (square / (count - 1.0)).sqrt()
}

struct Court<'a> {
    question: &'a Question<'a>,
    table: &'a Table,
    unchecked: &'a Unchecked,
    placements: Placements,
}

impl Court<'_> {
    fn zone(&self, zone: &ZoneInQuestion) -> Result<Gain, NotJudged> {
        self.gain(
            |number| f64::from(u8::from(number == zone.zone)),
            zone.break_even,
        )
    }

    fn contrasts(&self, positions: &[usize], weight: &impl Fn(u32) -> f64) -> Vec<Contrast> {
        positions
            .iter()
            .filter_map(|&at| self.table.contrast(at, weight).map(|s| s.contrast))
            .collect()
    }

    /// The scatter of the placebos of one weighting; of each zone for itself where these are too few.
    fn scatter(
        &self,
        weight: &impl Fn(u32) -> f64,
    ) -> Result<(Scatter, Vec<f64>, bool), NotJudged> {
        let own = self.contrasts(&self.table.placebos, weight);
        if own.len() >= FEWEST_PLACEBOS {
            let scatter = scatter(&own).ok_or(NotJudged::NoPlacebos)?;
            return Ok((scatter, own.iter().map(|c| c.gain).collect(), false));
        }
        let mut all: Vec<Contrast> = Vec::new();
        for zone in self.question.zones {
            let one = |number: u32| f64::from(u8::from(number == zone.zone));
            all.extend(self.contrasts(&self.table.placebos, &one));
        }
        let mut passes = self.table.placebos.len();
        // Those of the whole field hold those of the zones.
        if all.len() < FEWEST_PLACEBOS && self.unchecked.contrasts.len() > all.len() {
            all.clone_from(&self.unchecked.contrasts);
            passes = self.unchecked.passes;
        }
        let mut scatter = scatter(&all).ok_or(NotJudged::NoPlacebos)?;
        // The same passes in several zones are not several passes.
        scatter.degrees_of_freedom = scatter.degrees_of_freedom.min(passes as f64 / 2.0);
        // Other ground may be quieter than this: what its own passes and checks say bounds what is borrowed.
        let checks = self.contrasts(&self.table.checks, weight);
        let known = own.len() as f64 / 2.0 + checks.len().saturating_sub(1) as f64;
        scatter.degrees_of_freedom = scatter.degrees_of_freedom.min(known.max(1.0));
        scatter.sd = scatter.sd.max(spread(&checks));
        Ok((scatter, all.iter().map(|c| c.gain).collect(), true))
    }

    fn gain(
        &self,
        weight: impl Fn(u32) -> f64,
        break_even: Option<f64>,
    ) -> Result<Gain, NotJudged> {
        let named: Vec<(CheckGain, Contrast)> = self
            .question
            .draw
            .checks
            .iter()
            .filter_map(|check| {
                let contrast = self.table.contrast(check.position, &weight)?.contrast;
                let counted = self.table.positions[check.position]
                    .segments
                    .iter()
                    .filter(|segment| weight(segment.zone) > 0.0)
                    .count();
                let gain = CheckGain {
                    check: check.name.clone(),
                    gain: contrast.gain,
                    metres: counted as f64 * SEGMENT,
                };
                Some((gain, contrast))
            })
            .collect();
        if named.len() < 2 {
            return Err(NotJudged::FewChecks { found: named.len() });
        }
        let contrasts: Vec<Contrast> = named.iter().map(|(_, contrast)| *contrast).collect();
        let (scatter, placebos, is_pooled) = self.scatter(&weight)?;
        let few = NotJudged::FewChecks { found: named.len() };
        let estimate = estimate(&contrasts, &scatter).ok_or(few)?;
        let positions: Vec<Option<Shifted>> = (0..self.table.positions.len())
            .map(|at| self.table.contrast(at, &weight))
            .collect();
        let randomisation = randomisation(&positions, &self.placements);
        let gains: Vec<f64> = contrasts.iter().map(|c| c.gain).collect();
        Ok(Gain {
            checks: named.into_iter().map(|(gain, _)| gain).collect(),
            estimate,
            scatter,
            placebos,
            is_pooled,
            least_seen: least_difference(&contrasts, &scatter).unwrap_or(f64::NAN),
            randomisation,
            corrected_p: randomisation.map(|r| r.p),
            paired: paired_t(&gains),
            break_even,
            finding: break_even.map(|gain| finding(estimate.interval, gain)),
            opinion: None,
        })
    }

    /// Each segment weighs what its zone has of the field's area for each segment of its checks, so that the gain is the area-weighted one and a strip
    /// through several zones stays one strip.
    fn whole_field(&self, zones: &[(u32, Result<Gain, NotJudged>)]) -> WholeField {
        let judged: Vec<(u32, f64)> = self
            .question
            .zones
            .iter()
            .zip(zones)
            .filter(|(_, (_, gain))| gain.is_ok())
            .map(|(zone, _)| {
                let checks = self.question.draw.checks.iter();
                let count: usize = checks
                    .map(|check| self.table.count(check.position, zone.zone))
                    .sum();
                (zone.zone, zone.area_m2 / count.max(1) as f64)
            })
            .collect();
        let weight = |number: u32| judged.iter().find(|z| z.0 == number).map_or(0.0, |z| z.1);
        WholeField {
            gain: self.gain(weight, self.mean_break_even(&judged)),
            zones: judged.iter().map(|(zone, _)| *zone).collect(),
        }
    }

    /// Break-even of the judged zones, weighted by area; `None` where one is not known.
    fn mean_break_even(&self, judged: &[(u32, f64)]) -> Option<f64> {
        let (mut area, mut sum) = (0.0, 0.0);
        for zone in self.question.zones {
            if judged.iter().any(|(number, _)| *number == zone.zone) {
                area += zone.area_m2;
                sum += zone.area_m2 * zone.break_even?;
            }
        }
        (area > 0.0).then(|| sum / area)
    }

    fn comparisons(&self, zones: &[(u32, Result<Gain, NotJudged>)]) -> Vec<Comparison> {
        let judged: Vec<u32> = zones
            .iter()
            .filter(|(_, gain)| gain.is_ok())
            .map(|(zone, _)| *zone)
            .collect();
        let mut comparisons = Vec::new();
        let mut p_values = Vec::new();
        for (at, &first) in judged.iter().enumerate() {
            for &second in &judged[at + 1..] {
                let Some(estimate) = self.compared(first, second) else {
                    continue;
                };
                let t = estimate.gain / estimate.standard_error;
                p_values.push(2.0 * student_t_cdf(-t.abs(), estimate.degrees_of_freedom));
                comparisons.push(Comparison {
                    zones: (first, second),
                    estimate,
                    corrected_p: 1.0,
                });
            }
        }
        for (comparison, p) in comparisons.iter_mut().zip(holm(&p_values)) {
            comparison.corrected_p = p;
        }
        comparisons
    }

    /// Differences within the checks that cross both zones, against the same differences of placebos. Weight: half the harmonic mean of the two
    /// numbers of segments, as the variance of a difference of two means goes.
    fn compared(&self, first: u32, second: u32) -> Option<Estimate> {
        let of = |positions: &[usize]| -> Vec<Contrast> {
            positions
                .iter()
                .filter_map(|&at| {
                    let one = |zone: u32| {
                        let is = move |number: u32| f64::from(u8::from(number == zone));
                        self.table.contrast(at, is).map(|s| s.contrast)
                    };
                    let (a, b) = (one(first)?, one(second)?);
                    Some(Contrast {
                        gain: a.gain - b.gain,
                        weight: a.weight * b.weight / (a.weight + b.weight),
                    })
                })
                .collect()
        };
        let checks = of(&self.table.checks);
        let placebos = of(&self.table.placebos);
        if checks.len() < 2 || placebos.len() < FEWEST_PLACEBOS {
            return None;
        }
        estimate(&checks, &scatter(&placebos)?)
    }
}

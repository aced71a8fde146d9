//! Limits that left, came and stayed, and how high each factor stood then and stands now.

use super::factors::{FactorSince, Finding, TwoYears};
use super::season_record::spokesmen;
use crate::diagnosis::{Outcome, ZoneDiagnosis};

/// Share of a zone's ground that a limit must have held for the zone to have had it.
const MOST_OF_THE_GROUND: f64 = 0.5;

/// What became of a limit.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// It limited then and does not now.
    Left,
    /// It limits now and did not then.
    Came,
    /// It limited then and does now.
    Stayed,
    /// It limited in one of the years, and the years' tests are not the same thing.
    NotComparable,
    /// It limited then, and nothing of this year tells of it.
    NotTested,
}

/// One limit then and now.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitSince {
    /// The factor's word.
    pub factor: String,
    /// What became of it.
    pub fate: Fate,
    /// Whether the soil test shows a change; where it does not, the limit crossed its threshold within the error.
    pub is_shown: bool,
    /// Why the years' tests are not the same thing, where they are not.
    pub why: Option<String>,
    /// Whether it limited then.
    pub limited_then: bool,
    /// Share of the ground that it held then.
    pub share_then: f64,
}

/// How high a factor stood and stands: 0 at its need to 1 at the rule's worst value; `None` where it was not judged.
#[derive(Debug, Clone, PartialEq)]
pub struct StaveSince {
    /// The factor's word.
    pub factor: String,
    /// Severity then, by area.
    pub then: Option<f64>,
    /// Severity now.
    pub now: Option<f64>,
}

impl TwoYears<'_> {
    /// Every factor of both years in a zone: how high it stood, and what became of it as a limit.
    pub fn limits(
        &self,
        zone: &ZoneDiagnosis,
        factors: &[FactorSince],
    ) -> (Vec<LimitSince>, Vec<StaveSince>) {
        let now = spokesmen(zone);
        let mut names: Vec<String> = now
            .iter()
            .map(|finding| finding.factor.name().to_owned())
            .collect();
        let under = self.ground.under(zone.zone);
        for (number, _) in &under {
            let earlier = self.run.zone(*number).into_iter();
            for factor in earlier.flat_map(|zone| &zone.factors) {
                if !names.contains(&factor.factor) {
                    names.push(factor.factor.clone());
                }
            }
        }
        let (mut limits, mut staves) = (Vec::new(), Vec::new());
        for name in names {
            let then = self.then(&under, &name);
            let found = now.iter().find(|finding| finding.factor.name() == name);
            let limits_now = found.map(|finding| finding.outcome == Outcome::Limiting);
            let severity = found.map(|finding| {
                if finding.outcome == Outcome::Limiting {
                    finding.severity
                } else {
                    0.0
                }
            });
            let limited = then.map(|then| then.limiting > MOST_OF_THE_GROUND);
            let (fate, why) = self.fate(&name, (limited, limits_now), factors);
            let is_shown = factors
                .iter()
                .filter(|known| known.finding.is_shown())
                .any(|known| known.factors.iter().any(|factor| factor.name() == name));
            limits.extend(fate.map(|fate| LimitSince {
                factor: name.clone(),
                fate,
                is_shown,
                why: why.clone(),
                limited_then: limited == Some(true),
                share_then: then.map_or(0.0, |then| then.limiting),
            }));
            staves.push(StaveSince {
                factor: name,
                then: then.map(|then| then.severity),
                now: severity,
            });
        }
        (limits, staves)
    }

    /// What became of a factor that limited or did not, `None` where it was not judged; with the reason where the years do not compare.
    fn fate(
        &self,
        factor: &str,
        limited: (Option<bool>, Option<bool>),
        factors: &[FactorSince],
    ) -> (Option<Fate>, Option<String>) {
        match limited {
            (Some(true), Some(true)) => (Some(Fate::Stayed), None),
            (Some(true), None) => (Some(Fate::NotTested), None),
            (Some(then), Some(now)) if then != now => {
                let why = self.why_not_compared(factor, factors);
                let fate = if why.is_some() {
                    Fate::NotComparable
                } else if then {
                    Fate::Left
                } else {
                    Fate::Came
                };
                (Some(fate), why)
            }
            _ => (None, None),
        }
    }

    /// Why a factor's years were not compared: another crop has other thresholds, and a test that is not the same tells of no change.
    fn why_not_compared(&self, factor: &str, factors: &[FactorSince]) -> Option<String> {
        let (then, now) = (&self.run.record.crop, &self.settings.crop);
        if then != now {
            return Some(format!("another crop: {then} then, {now} now"));
        }
        let speaks = |known: &&FactorSince| known.factors.iter().any(|own| own.name() == factor);
        match factors.iter().find(speaks).map(|known| &known.finding) {
            Some(Finding::NotComparable(why) | Finding::NotKnown(why)) => Some(why.clone()),
            Some(_) => None,
            None => Some("no test of it stands in both years".to_owned()),
        }
    }

    /// A factor then on some ground, by area; `None` where it was judged on less than half of it.
    fn then(&self, under: &[(u32, f64)], factor: &str) -> Option<Then> {
        let (mut judged, mut limiting, mut severity) = (0.0, 0.0, 0.0);
        for (number, share) in under {
            let mut factors = self.run.zone(*number)?.factors.iter();
            if let Some(found) = factors.find(|known| known.factor == factor) {
                judged += share;
                if found.is_limiting {
                    limiting += share;
                    severity += share * found.severity;
                }
            }
        }
        (judged >= MOST_OF_THE_GROUND).then(|| Then {
            limiting: limiting / judged,
            severity: severity / judged,
        })
    }
}

/// A factor on some ground in the earlier season.
#[derive(Clone, Copy)]
struct Then {
    /// Share of the judged ground on which it limited.
    limiting: f64,
    /// Mean severity.
    severity: f64,
}

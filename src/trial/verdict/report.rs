//! What a harvest says of the strips of a run, set by set.

use super::gain::{Gain, SecondOpinion};
use super::judge::{Elsewhere, Question, ZoneInQuestion, judge};
use super::judged_set::JudgedSet;
use super::off_plan_remarks::off_plan_remarks;
use super::together::{Together, together};
use crate::remark::Remark;
use crate::trial::applied::{AppliedLog, OffPlan, off_plan};
use crate::trial::harvest::{CleanPoint, Cleaned, YieldPoint, clean, standard_moisture};
use crate::trial::layout::Check;
use crate::trial::machines::Machines;
use crate::trial::strip_plan::{StripPlan, StripSet};

/// A placebo mean this many standard errors from 0 means that the passes alternate.
const ALTERNATING: f64 = 3.0;

/// Everything that a harvest says.
#[derive(Debug)]
pub struct HarvestVerdict {
    /// Set by set, in the order of the plan.
    pub sets: Vec<JudgedSet>,
    /// What cleaning made of the records.
    pub cleaned: Cleaned,
    /// Zones in which two products were left out each alone and both together.
    pub together: Vec<Together>,
    /// What the logs of what was applied say, set by set; empty without a log.
    pub applied: Vec<OffPlan>,
    /// Moisture at which the yields are compared, percent.
    pub standard_moisture: f64,
    /// What there is to say about it.
    pub remarks: Vec<Remark>,
}

/// Marks each record with the treatment of the strip that it stands on: 0 for none, else 1 and the position of the set.
pub fn mark_treatments(points: &mut [YieldPoint], strips: &StripPlan) {
    for point in points {
        let on = strips
            .sets
            .iter()
            .position(|set| is_on_strip(set, point.along, point.across));
        point.treatment = on.map_or(0, |at| (at + 1).min(usize::from(u8::MAX)) as u8);
    }
}

fn is_on_strip(set: &StripSet, along: f64, across: f64) -> bool {
    set.draw.checks.iter().any(|check| {
        (across - set.machines.middle(check.position)).abs() <= set.machines.half_width()
            && check
                .pieces
                .iter()
                .any(|piece| along >= piece.from_m && along <= piece.to_m)
    })
}

/// Cleans a harvest and judges every set. Where a log says another rate than planned, nothing is judged.
#[must_use]
pub fn verdict_of(
    points: &[YieldPoint],
    strips: &StripPlan,
    crop: &str,
    logs: &[AppliedLog],
) -> HarvestVerdict {
    let standard = standard_moisture(crop);
    let mut cleaned = clean(points, standard.unwrap_or(0.0), true);
    let (is_off, applied) = off_plan(points, strips, logs);
    cleaned.leave_out_off_plan(points, &is_off);
    let mut remarks = off_plan_remarks(&applied, strips);
    if standard.is_none() {
        let what = format!(
            "the moisture at which {crop} is sold is not known; yields are compared as dry matter"
        );
        remarks.push(Remark::info("no-trade-moisture", what));
    }
    if cleaned.lag.records != 0 {
        let records = cleaned.lag.records;
        let side = if records > 0 { "behind" } else { "ahead of" };
        let what = format!(
            "the flow ran {} record(s) {side} the place; it was shifted by that much (the shift that makes neighbouring passes most alike)",
            records.abs()
        );
        remarks.push(
            Remark::assumption("lag-taken-out", what)
                .help("set the delay of the yield monitor, so that the file needs no shift"),
        );
    }
    let sets: Vec<JudgedSet> = strips
        .sets
        .iter()
        .map(|set| judged(set, strips, &cleaned, &mut remarks))
        .collect();
    HarvestVerdict {
        together: together(&sets),
        sets,
        cleaned,
        applied,
        standard_moisture: standard.unwrap_or(0.0),
        remarks,
    }
}

fn judged(
    set: &StripSet,
    strips: &StripPlan,
    cleaned: &Cleaned,
    remarks: &mut Vec<Remark>,
) -> JudgedSet {
    let zones: Vec<ZoneInQuestion> = set
        .zones
        .iter()
        .filter(|zone| zone.checks > 0)
        .map(|zone| ZoneInQuestion {
            zone: zone.zone,
            area_m2: zone.area_m2,
            break_even: zone.pays_from,
        })
        .collect();
    let all: Vec<&Check> = strips
        .sets
        .iter()
        .flat_map(|set| &set.draw.checks)
        .collect();
    let positions: Vec<usize> = all.iter().map(|check| check.position).collect();
    let others = others(set, &all, &zones);
    let question = Question {
        machines: &set.machines,
        draw: &set.draw,
        zones: &zones,
        others: &others,
        elsewhere: Elsewhere {
            positions: &set.elsewhere,
            checks: &positions,
        },
    };
    let verdict = judge(&signed(set, cleaned), &question).with_second_opinion();
    for (zone, gain) in &verdict.zones {
        if let Ok(gain) = gain {
            remarks.extend(remarks_on(*zone, gain));
        }
    }
    JudgedSet {
        points_on_strips: on_strips(&cleaned.points, set),
        set: set.clone(),
        verdict,
    }
}

/// The clean points; what a strip gets more is its own gain, so there the sign of every difference turns.
fn signed(set: &StripSet, cleaned: &Cleaned) -> Vec<CleanPoint> {
    let sign = if set.gets_more { -1.0 } else { 1.0 };
    let turned = |point: &CleanPoint| CleanPoint {
        yields: sign * point.yields,
        ..*point
    };
    cleaned.points.iter().map(turned).collect()
}

/// Positions of checks of other sets that lie in these zones too.
fn others(set: &StripSet, all: &[&Check], zones: &[ZoneInQuestion]) -> Vec<usize> {
    let is_own = |check: &Check| {
        set.draw
            .checks
            .iter()
            .any(|own| own.position == check.position)
    };
    let is_in = |check: &Check| {
        let mut pieces = check.pieces.iter();
        pieces.any(|piece| zones.iter().any(|zone| zone.zone == piece.zone))
    };
    all.iter()
        .filter(|check| !is_own(check) && is_in(check))
        .map(|check| check.position)
        .collect()
}

fn remarks_on(zone: u32, gain: &Gain) -> Vec<Remark> {
    let mut remarks = Vec::new();
    if gain.scatter.mean_t.abs() > ALTERNATING {
        let what = format!(
            "zone {zone}: passes without a strip differ from their neighbours all the same way; wheel lanes or a worn row unit may lie behind it"
        );
        remarks.push(Remark::warning("passes-alternate", what));
    }
    let (low, high) = gain.estimate.interval;
    let disagrees = |opinion: &SecondOpinion| opinion.interval.0 > high || opinion.interval.1 < low;
    if gain.opinion.as_ref().is_some_and(disagrees) {
        let what = format!(
            "zone {zone}: the second opinion (least squares with a spatial error) disagrees; trust neither alone"
        );
        remarks.push(Remark::warning("opinions-disagree", what));
    }
    remarks
}

fn on_strips(points: &[CleanPoint], set: &StripSet) -> usize {
    points
        .iter()
        .filter(|point| is_on_strip(set, point.along, point.across))
        .count()
}

/// Width of a check, metres.
#[must_use]
pub fn check_width(machines: &Machines) -> f64 {
    2.0 * machines.half_width()
}

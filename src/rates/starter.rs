//! The starter's rate: nothing where a gate closes it or where nothing that it answers is measured short; else by how short that is, inside
//! every cap.

use super::OwnWord;
use super::blend::Blend;
use super::caps::{self, CapKind};
use super::material::Material;
use super::own_evidence::{OwnEvidence, OwnVerdict, own_evidence};
use super::pending_rate::{PendingRate, number};
use super::prescription::RateCap;
use super::pump::{speed, speed_of};
use super::rounding::{down_to_step, up_to_step};
use super::seed_safe::seed_safe;
use super::zone_context::ZoneContext;
use crate::diagnosis::Finding;
use crate::rulebook::{Factor, Gate, ProductName, Rulebook};
use crate::units::Metering;
use crate::units::{Density, MassPerArea, Speed};

/// The starter's pending rate in a zone, with the zone's cautions.
pub(super) fn pending(case: ZoneContext<'_>, blend: &Blend<'_>) -> (PendingRate, Vec<String>) {
    let mut pending = PendingRate::nothing(&ProductName::Starter, Metering::Liquid);
    let mut cautions = Vec::new();
    if !case.field.crop.takes_starter {
        pending.note = Some(format!("no furrow is opened for {}", case.field.crop.label));
        return (pending, cautions);
    }
    if let Some(season) = earlier_salt(case, blend) {
        pending.gate = Some(Gate::ClosedBy(Factor::Salt));
        pending.hold_back(format!(
            "held back: the run of {season} found salt on this ground, and no test of this year says that it is gone; have the salt tested here"
        ));
        return (pending, cautions);
    }
    let closing = case.closed_by(Material::Starter(blend));
    let answered = answered(case, blend);
    let gate = gate(case, blend, closing, answered);
    pending.gate = Some(gate);
    let own = own(case, blend, gate).filter(|_| !is_salty(case, blend));
    let verdict = own
        .as_ref()
        .map_or(OwnVerdict::LeavesItOpen, |own| own.verdict);
    pending.own = own.map(|own| OwnWord {
        weighed: own.weighed,
        opens: verdict == OwnVerdict::Pays && !matches!(gate, Gate::Open | Gate::NotKnown),
        closes: verdict == OwnVerdict::DoesNotPay && gate == Gate::Open,
        line: own.line,
    });
    let line = pending.own.as_ref().map(|own| own.line.clone());
    if let Some((why, is_worth_a_strip)) = held(case, blend, (gate, closing, answered), verdict) {
        let why = match &line {
            Some(line) => format!("{why}; {line}"),
            None => why,
        };
        hold_back(case, blend, &mut pending, why, is_worth_a_strip);
        return (pending, cautions);
    }
    pending.steps.extend(line);
    cautions.extend(seed_safe(case).ok().and_then(|safe| safe.caution));
    if case.limit(Factor::Air).is_some() {
        cautions.push(weight_caution(case, blend));
    }
    pending.needed = match answered.filter(|_| gate == Gate::Open) {
        Some(finding) => wanted(case, blend, finding, &mut pending.steps),
        None => opened(case, blend, gate, &mut pending.steps),
    };
    let rate = limited(case, blend, &mut pending);
    settle(case, blend, rate, &mut pending);
    if pending.amount > 0.0 && has_unknown_gate(case) {
        cautions.push(
            "C:N was not tested here, so the starter was not held back for it: it may do nothing until carbon is fixed"
                .to_owned(),
        );
    }
    (pending, cautions)
}

/// What decides whether the starter goes out here.
fn gate(
    case: ZoneContext<'_>,
    blend: &Blend<'_>,
    closing: Option<&Finding>,
    answered: Option<&Finding>,
) -> Gate {
    match (closing, answered) {
        (Some(closing), _) => Gate::ClosedBy(closing.factor),
        (None, Some(_)) => Gate::Open,
        (None, None) if unknown(case, blend).is_empty() => Gate::NothingShort,
        (None, None) => Gate::NotKnown,
    }
}

/// Whether salt closes it, which no trial of yields opens.
fn is_salty(case: ZoneContext<'_>, blend: &Blend<'_>) -> bool {
    let mut findings = case.diagnosis.findings.iter();
    Material::Starter(blend).carries_salt()
        && findings.any(|finding| finding.closes_product(Rulebook::SALT_CARRYING))
}

/// The season in which an earlier run found salt here, where nothing tells whether it is still there.
fn earlier_salt(case: ZoneContext<'_>, blend: &Blend<'_>) -> Option<u16> {
    case.earlier_salt()
        .filter(|_| Material::Starter(blend).carries_salt())
}

/// What the farm's own trials say of the starter at its usual rate under a gate. Where salt is not known they open nothing: a yield tells
/// nothing of the seed on salt ground that was not in the trial.
fn own(case: ZoneContext<'_>, blend: &Blend<'_>, gate: Gate) -> Option<OwnEvidence> {
    let usual = blend.recipe.usual.litres_per_hectare();
    let cost = case.field.cost_of(&ProductName::Starter, usual);
    let mut own = own_evidence(case, &ProductName::Starter, gate, cost)?;
    if own.verdict == OwnVerdict::Pays && gate != Gate::Open && !case.knows_salt() {
        own.verdict = OwnVerdict::LeavesItOpen;
        own.line.push_str(
            "; but salt is not known here, and own trials open nothing until it is tested",
        );
    }
    Some(own)
}

/// Why the starter is held back, and whether a check strip is worth it; `None` where it goes out. Own trials open a gate that a finding
/// closes, or where nothing is short; they never open what is not known.
fn held(
    case: ZoneContext<'_>,
    blend: &Blend<'_>,
    (gate, closing, answered): (Gate, Option<&Finding>, Option<&Finding>),
    verdict: OwnVerdict,
) -> Option<(String, bool)> {
    let is_opened = verdict == OwnVerdict::Pays && gate != Gate::NotKnown;
    match (closing, answered) {
        _ if is_opened => None,
        (Some(closing), _) => {
            // Nobody is told to try salt on salty ground.
            let is_worth_a_strip = closing.closes_product(&ProductName::Starter);
            let why = format!("held back, because {}", closing.sentence);
            Some((why, is_worth_a_strip))
        }
        (None, None) => Some((nothing_short(case, blend), true)),
        (None, Some(_)) if verdict == OwnVerdict::DoesNotPay => {
            let why = "held back by the farm's own trials, though it is called for".to_owned();
            Some((why, true))
        }
        (None, Some(_)) => None,
    }
}

/// The usual rate, where own trials open the gate.
fn opened(case: ZoneContext<'_>, blend: &Blend<'_>, gate: Gate, steps: &mut Vec<String>) -> f64 {
    let usual = blend.recipe.usual.litres_per_hectare();
    steps.push(format!(
        "the usual {}: the gate here ({gate}) is opened by the farm's own trials",
        case.show(usual, Metering::Liquid)
    ));
    usual
}

/// Rate 0, with a check strip where one may show something.
fn hold_back(
    case: ZoneContext<'_>,
    blend: &Blend<'_>,
    pending: &mut PendingRate,
    why: String,
    is_worth_a_strip: bool,
) {
    pending.strip = caps::strip_rate(case, blend).filter(|_| is_worth_a_strip);
    let strip = pending.strip.map(|rate| case.show(rate, Metering::Liquid));
    pending.hold_back(RateCap::with_strip(&why, strip.as_deref()));
}

/// The most severe of the findings that the starter answers.
fn answered<'a>(case: ZoneContext<'a>, blend: &Blend<'_>) -> Option<&'a Finding> {
    blend
        .recipe
        .answers
        .iter()
        .filter_map(|factor| case.limit(*factor))
        .max_by(|a, b| {
            a.severity
                .total_cmp(&b.severity)
                .then_with(|| b.factor.cmp(&a.factor))
        })
}

/// Why no starter goes out where nothing that it answers is measured short.
fn nothing_short(case: ZoneContext<'_>, blend: &Blend<'_>) -> String {
    let unknown = unknown(case, blend);
    if unknown.is_empty() {
        "nothing that the starter answers is measured short here".to_owned()
    } else {
        format!(
            "{} is not known here, and no starter goes out on an unknown",
            unknown.join(" and ")
        )
    }
}

/// The factors that the starter answers and that are not known here.
fn unknown(case: ZoneContext<'_>, blend: &Blend<'_>) -> Vec<&'static str> {
    let is_unknown = |factor: &&Factor| {
        case.diagnosis
            .not_known
            .iter()
            .any(|n| n.factor == **factor)
    };
    let answers = blend.recipe.answers.iter();
    answers
        .filter(is_unknown)
        .map(|factor| factor.name())
        .collect()
}

/// The usual rate, and more of it the shorter it is of what the starter answers.
fn wanted(
    case: ZoneContext<'_>,
    blend: &Blend<'_>,
    finding: &Finding,
    steps: &mut Vec<String>,
) -> f64 {
    let (usual, most) = (
        blend.recipe.usual.litres_per_hectare(),
        blend.recipe.most.litres_per_hectare(),
    );
    let rate = usual + (most - usual) * finding.severity;
    let show = |rate| case.show(rate, Metering::Liquid);
    steps.push(format!(
        "{} + ({} - {}) x severity {} of {} = {}",
        show(usual),
        show(most),
        show(usual),
        number(finding.severity),
        finding.factor.name(),
        show(rate)
    ));
    rate
}

/// The rate under all caps, each that cuts it told.
fn limited(case: ZoneContext<'_>, blend: &Blend<'_>, pending: &mut PendingRate) -> f64 {
    let mut rate = pending.needed;
    for cap in caps::caps(case, Material::Starter(blend), &[]) {
        if rate > cap.most {
            let most = case.show(cap.most, Metering::Liquid);
            pending.steps.push(format!("at most {most}: {}", cap.why));
            rate = cap.most;
        }
    }
    rate
}

/// Rounds the rate into the window of recipe and pump, or says why nothing fits.
fn settle(case: ZoneContext<'_>, blend: &Blend<'_>, rate: f64, pending: &mut PendingRate) {
    let show = |rate| case.show(rate, Metering::Liquid);
    if rate <= 0.0 {
        return pending.hold_back(format!("no starter: {}", why_none(case, blend)));
    }
    let floors = caps::floors(case, Material::Starter(blend));
    let under = floors
        .iter()
        .filter(|floor| rate < floor.least * (1.0 - 1e-9))
        .max_by(|a, b| a.least.total_cmp(&b.least));
    if let Some(floor) = under {
        let fits = speed_that_fits(case, blend, rate);
        return pending.hold_back(format!(
            "{}, but {} is the most here{fits}",
            floor.why,
            show(rate)
        ));
    }
    let (step, least) = (
        case.field.steps.liquid,
        floors.iter().map(|floor| floor.least).fold(0.0, f64::max),
    );
    let down = down_to_step(rate, step);
    let settled = if down >= least * (1.0 - 1e-9) {
        down
    } else {
        up_to_step(least, step)
    };
    if settled > rate * (1.0 + 1e-9) {
        return pending.hold_back(format!(
            "no step of {} lies between {} and {}",
            show(step),
            show(least),
            show(rate)
        ));
    }
    if (settled - rate).abs() > 1e-9 * rate {
        pending.steps.push(format!(
            "rounded down to the step of {}: {}",
            show(step),
            show(settled)
        ));
    }
    pending.amount = settled;
}

/// Why a cap leaves nothing.
fn why_none(case: ZoneContext<'_>, blend: &Blend<'_>) -> String {
    let caps = caps::caps(case, Material::Starter(blend), &[]);
    match caps::lowest(&caps) {
        Some(cap) if cap.kind == CapKind::SeedSalt => format!(
            "the seed of {} bears no nitrogen and no potash beside it, and the recipe brings some: place it away from the seed, or use a recipe without",
            case.field.crop.label
        ),
        Some(cap) => cap.why.clone(),
        None => "nothing is left of it".to_owned(),
    }
}

/// The speed at which the pump meets what recipe and caps allow, where it is the pump that does not fit.
fn speed_that_fits(case: ZoneContext<'_>, blend: &Blend<'_>, rate: f64) -> String {
    let (machine, pump) = (&case.field.settings.machine, case.field.pump);
    let least = blend.recipe.least.litres_per_hectare();
    let fit = if pump.least > rate && rate >= least {
        speed_of(rate, machine.flow_per_row.0, machine.row_spacing)
    } else if pump.most < least {
        speed_of(least, machine.flow_per_row.1, machine.row_spacing)
    } else {
        None
    };
    let words = |fit: Speed| {
        let units = case.field.settings.units;
        let (now, fit) = (speed(machine.speed, units), speed(fit, units));
        match fit == now {
            true => format!("; a hair slower than {now} it fits"),
            false => format!("; at {fit} it fits"),
        }
    };
    fit.map_or_else(String::new, words)
}

/// What lies beside the seed at the rate, against what the seed bears.
pub(super) fn tell_what_it_supplies(
    case: ZoneContext<'_>,
    blend: &Blend<'_>,
    pending: &mut PendingRate,
) {
    let Some(safe) = seed_safe(case).ok().filter(|_| pending.amount > 0.0) else {
        return;
    };
    let units = case.field.settings.units;
    let show = |kilograms: f64| {
        MassPerArea::from_kilograms_per_hectare(pending.amount * kilograms).show(units, 2)
    };
    let limit = safe.limit.nitrogen_plus_potash.show(units, 1);
    let beside = format!(
        "nitrogen plus potash beside the seed: {}, safe up to {limit} on {} ground ({})",
        show(blend.seed_salt()),
        safe.ground,
        safe.limit.source
    );
    pending.steps.push(beside);
}

fn weight_caution(case: ZoneContext<'_>, blend: &Blend<'_>) -> String {
    let units = case.field.settings.units;
    let tank = case.field.settings.machine.tank;
    let mass = crate::soil::weight(tank, Density::from_kilograms_per_litre(blend.density));
    format!(
        "the ground is tight: a full tank of {} weighs {}; fill less here and keep off while it is wet",
        tank.show(units, 0),
        mass.show(units, 0)
    )
}

/// Whether a gate of the starter could not be judged in a zone.
pub(super) fn has_unknown_gate(case: ZoneContext<'_>) -> bool {
    case.diagnosis.findings.iter().any(|finding| {
        finding.not_known.is_some() && finding.blocks.iter().any(|b| *b == *ProductName::Starter)
    })
}

/// Whether salt was measured in a zone and the reading does not tell, for want of its method or its depth.
pub(super) fn has_open_salt(case: ZoneContext<'_>) -> bool {
    case.diagnosis.findings.iter().any(|finding| {
        finding.factor == Factor::Salt && finding.not_known.is_some() && finding.layer.is_some()
    })
}

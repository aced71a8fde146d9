//! The last gate: after overrides and rounding, every rate of every zone is compared with every cap, once more and in one place.
//!
//! A rate past a cap is cut to the step below it, a rate under a floor is not applied, and both are said; a consultant who writes
//! `force = true` passes, with a warning. Notes, extremes, totals, costs, cautions and files are made from what comes out here.

use super::caps::{self, Cap, CapKind, Floor};
use super::material::Material;
use super::overrides::Word;
use super::pending_rate::PendingRate;
use super::prescription::RateCap;
use super::rounding::down_to_step;
use super::zone_context::ZoneContext;
use crate::remark::Remark;

/// A share by which a rate may lie past a cap: the rounding of decimals, not of soil.
const HAIR: f64 = 1e-9;

/// Holds all rates of a zone against their caps: first the products that undo others, then those that they undo, then the rest, so that
/// what is refused beside another product takes nothing from a cap that several share.
pub(super) fn pass(
    case: ZoneContext<'_>,
    pending: &mut [PendingRate],
    words: &[&Word<'_>],
) -> Vec<Remark> {
    let mut remarks = Vec::new();
    let turns: Vec<Turn> = pending.iter().map(|rate| Turn::of(case, rate)).collect();
    for turn in [Turn::UndoesOthers, Turn::IsUndone, Turn::Other] {
        for at in 0..pending.len() {
            if turns.get(at) != Some(&turn) {
                continue;
            }
            let product = &pending[at].product;
            if let Some(material) = case.field.material(product) {
                let caps = caps::caps(case, material, pending);
                let rate = &mut pending[at];
                let word = words
                    .iter()
                    .copied()
                    .find(|word| word.product == rate.product);
                remarks.extend(settle(case, material, rate, &caps, word));
            }
        }
    }
    remarks
}

/// When a product's rate is settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Turn {
    UndoesOthers,
    IsUndone,
    Other,
}

impl Turn {
    fn of(case: ZoneContext<'_>, rate: &PendingRate) -> Self {
        let rulebook = case.field.rulebook;
        let mut products = rulebook.products.iter();
        let own = rulebook.product(&rate.product);
        if own.is_some_and(|product| product.not_with.is_some()) {
            Self::IsUndone
        } else if products.any(|other| {
            other.not_with.as_ref().is_some_and(|not_with| {
                not_with
                    .products
                    .iter()
                    .any(|name| rate.product == name.as_str())
            })
        }) {
            Self::UndoesOthers
        } else {
            Self::Other
        }
    }
}

/// One rate inside its caps.
fn settle(
    case: ZoneContext<'_>,
    material: Material<'_>,
    rate: &mut PendingRate,
    caps: &[Cap],
    word: Option<&Word<'_>>,
) -> Option<Remark> {
    let cap = caps::lowest(caps);
    rate.cap = cap.map(|cap| (cap.most, cap.why.clone()));
    let floors = caps::floors(case, material);
    let highest = floors.iter().max_by(|a, b| a.least.total_cmp(&b.least));
    rate.floor = highest.map(|floor| (floor.least, floor.why.clone()));
    let is_forced = word.is_some_and(|word| word.said.force);
    if !is_forced {
        let step = case.field.steps.of_metering(rate.metering);
        let whole = whole_steps(rate.amount, step);
        if let Some(word) = word.filter(|_| whole <= 0.0 && rate.amount > 0.0) {
            return Some(under(case, rate, &one_step(case, step, rate), Some(word)));
        }
        rate.amount = whole;
    }
    if rate.amount <= 0.0 {
        return None;
    }
    if let Some(cap) = cap.filter(|cap| rate.amount > cap.most * (1.0 + HAIR)) {
        if let Some(word) = word.filter(|word| word.said.force) {
            return Some(forced_over(case, rate, caps, word));
        }
        let asked = case.show(rate.amount, rate.metering);
        let cut = over(case, rate, cap, word);
        // What the cap leaves may be less than can be metered or spread.
        let left = highest.filter(|floor| {
            !is_forced && rate.amount > 0.0 && rate.amount < floor.least * (1.0 - HAIR)
        });
        return Some(left.map_or(cut, |floor| between(case, rate, (&asked, cap, floor), word)));
    }
    let under = highest.filter(|floor| rate.amount < floor.least * (1.0 - HAIR));
    under.map(|floor| self::under(case, rate, floor, word))
}

/// The least that the controller can put out: one step.
fn one_step(case: ZoneContext<'_>, step: f64, rate: &PendingRate) -> Floor {
    let shown = case.show(step, rate.metering);
    Floor {
        least: step,
        why: format!("the controller goes by steps of {shown}"),
    }
}

/// The rate itself where it is whole steps already, else the step below it.
fn whole_steps(rate: f64, step: f64) -> f64 {
    let down = down_to_step(rate, step);
    if (rate - down).abs() <= HAIR * rate {
        rate
    } else {
        down
    }
}

/// A rate that the consultant forces past caps: let through with a warning that names each of them, the seed's first.
fn forced_over(
    case: ZoneContext<'_>,
    rate: &mut PendingRate,
    caps: &[Cap],
    word: &Word<'_>,
) -> Remark {
    let mut passed: Vec<&Cap> = caps
        .iter()
        .filter(|cap| rate.amount > cap.most * (1.0 + HAIR))
        .collect();
    passed.sort_by(|a, b| {
        let is_of_seed = |cap: &Cap| cap.kind == CapKind::SeedSalt;
        is_of_seed(b)
            .cmp(&is_of_seed(a))
            .then(a.most.total_cmp(&b.most))
    });
    let past: Vec<String> = passed
        .iter()
        .map(|cap| format!("{}: {}", case.show(cap.most, rate.metering), cap.why))
        .collect();
    rate.steps
        .extend(past.iter().map(|past| format!("forced past {past}")));
    let asked = case.show(rate.amount, rate.metering);
    let past = past.join("; and past ");
    rate.note = Some(format!("forced to {asked}, past the safe {past}"));
    let (product, zone) = (rate.product.words(), case.diagnosis.number);
    let what = format!("{product} in zone {zone} is forced to {asked}, past the safe {past}");
    word.remark("override-forced", what)
        .help("take force = true out to stay inside the cap")
}

/// A rate that a cap cuts below the least that can be metered or spread: none goes out, and no other rate would.
fn between(
    case: ZoneContext<'_>,
    rate: &mut PendingRate,
    (asked, cap, floor): (&str, &Cap, &Floor),
    word: Option<&Word<'_>>,
) -> Remark {
    let why = format!(
        "{} is not applied: at most {} is safe ({}), in whole steps of the controller that leaves {}, and {}",
        who(word, asked),
        case.show(cap.most, rate.metering),
        cap.why,
        case.show(rate.amount, rate.metering),
        floor.why
    );
    rate.cut = word.map(|word| {
        (
            word.rate,
            format!("not applied: {}; {}", cap.why, floor.why),
        )
    });
    let what = format!(
        "{} in zone {}: {why}",
        rate.product.words(),
        case.diagnosis.number
    );
    rate.hold_back(why);
    match word {
        Some(word) => word
            .remark("override-cut", what)
            .help("no rate fits between the two: change the controller's step, or write force = true if you answer for it"),
        None => Remark::warning("rate-cut", what),
    }
}

/// A rate over a cap: cut.
fn over(
    case: ZoneContext<'_>,
    rate: &mut PendingRate,
    cap: &Cap,
    word: Option<&Word<'_>>,
) -> Remark {
    let asked = case.show(rate.amount, rate.metering);
    let (product, zone) = (rate.product.words(), case.diagnosis.number);
    let step = case.field.steps.of_metering(rate.metering);
    let wanted = rate.amount;
    rate.amount = down_to_step(cap.most, step);
    rate.seasons_after = 0;
    let cut = case.show(rate.amount, rate.metering);
    rate.steps.push(format!("cut to {cut}: {}", cap.why));
    rate.note = Some(RateCap::cut_words(&who(word, &asked), &cut, &cap.why));
    rate.cut = word.map(|word| (word.rate, format!("cut to {cut}: {}", cap.why)));
    let wanted = case.show(wanted, rate.metering);
    let (what, help) = if cap.allows_none() {
        (
            format!(
                "{product} in zone {zone}: {wanted} does not go out: {}",
                cap.why
            ),
            "leave the rate out, or write force = true if you answer for it",
        )
    } else {
        (
            format!(
                "{product} in zone {zone}: {wanted} is more than is safe and is cut to {cut}: {}",
                cap.why
            ),
            "lower the rate, or write force = true if you answer for it",
        )
    };
    match word {
        Some(word) => word.remark("override-cut", what).help(help),
        None => Remark::warning("rate-cut", what),
    }
}

/// A rate under a floor: not applied, or let through with a warning where the consultant forces it.
fn under(
    case: ZoneContext<'_>,
    rate: &mut PendingRate,
    floor: &Floor,
    word: Option<&Word<'_>>,
) -> Remark {
    let asked = case.show(rate.amount, rate.metering);
    let (product, zone) = (rate.product.words(), case.diagnosis.number);
    if let Some(word) = word.filter(|word| word.said.force) {
        rate.note = Some(format!("forced to {asked}, though {}", floor.why));
        let what = format!(
            "{product} in zone {zone} is forced to {asked}, though {}",
            floor.why
        );
        return word
            .remark("override-forced", what)
            .help("take force = true out to leave it away");
    }
    rate.hold_back(RateCap::refused_words(&who(word, &asked), &floor.why));
    rate.cut = word.map(|word| (word.rate, format!("not applied: {}", floor.why)));
    let what = format!(
        "{product} in zone {zone}: {asked} is not applied: {}",
        floor.why
    );
    match word {
        Some(word) => word
            .remark("override-cut", what)
            .help("raise the rate, or write force = true if you answer for it"),
        None => Remark::warning("rate-cut", what),
    }
}

fn who(word: Option<&Word<'_>>, asked: &str) -> String {
    if word.is_some() {
        format!("the consultant's {asked}")
    } else {
        asked.to_owned()
    }
}

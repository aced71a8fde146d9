//! What the farm's own strips say of a product under the gate that holds here: told with its numbers, and strong enough to open or close
//! the gate only where the whole interval lies on one side of what pays.

use super::OwnWord;
use super::pending_rate::PendingRate;
use super::zone_context::ZoneContext;
use crate::analyte::show_yield;
use crate::rulebook::{Gate, ProductName, Weighed};

/// What own trials say.
#[derive(Debug, Clone)]
pub(super) struct OwnEvidence {
    pub weighed: Weighed,
    pub verdict: OwnVerdict,
    /// One line with the numbers.
    pub line: String,
}

/// What follows from own trials.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum OwnVerdict {
    /// The interval lies above what pays: a gate opens.
    Pays,
    /// The interval lies below what pays: a gate closes.
    DoesNotPay,
    /// Neither, or too few trials to decide.
    LeavesItOpen,
}

/// The own trials of a product under a gate; `cost` is what the rate costs here, United States dollars per hectare.
pub(super) fn own_evidence(
    case: ZoneContext<'_>,
    product: &ProductName,
    gate: Gate,
    cost: f64,
) -> Option<OwnEvidence> {
    let rulebook = case.field.rulebook;
    let settings = case.field.settings;
    let trial = rulebook.own_trial(product, gate, &settings.crop)?;
    let weighed = trial.weigh(&rulebook.numbers);
    let price = settings.crop_price.filter(|price| *price > 0.0);
    let pays_from = price
        .filter(|_| cost > 0.0)
        .map(|price| cost / price)
        .or(trial.pays_from);
    let needed = rulebook.numbers.own_trials_to_decide;
    let is_enough = weighed.trials as f64 >= needed;
    let verdict = match pays_from {
        Some(pays) if is_enough && weighed.interval.0 > pays => OwnVerdict::Pays,
        Some(pays) if is_enough && weighed.interval.1 < pays => OwnVerdict::DoesNotPay,
        _ => OwnVerdict::LeavesItOpen,
    };
    let show = |kilograms: f64| show_yield(kilograms, &settings.crop, settings.units);
    let number = |kilograms: f64| {
        let text = show(kilograms);
        text.split(' ').next().unwrap_or_default().to_owned()
    };
    let sign = if weighed.gain >= 0.0 { "+" } else { "" };
    let trials = if weighed.trials == 1 {
        "trial"
    } else {
        "trials"
    };
    let pays = pays_from.map_or_else(
        || "what pays is not known without the crop's price".to_owned(),
        |pays| format!("pays from {}", show(pays)),
    );
    let follows = match verdict {
        OwnVerdict::Pays => "own trials say that it pays",
        OwnVerdict::DoesNotPay => "own trials say that it does not pay",
        OwnVerdict::LeavesItOpen if !is_enough => "too few trials to decide by",
        OwnVerdict::LeavesItOpen => "own trials do not decide it",
    };
    let line = format!(
        "on this farm, {}: {sign}{} ({} to {}), {} {trials}, {} strips; {pays}: {follows}",
        under(gate),
        show(weighed.gain),
        number(weighed.interval.0),
        number(weighed.interval.1),
        weighed.trials,
        weighed.strips,
    );
    Some(OwnEvidence {
        weighed,
        verdict,
        line,
    })
}

/// Tells what own trials say of a product that goes out here. Those that do not pay hold it back only where its fixes work for one season:
/// a harvest does not judge what works for years.
pub(super) fn tell_own_trials(case: ZoneContext<'_>, pending: &mut PendingRate) {
    if pending.amount <= 0.0 {
        return;
    }
    let cost = case.field.cost_of(&pending.product, pending.amount);
    let Some(own) = own_evidence(case, &pending.product, Gate::Open, cost) else {
        return;
    };
    let fixes = case.field.rulebook.fixes.iter();
    let mut of_product = fixes.filter(|fix| fix.product.as_ref() == Some(&pending.product));
    let lasts = of_product.any(|fix| fix.years > 1.0);
    let closes = own.verdict == OwnVerdict::DoesNotPay && !lasts;
    let end = if own.verdict == OwnVerdict::DoesNotPay && lasts {
        "; it works for years, which no single harvest judges"
    } else {
        ""
    };
    let line = format!("{}{end}", own.line);
    pending.gate = Some(Gate::Open);
    pending.own = Some(OwnWord {
        weighed: own.weighed,
        line: line.clone(),
        opens: false,
        closes,
    });
    if closes {
        pending.hold_back(format!(
            "held back by the farm's own trials, though it is called for; {line}"
        ));
    } else {
        pending.steps.push(line);
    }
}

/// A gate as the circumstances of a trial.
fn under(gate: Gate) -> String {
    match gate {
        Gate::Open => "where it was called for".to_owned(),
        Gate::ClosedBy(factor) => format!("tried where {} holds it back", factor.name()),
        Gate::NothingShort => "tried where nothing was short".to_owned(),
        Gate::NotKnown => "tried where it was not known whether anything was short".to_owned(),
    }
}

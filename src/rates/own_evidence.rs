//! What the farm's own strips say of a product under the gate that holds here: told with its numbers, and strong enough to open or close
//! the gate only where the whole interval lies on one side of what pays.

use super::OwnWord;
use super::pending_rate::PendingRate;
use super::zone_context::ZoneContext;
use crate::analyte::show_yield;
use crate::plan::Settings;
use crate::rulebook::{Gate, OwnTrial, ProductName, Weighed};

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
    let disagrees = trial.disagrees(&rulebook.numbers);
    let verdict = match pays_from {
        Some(pays) if is_enough && !disagrees && weighed.interval.0 > pays => OwnVerdict::Pays,
        Some(pays) if is_enough && !disagrees && weighed.interval.1 < pays => {
            OwnVerdict::DoesNotPay
        }
        _ => OwnVerdict::LeavesItOpen,
    };
    let words = Words { settings, gate };
    let line = if disagrees {
        words.of_disagreement(trial)
    } else {
        words.of_verdict(&weighed, pays_from, (verdict, is_enough))
    };
    Some(OwnEvidence {
        weighed,
        verdict,
        line,
    })
}

/// The lines on own trials.
struct Words<'a> {
    settings: &'a Settings,
    gate: Gate,
}

impl Words<'_> {
    fn show(&self, kilograms: f64) -> String {
        show_yield(kilograms, &self.settings.crop, self.settings.units)
    }

    fn signed(&self, kilograms: f64) -> String {
        let sign = if kilograms >= 0.0 { "+" } else { "" };
        format!("{sign}{}", self.show(kilograms))
    }

    fn number(&self, kilograms: f64) -> String {
        let text = self.show(kilograms);
        text.split(' ').next().unwrap_or_default().to_owned()
    }

    /// Harvests that cannot be one gain are shown one by one: their mean would be no gain of any year.
    fn of_disagreement(&self, trial: &OwnTrial) -> String {
        let harvests = trial.harvests.iter();
        let each: Vec<String> = harvests
            .map(|harvest| format!("{} in {}", self.signed(harvest.gain), harvest.season))
            .collect();
        format!(
            "on this farm, {}: {}; the harvests disagree by more than seasons usually do: own trials do not decide it",
            under(self.gate),
            each.join(", ")
        )
    }

    fn of_verdict(
        &self,
        weighed: &Weighed,
        pays_from: Option<f64>,
        (verdict, is_enough): (OwnVerdict, bool),
    ) -> String {
        let trials = if weighed.trials == 1 {
            "trial"
        } else {
            "trials"
        };
        let pays = pays_from.map_or_else(
            || "what pays is not known without the crop's price".to_owned(),
            |pays| format!("pays from {}", self.show(pays)),
        );
        let follows = match verdict {
            OwnVerdict::Pays => "own trials say that it pays",
            OwnVerdict::DoesNotPay => "own trials say that it does not pay",
            OwnVerdict::LeavesItOpen if !is_enough => "too few trials to decide by",
            OwnVerdict::LeavesItOpen => "own trials do not decide it",
        };
        format!(
            "on this farm, {}: {} ({} to {}), {} {trials}, {} strips; {pays}: {follows}",
            under(self.gate),
            self.signed(weighed.gain),
            self.number(weighed.interval.0),
            self.number(weighed.interval.1),
            weighed.trials,
            weighed.strips,
        )
    }
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

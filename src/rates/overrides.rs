//! The consultant's word: applied last, inside the hard safety caps unless forced.

use super::pending_rate::PendingRate;
use super::prices::{unknown, wrong_form};
use super::rounding::down_to_step;
use super::zone_context::ZoneContext;
use super::{RatesError, starter};
use crate::diagnosis::Finding;
use crate::plan::{Override, OverrideRate, Settings};
use crate::remark::Remark;
use crate::rulebook::{Metering, Rulebook};
use crate::units::Quantity;

/// An override with its rate in kg/ha or L/ha.
pub(super) struct Word<'a> {
    pub said: &'a Override,
    pub metering: Metering,
    pub rate: f64,
}

/// The plan's overrides, checked.
pub(super) fn words<'a>(
    settings: &'a Settings,
    rulebook: &Rulebook,
    zones: usize,
    errors: &mut Vec<RatesError>,
) -> Vec<Word<'a>> {
    let mut words: Vec<Word<'a>> = Vec::new();
    for said in &settings.overrides {
        match word(said, rulebook, zones) {
            Ok(word)
                if words.iter().any(|known| {
                    known.said.zone == said.zone && known.said.product == said.product
                }) =>
            {
                errors.push(RatesError::Twice {
                    place: word.said.place.clone(),
                    product: said.product.clone(),
                    zone: said.zone,
                });
            }
            Ok(word) => words.push(word),
            Err(error) => errors.push(error),
        }
    }
    words
}

fn word<'a>(said: &'a Override, rulebook: &Rulebook, zones: usize) -> Result<Word<'a>, RatesError> {
    let place = || said.place.clone();
    let metering = match rulebook.product(&said.product) {
        _ if said.product == Rulebook::STARTER => Metering::Liquid,
        Some(product) => product.metering,
        None => return Err(unknown(&said.product, place(), rulebook)),
    };
    if said.zone == 0 || said.zone as usize > zones {
        return Err(RatesError::UnknownZone {
            place: place(),
            zone: said.zone,
            zones,
        });
    }
    let rate = match (said.rate, metering) {
        (OverrideRate::Mass(rate), Metering::Dry) => rate.stored(),
        (OverrideRate::Volume(rate), Metering::Liquid) => rate.stored(),
        _ => return Err(wrong_form(&said.product, metering, false, place())),
    };
    if !(rate >= 0.0 && rate.is_finite()) {
        let found = crate::units::decimal(rate, 3);
        return Err(RatesError::Negative {
            place: place(),
            product: said.product.clone(),
            what: "rate",
            found,
        });
    }
    Ok(Word {
        said,
        metering,
        rate,
    })
}

/// A hard cap and why.
pub(super) struct HardCap {
    pub most: f64,
    pub why: String,
}

/// The hard safety caps of a product in a zone.
pub(super) fn hard_caps(
    case: ZoneContext<'_>,
    name: &str,
    blend: Option<&super::blend::Blend<'_>>,
) -> Vec<HardCap> {
    if name == Rulebook::STARTER {
        let Some(blend) = blend else {
            return Vec::new();
        };
        return match starter::seed_safe(case) {
            Ok(safe) => vec![HardCap {
                most: starter::seed_safe_rate(blend, safe.limit.nitrogen_plus_potash),
                why: format!(
                    "nitrogen plus potash beside the seed ({})",
                    safe.limit.source
                ),
            }],
            Err(why) => vec![HardCap {
                most: 0.0,
                why: format!("no seed-safe limit can be told: {why}"),
            }],
        };
    }
    let Some(product) = case.bench.rulebook.product(name) else {
        return Vec::new();
    };
    let season = case.cap(product).map(|most| HardCap {
        most,
        why: format!("most in a season ({})", product.cap_source),
    });
    let condition = case
        .unmet(&product.only_where)
        .map(|why| HardCap { most: 0.0, why });
    season.into_iter().chain(condition).collect()
}

/// Puts the consultant's word in force; `gate` is what closes the product here.
pub(super) fn apply(
    case: ZoneContext<'_>,
    word: &Word<'_>,
    pending: &mut PendingRate,
    caps: &[HardCap],
    gate: Option<&Finding>,
) -> Vec<Remark> {
    let show = |rate| case.show(rate, word.metering);
    let cap = caps
        .iter()
        .min_by(|a, b| a.most.total_cmp(&b.most))
        .filter(|cap| cap.most < word.rate);
    let computed = pending.amount;
    let step = case.bench.steps.of_metering(word.metering);
    let most = if word.said.force {
        word.rate
    } else {
        cap.map_or(word.rate, |cap| cap.most)
    };
    pending.amount = down_to_step(most, step);
    pending.seasons_after = 0;
    pending.overridden = Some(word.said.why.clone());
    pending.note = None;
    pending.steps.push(format!(
        "computed {}; the consultant sets {}: {}",
        show(computed),
        show(word.rate),
        word.said.why
    ));
    let zone = case.diagnosis.number;
    let remark = |code, what: String| Remark::warning(code, what).at(word.said.place.clone());
    let mut remarks = Vec::new();
    if let Some(gate) = gate.filter(|_| pending.amount > 0.0) {
        pending.note = Some(format!("against the gate: {}", gate.sentence));
        let what = format!(
            "{} in zone {zone} is opened by the plan against the gate: {}",
            pending.product, gate.sentence
        );
        remarks.push(
            remark("override-against-gate", what)
                .help("lay a check strip, to see whether it does anything"),
        );
    }
    let Some(cap) = cap else { return remarks };
    if word.said.force {
        pending
            .steps
            .push(format!("forced past {}: {}", show(cap.most), cap.why));
        let what = format!(
            "{} in zone {zone} is forced to {} past the safe {}: {}",
            pending.product,
            show(pending.amount),
            show(cap.most),
            cap.why
        );
        remarks.push(
            remark("override-forced", what).help("take force = true out to stay inside the cap"),
        );
    } else {
        pending
            .steps
            .push(format!("cut to {}: {}", show(pending.amount), cap.why));
        pending.note = Some(format!(
            "the consultant's {} is cut to {}: {}",
            show(word.rate),
            show(pending.amount),
            cap.why
        ));
        let what = format!(
            "{} in zone {zone}: {} is wanted but {} is the most that is safe: {}",
            pending.product,
            show(word.rate),
            show(cap.most),
            cap.why
        );
        remarks.push(
            remark("override-cut", what)
                .help("lower the rate, or write force = true if you answer for it"),
        );
    }
    remarks
}

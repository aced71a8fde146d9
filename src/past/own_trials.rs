//! What the farm's own strips said, brought together by product and by the gate under which it was tried.

use super::past_run::PastRun;
use crate::analyte::{Analyte, Catalogue, Conversion};
use crate::rulebook::{OwnHarvest, OwnTrial};

/// The trials of some earlier seasons with this crop, by product and gate in the order in which they were met.
#[must_use]
pub fn own_trials(runs: &[PastRun], crop: &str) -> Vec<OwnTrial> {
    let mut trials: Vec<OwnTrial> = Vec::new();
    for run in runs {
        let of_crop = run.verdict.iter().filter(|verdict| verdict.crop == crop);
        let sets = of_crop.flat_map(|verdict| &verdict.sets);
        for set in sets.filter(|set| set.products.len() == 1) {
            let Some((product, size)) = set.products.first().zip(size_of(&set.unit, crop)) else {
                continue;
            };
            for (gate, harvest, pays_from) in harvests(run, set, product, size) {
                let known = trials
                    .iter_mut()
                    .find(|trial| trial.product == *product && trial.gate == gate);
                match known {
                    Some(known) => {
                        known.harvests.push(harvest);
                        known.pays_from = pays_from.or(known.pays_from);
                    }
                    None => trials.push(OwnTrial {
                        product: product.clone(),
                        gate,
                        crop: crop.to_owned(),
                        harvests: vec![harvest],
                        pays_from,
                    }),
                }
            }
        }
    }
    trials
}

/// Kilograms a hectare of a unit of yield.
fn size_of(unit: &str, crop: &str) -> Option<f64> {
    match Catalogue::built_in().conversion(&Analyte::Yield, unit, crop) {
        Ok(Conversion::Factor(factor) | Conversion::PerArea(factor)) => Some(factor),
        Err(_) => None,
    }
}

/// The zones of one harvest in which a product was tried under one gate.
struct UnderGate {
    gate: String,
    /// Gain and its error of each zone, kg/ha.
    gains: Vec<(f64, f64)>,
    strips: usize,
    pays_from: Option<f64>,
}

/// One harvest's gain under each gate, kg/ha. The same strips cross the zones, so the errors of zones are not taken as independent: the error
/// of their mean is the mean of their errors.
fn harvests(
    run: &PastRun,
    set: &super::past_verdict::PastSet,
    product: &str,
    size: f64,
) -> Vec<(String, OwnHarvest, Option<f64>)> {
    let mut found: Vec<UnderGate> = Vec::new();
    for zone in &set.zones {
        let gate = zone.zone.and_then(|number| gate(run, number, product));
        let judged = zone
            .gain
            .zip(zone.standard_error.filter(|error| *error > 0.0));
        let (Some(gate), Some((gain, error))) = (gate, judged) else {
            continue;
        };
        let pair = (gain * size, error * size);
        let pays_from = zone.pays_from.map(|gain| gain * size);
        match found.iter_mut().find(|known| known.gate == gate) {
            Some(known) => {
                known.gains.push(pair);
                known.strips = known.strips.max(zone.strips);
                known.pays_from = known.pays_from.or(pays_from);
            }
            None => found.push(UnderGate {
                gate,
                gains: vec![pair],
                strips: zone.strips,
                pays_from,
            }),
        }
    }
    found
        .into_iter()
        .map(|under| {
            let weights: f64 = under.gains.iter().map(|(_, error)| error.powi(-2)).sum();
            let mean = |value: fn(&(f64, f64)) -> f64| {
                let sum: f64 = under
                    .gains
                    .iter()
                    .map(|pair| value(pair) * pair.1.powi(-2))
                    .sum();
                sum / weights
            };
            let harvest = OwnHarvest {
                season: run.record.season,
                gain: mean(|pair| pair.0),
                standard_error: mean(|pair| pair.1),
                strips: under.strips,
            };
            (under.gate, harvest, under.pays_from)
        })
        .collect()
}

/// The gate under which a product was tried in a zone of an earlier season.
fn gate(run: &PastRun, number: u32, product: &str) -> Option<String> {
    let mut rates = run.zone(number)?.rates.iter();
    let rate = rates.find(|rate| rate.product == product)?;
    rate.gate
        .clone()
        .or_else(|| (rate.ordered > 0.0).then(|| "open".to_owned()))
}

//! The record of a version that wrote no `season.json`: what `run.json` tells of its zones. Places, laboratory and dates it does not tell.

use serde::Deserialize;

use super::season_record::{
    FactorRecord, KeyRecord, MeanRecord, RateRecord, SEASON_FORM, SeasonRecord, ZoneRecord,
};
use super::wire::{WrittenRate, stored_number};
use crate::units::Metering;

/// What is read of a run's record.
#[derive(Debug, Deserialize)]
pub(super) struct OlderRun {
    version: String,
    settings: OlderSettings,
    zones: OlderZones,
    diagnosis: Vec<OlderDiagnosis>,
    prescription: OlderPrescription,
}

#[derive(Debug, Deserialize)]
struct OlderSettings {
    field: String,
    season: u16,
    crop: String,
}

#[derive(Debug, Deserialize)]
struct OlderZones {
    areas_ha: Vec<f64>,
}

#[derive(Debug, Deserialize)]
struct OlderDiagnosis {
    number: u32,
    profile: Vec<OlderMean>,
    findings: Vec<OlderFinding>,
}

#[derive(Debug, Deserialize)]
struct OlderMean {
    key: KeyRecord,
    unit: String,
    mean: Option<f64>,
    spread: Option<f64>,
    standard_error: Option<f64>,
    cores: usize,
    is_flat: bool,
}

#[derive(Debug, Deserialize)]
struct OlderFinding {
    factor: String,
    outcome: String,
    layer: Option<KeyRecord>,
    severity: Option<f64>,
    #[serde(default)]
    closes: Vec<String>,
    #[serde(default)]
    is_closing: bool,
}

#[derive(Debug, Deserialize)]
struct OlderPrescription {
    products: Vec<OlderProduct>,
    zones: Vec<OlderZoneRates>,
}

#[derive(Debug, Deserialize)]
struct OlderProduct {
    label: String,
}

#[derive(Debug, Deserialize)]
struct OlderZoneRates {
    rates: Vec<OlderRate>,
    fixes: Vec<OlderFix>,
    cost: String,
}

#[derive(Debug, Deserialize)]
struct OlderRate {
    product: String,
    amount: WrittenRate,
    needed: WrittenRate,
}

#[derive(Debug, Deserialize)]
struct OlderFix {
    product: Option<String>,
    #[serde(default)]
    is_test: bool,
    #[serde(default)]
    left_out: bool,
    cost: String,
    seasons: Option<f64>,
}

impl OlderRun {
    /// The zones of the run, as far as its record tells.
    pub(super) fn record(self, program: &str) -> SeasonRecord {
        let products = &self.prescription.products;
        let zones = self
            .diagnosis
            .into_iter()
            .zip(&self.prescription.zones)
            .zip(&self.zones.areas_ha)
            .map(|((diagnosis, rates), hectares)| zone(diagnosis, rates, products, *hectares))
            .collect();
        SeasonRecord {
            program: program.to_owned(),
            version: self.version,
            form: SEASON_FORM,
            checksum: String::new(),
            field: self.settings.field,
            season: self.settings.season,
            crop: self.settings.crop,
            tables: Vec::new(),
            zones,
            inputs: Vec::new(),
        }
    }
}

fn zone(
    diagnosis: OlderDiagnosis,
    rates: &OlderZoneRates,
    products: &[OlderProduct],
    hectares: f64,
) -> ZoneRecord {
    let findings = diagnosis.findings;
    let work = rates
        .fixes
        .iter()
        .filter(|fix| fix.product.is_none() && !fix.is_test && !fix.left_out);
    ZoneRecord {
        zone: diagnosis.number,
        area_m2: hectares * 10_000.0,
        profile: diagnosis.profile.into_iter().map(mean).collect(),
        factors: factors(&findings),
        rates: rates
            .rates
            .iter()
            .zip(products)
            .map(|(rate, product)| rate_record(rate, product, (&rates.fixes, &findings)))
            .collect(),
        products_usd_ha: stored_number(&rates.cost),
        work_usd_ha: work.map(|fix| stored_number(&fix.cost)).sum(),
    }
}

fn mean(mean: OlderMean) -> MeanRecord {
    MeanRecord {
        key: mean.key,
        unit: mean.unit,
        mean: mean.mean,
        spread: mean.spread,
        standard_error: mean.standard_error,
        cores: mean.cores,
        is_flat: mean.is_flat,
    }
}

fn factors(findings: &[OlderFinding]) -> Vec<FactorRecord> {
    let mut factors: Vec<FactorRecord> = Vec::new();
    let settled = findings
        .iter()
        .filter(|finding| matches!(finding.outcome.as_str(), "limiting" | "adequate"));
    for finding in settled {
        if factors.iter().all(|seen| seen.factor != finding.factor) {
            factors.push(FactorRecord {
                factor: finding.factor.replace('-', " "),
                is_limiting: finding.outcome == "limiting",
                severity: finding.severity.unwrap_or_default().clamp(0.0, 1.0),
                layer: finding.layer.clone(),
            });
        }
    }
    factors
}

fn rate_record(
    rate: &OlderRate,
    product: &OlderProduct,
    (fixes, findings): (&[OlderFix], &[OlderFinding]),
) -> RateRecord {
    let fix = fixes
        .iter()
        .find(|fix| fix.product.as_ref() == Some(&rate.product));
    RateRecord {
        product: rate.product.clone(),
        label: product.label.clone(),
        form: if rate.amount.is_liquid() {
            Metering::Liquid
        } else {
            Metering::Dry
        },
        ordered: rate.amount.per_hectare(),
        needed: rate.needed.per_hectare(),
        price_usd: None,
        gate: gate(rate, findings),
        seasons: fix.and_then(|fix| fix.seasons),
        aim: None,
    }
}

/// What decided whether a product goes out, as far as the findings tell.
fn gate(rate: &OlderRate, findings: &[OlderFinding]) -> Option<String> {
    let closing = findings
        .iter()
        .find(|finding| finding.is_closing && finding.closes.contains(&rate.product));
    match closing {
        Some(finding) => {
            let factor = finding.factor.replace('-', " ");
            Some(format!("closed by {factor}"))
        }
        None if rate.amount.per_hectare() > 0.0 => Some("open".to_owned()),
        None => None,
    }
}

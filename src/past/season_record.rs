//! `season.json`: what a later season needs of this one to compare itself with it.

use serde::{Deserialize, Serialize};

use super::inputs::{InputRecord, input_records};
use super::season_sources::SeasonSources;
use crate::analyte::LayerKey;
use crate::diagnosis::{Finding, LayerSummary, Outcome, ZoneDiagnosis};
use crate::field::{Field, Places};
use crate::plan::{Day, PointKind, Price, Settings};
use crate::rates::{Fix, ProductUse, Rate, ZoneRates};
use crate::units::{Metering, Quantity};

/// Name of the file in the output folder.
pub const SEASON_FILE: &str = "season.json";
/// Version of the file's form; a change that breaks a reader raises it.
pub(super) const SEASON_FORM: u32 = 1;

/// Most places of a table that are kept: enough for the mean of every zone, where a sensor reads a million (own).
const MOST_PLACES: usize = 20_000;

/// What was measured, found and ordered in a season.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SeasonRecord {
    /// The program that wrote it.
    pub program: String,
    /// Its version.
    pub version: String,
    /// Version of the form.
    pub form: u32,
    /// SHA-256 of the text with nothing in this key.
    pub checksum: String,
    /// Name of the field.
    pub field: String,
    /// Season.
    pub season: u16,
    /// Crop.
    pub crop: String,
    /// What was measured, table by table.
    pub tables: Vec<TableRecord>,
    /// The zones by rising number.
    pub zones: Vec<ZoneRecord>,
    /// Every input that was ordered.
    pub inputs: Vec<InputRecord>,
}

/// One file of cores, pushes or readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TableRecord {
    /// The file, as the user named it.
    pub file: String,
    /// `cores`, `cone` or `readings`.
    pub kind: String,
    /// Who analysed the samples.
    pub laboratory: Option<String>,
    /// The day on which the samples were taken.
    pub sampled: Option<Day>,
    /// What the operator of a cone noted of the soil's moisture.
    pub moisture: Option<String>,
    /// Of how many places one is kept; 1 for all.
    #[serde(default = "one", skip_serializing_if = "is_one")]
    pub one_in: usize,
    /// Longitude and latitude of each place that is kept, degrees.
    pub places: Vec<(f64, f64)>,
    /// The layers.
    pub layers: Vec<LayerRecord>,
}

/// A layer's values at the places of its table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LayerRecord {
    /// What it is.
    #[serde(flatten)]
    pub key: KeyRecord,
    /// Canonical unit.
    pub unit: String,
    /// One value per place that is kept; nothing where there is no result.
    pub values: Vec<Option<f64>>,
}

/// What was measured, how and at which depth.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct KeyRecord {
    /// The word of the plan file.
    pub analyte: String,
    /// Test method.
    pub method: Option<String>,
    /// Sampling depth: `0-15.2 cm`.
    pub depth: Option<String>,
}

impl KeyRecord {
    /// The record of a layer's key.
    #[must_use]
    pub fn new(key: &LayerKey) -> Self {
        Self {
            analyte: key.analyte.name(),
            method: key.method.as_ref().map(ToString::to_string),
            depth: key.depth.map(|depth| depth.to_string()),
        }
    }
}

/// One zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ZoneRecord {
    /// Its number.
    pub zone: u32,
    /// Area on the ellipsoid, m².
    pub area_m2: f64,
    /// The map's mean of each layer.
    pub profile: Vec<MeanRecord>,
    /// Each factor that a rule settled, the most severe finding of it.
    pub factors: Vec<FactorRecord>,
    /// What goes out, product by product.
    pub rates: Vec<RateRecord>,
    /// Cost of all products, United States dollars per hectare.
    pub products_usd_ha: f64,
    /// Cost of other work that was asked for, United States dollars per hectare.
    pub work_usd_ha: f64,
}

/// The mean of a layer over a zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MeanRecord {
    /// The layer.
    #[serde(flatten)]
    pub key: KeyRecord,
    /// Canonical unit.
    pub unit: String,
    /// Area-weighted mean of the map.
    pub mean: Option<f64>,
    /// Standard deviation of the map within the zone.
    pub spread: Option<f64>,
    /// Standard error of the mean.
    pub standard_error: Option<f64>,
    /// Observations in the zone.
    pub cores: usize,
    /// Whether the layer has one value for the whole field.
    pub is_flat: bool,
}

/// What was found of a factor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FactorRecord {
    /// The factor's word.
    pub factor: String,
    /// Whether it limited.
    pub is_limiting: bool,
    /// 0 at the threshold to 1 at the rule's worst value.
    pub severity: f64,
    /// The layer that was compared with the rule.
    pub layer: Option<KeyRecord>,
}

/// A product in a zone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RateRecord {
    /// Name in the rulebook.
    pub product: String,
    /// What people call it.
    pub label: String,
    /// How it is metered.
    pub form: Metering,
    /// What was ordered, kg/ha or L/ha.
    pub ordered: f64,
    /// What the chemistry asked for as the full need, in the same unit.
    pub needed: f64,
    /// Price in force, United States dollars a kilogram or litre.
    pub price_usd: Option<f64>,
    /// What decided whether it goes out: `open`, `closed by carbon`, `nothing short`, `not known`; nothing where no gate was asked.
    pub gate: Option<String>,
    /// Seasons until it works, where a fix says so.
    pub seasons: Option<f64>,
    /// What the whole need aims at.
    pub aim: Option<AimRecord>,
}

/// What a rate is to bring about.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AimRecord {
    /// The layer that it moves.
    pub layer: KeyRecord,
    /// The zone's mean before.
    pub from: f64,
    /// The zone's mean that the whole need is to bring.
    pub to: f64,
}

impl SeasonRecord {
    /// The record of a run. The checksum is put in when it becomes text.
    #[must_use]
    pub fn new(from: SeasonSources<'_>, (program, version): (&str, &str)) -> Self {
        Self {
            program: program.to_owned(),
            version: version.to_owned(),
            form: SEASON_FORM,
            checksum: String::new(),
            field: from.settings.field.clone(),
            season: from.settings.season,
            crop: from.settings.crop.clone(),
            tables: (0..from.field.places.len())
                .filter_map(|at| table(from.settings, from.field, at))
                .collect(),
            zones: from
                .diagnosis
                .zones
                .iter()
                .zip(&from.prescription.zones)
                .map(|(diagnosis, rates)| zone(from, diagnosis, rates))
                .collect(),
            inputs: input_records(from),
        }
    }
}

/// A table with its layers; nothing where a place cannot be brought to degrees.
fn table(settings: &Settings, field: &Field, at: usize) -> Option<TableRecord> {
    let places = field.places.get(at)?;
    let said = settings
        .points
        .iter()
        .find(|points| points.file.display().to_string() == *places.file);
    let layers = field.layers.iter().filter(|layer| layer.places == at);
    let one_in = places.x.len().div_ceil(MOST_PLACES).max(1);
    Some(TableRecord {
        file: places.file.to_string(),
        kind: match places.kind {
            PointKind::Cores => "cores",
            PointKind::Cone => "cone",
            PointKind::Readings => "readings",
        }
        .to_owned(),
        laboratory: said.and_then(|points| points.laboratory.clone()),
        sampled: said.and_then(|points| points.sampled),
        moisture: said.and_then(|points| points.cone.as_ref()?.moisture.clone()),
        one_in,
        places: in_degrees(field, places, one_in)?,
        layers: layers
            .map(|layer| LayerRecord {
                key: KeyRecord::new(&layer.key),
                unit: layer.unit.to_string(),
                values: every(&layer.values, one_in).map(known).collect(),
            })
            .collect(),
    })
}

/// One of each so many values, at a place that changes from one lot to the next: rows may alternate, as between two heads of a sensor.
fn every(values: &[f64], one_in: usize) -> impl Iterator<Item = f64> {
    let of_lot = move |(lot, values): (usize, &[f64])| {
        // The top bits of a product with an odd number look drawn at random (D.E. Knuth, The Art of Computer Programming, volume 3, section 6.4).
        let mixed = (lot as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15) >> 32;
        values[mixed as usize % values.len()]
    };
    values.chunks(one_in).enumerate().map(of_lot)
}

fn one() -> usize {
    1
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "the writer of JSON asks for it"
)]
fn is_one(number: &usize) -> bool {
    *number == 1
}

/// Longitude and latitude with seven decimals, which is a centimetre.
fn in_degrees(field: &Field, places: &Places, one_in: usize) -> Option<Vec<(f64, f64)>> {
    let mut points: Vec<(f64, f64)> = every(&places.x, one_in)
        .zip(every(&places.y, one_in))
        .collect();
    field.crs.unproject(&mut points).ok()?;
    let round = |degrees: f64| (degrees * 1e7).round() / 1e7;
    Some(
        points
            .into_iter()
            .map(|(lon, lat)| (round(lon), round(lat)))
            .collect(),
    )
}

/// A number, where it is one.
fn known(value: f64) -> Option<f64> {
    value.is_finite().then_some(value)
}

fn zone(from: SeasonSources<'_>, diagnosis: &ZoneDiagnosis, rates: &ZoneRates) -> ZoneRecord {
    let area_m2 = from.zones.zones.get(diagnosis.zone);
    let products = &from.prescription.products;
    let is_work = |fix: &&Fix| fix.product.is_none() && !fix.left_out && !fix.is_test;
    ZoneRecord {
        zone: diagnosis.number,
        area_m2: area_m2.map_or(0.0, |zone| zone.area_m2),
        profile: diagnosis.profile.iter().map(mean).collect(),
        factors: factors(diagnosis),
        rates: rates
            .rates
            .iter()
            .zip(products)
            .map(|(rate, product)| rate_record(rate, product, rates))
            .collect(),
        products_usd_ha: rates.cost.dollars_per_hectare(),
        work_usd_ha: rates
            .fixes
            .iter()
            .filter(is_work)
            .map(|fix| fix.cost.dollars_per_hectare())
            .sum(),
    }
}

fn mean(layer: &LayerSummary) -> MeanRecord {
    MeanRecord {
        key: KeyRecord::new(&layer.key),
        unit: layer.unit.to_string(),
        mean: known(layer.mean),
        spread: known(layer.spread),
        standard_error: known(layer.standard_error),
        cores: layer.cores,
        is_flat: layer.is_flat,
    }
}

/// The finding that speaks for each settled factor: a limiting one before an adequate one, as they are listed.
pub(super) fn spokesmen(diagnosis: &ZoneDiagnosis) -> Vec<&Finding> {
    let mut chosen: Vec<&Finding> = Vec::new();
    for finding in diagnosis
        .findings
        .iter()
        .filter(|finding| finding.is_settled())
    {
        if chosen.iter().all(|seen| seen.factor != finding.factor) {
            chosen.push(finding);
        }
    }
    chosen
}

fn factors(diagnosis: &ZoneDiagnosis) -> Vec<FactorRecord> {
    let record = |finding: &&Finding| FactorRecord {
        factor: finding.factor.name().to_owned(),
        is_limiting: finding.outcome == Outcome::Limiting,
        severity: finding.severity,
        layer: finding.layer.as_ref().map(KeyRecord::new),
    };
    spokesmen(diagnosis).iter().map(record).collect()
}

fn rate_record(rate: &Rate, product: &ProductUse, zone: &ZoneRates) -> RateRecord {
    let fix = zone
        .fixes
        .iter()
        .find(|fix| fix.product.as_ref() == Some(&rate.product));
    RateRecord {
        product: rate.product.to_string(),
        label: product.label.clone(),
        form: product.form,
        ordered: rate.amount.per_hectare(),
        needed: rate.needed.per_hectare(),
        price_usd: product.price.map(|price| match price {
            Price::PerMass(price) => price.stored(),
            Price::PerVolume(price) => price.stored(),
        }),
        gate: rate.gate.as_ref().map(ToString::to_string),
        seasons: fix.map(|fix| fix.seasons),
        aim: rate.aim.as_ref().map(|aim| AimRecord {
            layer: KeyRecord::new(&aim.layer),
            from: aim.from,
            to: aim.to,
        }),
    }
}

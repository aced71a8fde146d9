//! Everything that became of a field since the last season, zone by zone of today.

use super::applied::{AppliedPlaces, AppliedRate};
use super::error::PastError;
use super::factors::{FactorSince, TwoYears};
use super::ground::Ground;
use super::limits::{Fate, LimitSince, StaveSince};
use super::past_run::PastRun;
use super::products::ProductSince;
use super::season_record::TableRecord;
use super::today::Today;
use crate::diagnosis::ZoneDiagnosis;
use crate::plan::{PointKind, PointsSettings, Settings};

/// What became of a field since the last season.
#[derive(Debug, Clone, PartialEq)]
pub struct SinceLastTime {
    /// The folder of the earlier season, as it was named.
    pub folder: String,
    /// The earlier season.
    pub then: u16,
    /// Name that the field had then, where it is another.
    pub other_name: Option<String>,
    /// Share of today's ground that was part of the field then.
    pub covered: f64,
    /// What is not known, and what follows from it.
    pub not_known: Vec<String>,
    /// The zones of today, by rising number.
    pub zones: Vec<ZoneSince>,
}

/// One zone of today.
#[derive(Debug, Clone, PartialEq)]
pub struct ZoneSince {
    /// Its number.
    pub zone: u32,
    /// Its area, m².
    pub area_m2: f64,
    /// The earlier zones that it lies on, each with its share of the ground.
    pub ground: Vec<(u32, f64)>,
    /// Each factor then and now.
    pub factors: Vec<FactorSince>,
    /// What was ordered and applied.
    pub products: Vec<ProductSince>,
    /// Limits that left, came, stayed.
    pub limits: Vec<LimitSince>,
    /// How high each factor stood and stands.
    pub staves: Vec<StaveSince>,
    /// What products and other work cost on this ground, United States dollars per hectare.
    pub spent_usd_ha: f64,
}

impl ZoneSince {
    /// How many limits left with a change that the soil test shows.
    #[must_use]
    pub fn lifted(&self) -> usize {
        let limits = self.limits.iter();
        limits
            .filter(|limit| limit.fate == Fate::Left && limit.is_shown)
            .count()
    }
}

/// Compares today with the latest of some earlier seasons, which stand by rising season.
///
/// # Errors
/// Where the run is of another field.
pub fn since_last_time(
    today: Today<'_>,
    run: &PastRun,
    logs: &[AppliedPlaces],
) -> Result<SinceLastTime, PastError> {
    let name = &today.settings.field;
    let ground = Ground::lay(run, today.field, today.zones, name)?;
    let two = TwoYears::new(today, run, &ground);
    let zones = today.diagnosis.zones.iter();
    let logs = two.logs(logs);
    Ok(SinceLastTime {
        folder: run.folder.clone(),
        then: run.record.season,
        other_name: Some(run.record.field.clone()).filter(|then| then != name),
        covered: ground.covered,
        not_known: not_known(today.settings, run),
        zones: zones.map(|zone| zone_since(&two, zone, &logs)).collect(),
    })
}

fn zone_since(
    two: &TwoYears<'_>,
    zone: &ZoneDiagnosis,
    logs: &[(&AppliedPlaces, Vec<AppliedRate>)],
) -> ZoneSince {
    let factors = two.factors(zone);
    let products = two.products(zone, logs);
    let (limits, staves) = two.limits(zone, &factors);
    let shape = two.zones.zones.get(zone.zone);
    ZoneSince {
        zone: zone.number,
        area_m2: shape.map_or(0.0, |zone| zone.area_m2),
        ground: two
            .ground
            .shares
            .get(zone.zone)
            .cloned()
            .unwrap_or_default(),
        spent_usd_ha: spent(two, zone.zone, &products),
        factors,
        products,
        limits,
        staves,
    }
}

/// What products and other work cost on a zone's ground: of a product that was logged, what was applied.
fn spent(two: &TwoYears<'_>, zone: usize, products: &[ProductSince]) -> f64 {
    let ordered: f64 = two
        .ground
        .under(zone)
        .iter()
        .filter_map(|(number, share)| {
            let zone = two.run.zone(*number)?;
            Some(share * (zone.products_usd_ha + zone.work_usd_ha))
        })
        .sum();
    let off_plan: f64 = products
        .iter()
        .filter_map(|product| Some((product.applied?.rate - product.ordered) * product.price_usd?))
        .sum();
    (ordered + off_plan).max(0.0)
}

/// What neither year says, and what follows from it.
fn not_known(settings: &Settings, run: &PastRun) -> Vec<String> {
    let mut lines = Vec::new();
    let then = run.record.season;
    if run.is_older {
        lines.push(format!(
            "the run of {then} is of a version that kept no places, laboratories and dates of its samples: the maps' means are compared, not the cores, \
             and whether laboratory and time of the year were the same is not known"
        ));
    }
    let cores_now = || {
        settings
            .points
            .iter()
            .filter(|points| points.kind == PointKind::Cores)
    };
    let cores_then = || {
        run.record
            .tables
            .iter()
            .filter(|table| table.kind == "cores")
    };
    let has_laboratory = cores_then().all(|table: &TableRecord| table.laboratory.is_some())
        && cores_now().all(|points: &PointsSettings| points.laboratory.is_some());
    if !run.is_older && !has_laboratory {
        lines.push(
            "the laboratory is not said in both plans (laboratory = under [[points]]): the comparison holds only if it was the same"
                .to_owned(),
        );
    }
    let has_date = cores_then().all(|table| table.sampled.is_some())
        && cores_now().all(|points| points.sampled.is_some());
    if !run.is_older && !has_date {
        lines.push(
            "the day of sampling is not said in both plans (sampled = under [[points]]): the comparison holds only if it was the same time of the year"
                .to_owned(),
        );
    }
    lines
}

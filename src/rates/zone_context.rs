//! One zone with all that its rates depend on.

use super::rounding::{self, Steps};
use crate::analyte::{Analyte, DepthRange, LayerKey};
use crate::diagnosis::{Finding, LayerSummary, Outcome, ZoneDiagnosis};
use crate::field::Field;
use crate::plan::Settings;
use crate::rulebook::{Condition, Crop, Factor, Metering, Product, Rulebook};
use crate::surface::{Map, Surfaces};
use crate::units::{Length, MassPerArea};
use crate::zones::Zones;

/// What all zones share.
pub(super) struct FieldContext<'a> {
    pub settings: &'a Settings,
    pub field: &'a Field,
    pub surfaces: &'a Surfaces,
    pub zones: &'a Zones,
    pub rulebook: &'a Rulebook,
    pub crop: &'a Crop,
    pub steps: Steps,
}

/// One zone.
#[derive(Clone, Copy)]
pub(super) struct ZoneContext<'a> {
    pub bench: &'a FieldContext<'a>,
    pub diagnosis: &'a ZoneDiagnosis,
}

/// The deepest layer that still counts as topsoil, metres: 0-8 in and 0-20 cm are in, 0-12 in is not.
const TOPSOIL_M: f64 = 0.22;

impl<'a> ZoneContext<'a> {
    /// The limiting finding of a factor, the most severe one.
    pub fn limit(self, factor: Factor) -> Option<&'a Finding> {
        self.diagnosis
            .limits()
            .find(|finding| finding.factor == factor)
    }

    /// The limiting finding of a factor that a fix with the product answers, the most severe one.
    pub fn limit_answered_by(self, factor: Factor, product: &str) -> Option<&'a Finding> {
        let fixes = || {
            self.bench
                .rulebook
                .fixes
                .iter()
                .filter(|fix| fix.product.as_deref() == Some(product))
        };
        self.diagnosis.limits().find(|finding| {
            finding.factor == factor && fixes().any(|fix| fix.answers(factor, &finding.rule))
        })
    }

    /// All limiting findings of a factor.
    pub fn limits_of(self, factor: Factor) -> impl Iterator<Item = &'a Finding> {
        self.diagnosis
            .findings
            .iter()
            .filter(move |finding| finding.factor == factor && finding.outcome == Outcome::Limiting)
    }

    /// The topsoil summary of an analyte: of several, the one with a finding's depth, else the one that reaches deepest.
    pub fn summary(self, analyte: &Analyte, depth: Option<DepthRange>) -> Option<&'a LayerSummary> {
        let is_topsoil = |summary: &&LayerSummary| {
            summary.key.analyte == *analyte
                && summary.mean.is_finite()
                && summary
                    .key
                    .depth
                    .is_none_or(|depth| depth.bottom().metres() <= TOPSOIL_M)
        };
        let rank = |summary: &&LayerSummary| {
            let bottom = summary
                .key
                .depth
                .map_or(0, |depth| (depth.bottom().metres() * 1e4) as i64);
            (depth.is_some() && summary.key.depth == depth, bottom)
        };
        self.diagnosis
            .profile
            .iter()
            .filter(is_topsoil)
            .max_by_key(rank)
    }

    /// Why a list of conditions is not met here; `None` where it is.
    pub fn unmet(self, conditions: &[Condition]) -> Option<String> {
        conditions
            .iter()
            .find_map(|condition| match self.value_for(condition) {
                Some(summary) if condition.is_met_by(summary.mean) => None,
                Some(_) => Some(condition.why.clone()),
                None if condition.if_unknown => None,
                None => Some(format!(
                    "{} is not known by a method that counts here, and it decides: {}",
                    condition.analyte.label(),
                    condition.why
                )),
            })
    }

    /// The topsoil layer that tells of a condition; of several, the one that reaches deepest.
    fn value_for(self, condition: &Condition) -> Option<&'a LayerSummary> {
        let can_tell = |summary: &&LayerSummary| {
            summary.key.analyte == condition.analyte
                && (condition.methods.is_empty()
                    || summary
                        .key
                        .method
                        .as_ref()
                        .is_some_and(|m| condition.methods.contains(m)))
                && summary.mean.is_finite()
        };
        let deepest = |summary: &&LayerSummary| {
            let bottom = summary
                .key
                .depth
                .map_or(0.0, |depth| depth.bottom().metres());
            (bottom <= TOPSOIL_M, (bottom * 1e4) as i64)
        };
        self.diagnosis
            .profile
            .iter()
            .filter(can_tell)
            .max_by_key(deepest)
    }

    /// The finding that closes a product, by its name or because it carries salt.
    pub fn closed_by(self, name: &str, carries_salt: bool) -> Option<&'a Finding> {
        let closes = |finding: &&Finding| {
            finding.closes_product(name)
                || carries_salt && finding.closes_product(Rulebook::SALT_CARRYING)
        };
        self.diagnosis.findings.iter().find(closes)
    }

    /// Most of a product per season here, kg/ha or L/ha.
    pub fn cap(self, product: &Product) -> Option<f64> {
        let surface = if self.bench.crop.is_tilled {
            None
        } else {
            product.surface_cap
        };
        surface.or(product.cap)
    }

    /// Mass of a layer of soil.
    pub fn soil_mass(
        self,
        depth: Option<DepthRange>,
    ) -> Result<MassPerArea, crate::soil::SoilError> {
        let thickness = depth.map_or(
            Length::from_metres(0.0254 * 20.0 / 3.0),
            DepthRange::thickness,
        );
        crate::soil::soil_mass(thickness, self.bench.settings.bulk_density)
    }

    /// Value of a layer in each cell of the zone with the cell's share; one value for a flat layer.
    pub fn cells(self, keys: &[&LayerKey]) -> Vec<(f64, Vec<f64>)> {
        let maps: Vec<&Map> = keys
            .iter()
            .filter_map(|key| self.bench.surfaces.get(key).map(|surface| &surface.map))
            .collect();
        if maps.len() != keys.len() {
            return Vec::new();
        }
        if maps.iter().all(|map| matches!(map, Map::Flat { .. })) {
            return vec![(1.0, maps.iter().map(|map| value_at(map, 0)).collect())];
        }
        let of_cell = self
            .bench
            .zones
            .of_cell
            .iter()
            .zip(&self.bench.field.grid.share)
            .enumerate();
        of_cell
            .filter(|(_, (zone, _))| usize::from(**zone) == self.diagnosis.zone)
            .map(|(cell, (_, share))| {
                (
                    f64::from(*share),
                    maps.iter().map(|map| value_at(map, cell)).collect(),
                )
            })
            .collect()
    }

    /// Area of the zone on the ellipsoid, ha.
    pub fn hectares(self) -> f64 {
        self.bench
            .zones
            .zones
            .get(self.diagnosis.zone)
            .map_or(0.0, |zone| zone.area_m2 / 10_000.0)
    }

    /// A rate in words.
    pub fn show(self, rate: f64, metering: Metering) -> String {
        rounding::show(rate, metering, self.bench.settings.units)
    }
}

fn value_at(map: &Map, cell: usize) -> f64 {
    match map {
        Map::Flat { value, .. } => *value,
        Map::Drawn { values, .. } => values.get(cell).map_or(f64::NAN, |value| f64::from(*value)),
    }
}

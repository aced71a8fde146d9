//! One zone with all that its rates depend on.

use super::blend::Blend;
use super::lime_rules::LimeRules;
use super::material::Material;
use super::prices::Prices;
use super::pump::PumpRange;
use super::rounding::{self, Steps};
use crate::analyte::{Analyte, Catalogue, DepthRange, LayerKey};
use crate::diagnosis::{Finding, LayerSummary, Outcome, ZoneDiagnosis};
use crate::field::Field;
use crate::plan::Settings;
use crate::rulebook::{Crop, Factor, FixRule, PriceSource, Product, ProductName, Rulebook};
use crate::surface::{Map, Surfaces};
use crate::units::Metering;
use crate::units::{Length, MassPerArea};
use crate::zones::Zones;

/// Share of a zone up to which it lies on earlier ground by the drawing of edges alone.
const MERE_EDGE: f64 = 0.05;

/// What all zones share.
pub(super) struct FieldContext<'a> {
    pub settings: &'a Settings,
    pub ground: &'a Field,
    pub surfaces: &'a Surfaces,
    pub zones: &'a Zones,
    pub rulebook: &'a Rulebook,
    pub crop: &'a Crop,
    pub steps: Steps,
    pub pump: PumpRange,
    pub blend: Option<&'a Blend<'a>>,
    pub prices: &'a Prices,
    pub lime_rules: &'a LimeRules,
    /// What the rates are for.
    pub purpose: Purpose,
}

/// What rates are calculated for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Purpose {
    /// To be printed, bought and driven.
    Prescribe,
    /// To compare zonings by what they change.
    CompareZones,
}

impl<'a> FieldContext<'a> {
    /// The starter's mix or the product of a name.
    pub fn material(&self, name: &ProductName) -> Option<Material<'a>> {
        Material::of_name(name, self.blend, self.rulebook)
    }

    /// Whether anybody reads the words.
    pub fn has_words(&self) -> bool {
        self.purpose == Purpose::Prescribe
    }

    /// Whether what a zone needs and nobody can price yet counts at the rulebook's guess. On a bill it does not; where zonings are compared, it is
    /// worth a zone all the same.
    pub fn counts_guesses(&self) -> bool {
        self.purpose == Purpose::CompareZones
    }

    /// Where the price of a product comes from, by its name in the rulebook.
    pub fn price_source(&self, name: &str) -> PriceSource {
        let given = self.settings.prices.iter().map(|(name, _)| name);
        let product = self.rulebook.product(name);
        product.map_or(PriceSource::Given, |product| product.price_source(given))
    }

    /// Cost of a rate in kg/ha or L/ha, United States dollars per hectare; nothing where the price is not known.
    pub fn cost_of(&self, name: &ProductName, rate: f64) -> f64 {
        let price = self
            .material(name)
            .and_then(|material| material.price(self.prices));
        rate * price.unwrap_or(0.0)
    }
}

/// One zone.
#[derive(Clone, Copy)]
pub(super) struct ZoneContext<'a> {
    pub field: &'a FieldContext<'a>,
    pub diagnosis: &'a ZoneDiagnosis,
}

impl<'a> ZoneContext<'a> {
    /// The limiting finding of a factor, the most severe one.
    pub fn limit(self, factor: Factor) -> Option<&'a Finding> {
        self.diagnosis
            .limits()
            .find(|finding| finding.factor == factor)
    }

    /// The limiting findings that a fix with the product answers, the most severe first.
    pub fn answered_by(self, product: &str) -> impl Iterator<Item = &'a Finding> {
        let fixes = self.field.rulebook.fixes.iter();
        let of_product: Vec<&FixRule> = fixes
            .filter(|fix| fix.product.as_deref() == Some(product))
            .collect();
        self.diagnosis
            .findings
            .iter()
            .filter(|finding| finding.outcome == Outcome::Limiting)
            .filter(move |finding| {
                let mut fixes = of_product.iter();
                fixes.any(|fix| fix.answers(finding.factor, &finding.rule))
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
        let topsoil = self.field.rulebook.numbers.topsoil_depth;
        let is_topsoil = |summary: &&LayerSummary| {
            summary.key.analyte == *analyte
                && summary.mean.is_finite()
                && summary
                    .key
                    .depth
                    .is_none_or(|depth| depth.bottom() <= topsoil)
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

    /// The results of a zone that no rule takes without their method, and that do not say it.
    pub fn unnamed_methods(self) -> impl Iterator<Item = &'a LayerSummary> {
        let catalogue = Catalogue::built_in();
        self.diagnosis.profile.iter().filter(move |summary| {
            let entry = catalogue.entry(&summary.key.analyte);
            summary.key.method.is_none() && entry.is_some_and(|entry| entry.needs_method)
        })
    }

    /// The limiting findings, one for each factor.
    pub fn limits(self) -> impl Iterator<Item = &'a Finding> {
        self.diagnosis.limits()
    }

    /// The finding that closes a material, by its name or because it carries salt.
    pub fn closed_by(self, material: Material<'_>) -> Option<&'a Finding> {
        let name = material.name();
        let closes = |finding: &&Finding| {
            finding.closes_product(&name)
                || material.carries_salt() && finding.closes_product(Rulebook::SALT_CARRYING)
        };
        self.diagnosis.findings.iter().find(closes)
    }

    /// Whether a finding holds back what carries salt.
    pub fn closes_salt(self) -> bool {
        let mut findings = self.diagnosis.findings.iter();
        findings.any(|finding| finding.closes_product(Rulebook::SALT_CARRYING))
    }

    /// Whether a rule settles here how salty the ground is.
    pub fn knows_salt(self) -> bool {
        let mut findings = self.diagnosis.findings.iter();
        findings.any(|finding| finding.factor == Factor::Salt && finding.is_settled())
    }

    /// The season in which an earlier run found salt on this ground, where nothing of this year settles it.
    pub fn earlier_salt(self) -> Option<u16> {
        if self.knows_salt() {
            return None;
        }
        let shares = self.field.ground.grid.share.iter();
        let cells = self.field.zones.of_cell.iter().zip(shares);
        let (mut all, mut salty, mut found) = (0.0, 0.0, None);
        for ((zone, share), season) in cells.zip(&self.field.rulebook.earlier_salt) {
            if usize::from(*zone) != self.diagnosis.zone {
                continue;
            }
            all += f64::from(*share);
            if season.is_some() {
                salty += f64::from(*share);
                found = found.max(*season);
            }
        }
        found.filter(|_| salty > MERE_EDGE * all)
    }

    /// Most of a product per season here, kg/ha or L/ha.
    pub fn season_cap(self, product: &Product) -> Option<f64> {
        let surface = if self.field.crop.is_tilled {
            None
        } else {
            product.surface_cap
        };
        surface.or(product.cap)
    }

    /// Mass of a layer of soil.
    ///
    /// # Errors
    /// Where depth or bulk density lie outside what the formula holds for.
    pub fn soil_mass(
        self,
        depth: Option<DepthRange>,
    ) -> Result<MassPerArea, crate::soil::SoilError> {
        let thickness = depth.map_or(
            Length::from_metres(0.0254 * 20.0 / 3.0),
            DepthRange::thickness,
        );
        crate::soil::soil_mass(thickness, self.field.settings.bulk_density)
    }

    /// Values of layers in each cell of the zone with the cell's share; one value where all are flat, none where one does not exist.
    pub fn cells<'k, const N: usize>(
        self,
        keys: [&'k LayerKey; N],
    ) -> impl Iterator<Item = (f64, [f64; N])> + use<'a, 'k, N> {
        let maps = keys.map(|key| self.field.surfaces.get(key).map(|surface| &surface.map));
        let is_flat = maps.iter().all(|map| matches!(map, Some(Map::Flat { .. })));
        let most = match (maps.iter().any(Option::is_none), is_flat) {
            (true, _) => 0,
            (false, true) => 1,
            (false, false) => usize::MAX,
        };
        let of_cell = self.field.zones.of_cell.iter();
        let zone = self.diagnosis.zone;
        of_cell
            .zip(&self.field.ground.grid.share)
            .enumerate()
            .filter(move |(_, (own, _))| is_flat || usize::from(**own) == zone)
            .take(most)
            .map(move |(cell, (_, share))| {
                let share = if is_flat { 1.0 } else { f64::from(*share) };
                let value = |map: Option<&Map>| map.map_or(f64::NAN, |map| value_at(map, cell));
                (share, maps.map(value))
            })
    }

    /// Area of the zone on the ellipsoid, ha.
    pub fn hectares(self) -> f64 {
        self.field
            .zones
            .zones
            .get(self.diagnosis.zone)
            .map_or(0.0, |zone| zone.area_m2 / 10_000.0)
    }

    /// Words, where anybody reads them.
    pub fn told(self, words: impl FnOnce() -> String) -> String {
        if self.field.has_words() {
            words()
        } else {
            String::new()
        }
    }

    /// A mass per hectare in words, kg/ha.
    pub fn show_mass(self, kilograms: f64, decimals: usize) -> String {
        if !self.field.has_words() {
            return String::new();
        }
        let mass = MassPerArea::from_kilograms_per_hectare(kilograms);
        mass.show(self.field.settings.units, decimals)
    }

    /// A rate in words.
    pub fn show(self, rate: f64, metering: Metering) -> String {
        if !self.field.has_words() {
            return String::new();
        }
        rounding::show(rate, metering, self.field.settings.units)
    }
}

fn value_at(map: &Map, cell: usize) -> f64 {
    match map {
        Map::Flat { value, .. } => *value,
        Map::Drawn { values, .. } => values.get(cell).map_or(f64::NAN, |value| f64::from(*value)),
    }
}

use crate::deliver::overview::Overview;
use crate::surface::{Flat, Map, Surface};
use crate::units::{UnitSystem, decimal, fixed};
use crate::zones::Component;

use crate::deliver::numbers::{layer_number, layer_unit, percent, with_unit};

/// One layer's map and how good it is.
#[derive(Debug, Clone, PartialEq)]
pub struct MapFacts {
    /// The layer.
    pub layer: String,
    /// Unit.
    pub unit: String,
    /// Whether a map is drawn.
    pub is_drawn: bool,
    /// Observations.
    pub n: Option<usize>,
    /// Root mean square error, in the unit.
    pub rmse: String,
    /// Mean error, in the unit.
    pub mean_error: String,
    /// Prediction efficiency with its interval.
    pub efficiency: String,
    /// Power and neighbours.
    pub method: String,
    /// One sentence: what the map is worth.
    pub verdict: String,
}

impl MapFacts {
    /// The figures of a table's row: layer, observations, efficiency, errors, unit.
    #[must_use]
    pub fn figures(&self) -> Vec<String> {
        vec![
            self.layer.clone(),
            self.n.map_or_else(|| "-".to_owned(), |n| n.to_string()),
            self.efficiency.clone(),
            self.rmse.clone(),
            self.mean_error.clone(),
            self.unit.clone(),
        ]
    }
}

pub(super) fn maps(overview: &Overview<'_>) -> Vec<MapFacts> {
    overview
        .stages
        .surfaces
        .surfaces
        .iter()
        .map(|surface| map_facts(surface, overview.units))
        .collect()
}

fn map_facts(surface: &Surface, system: UnitSystem) -> MapFacts {
    let dash = || "-".to_owned();
    let number = |value: f64| layer_number(&surface.key, &surface.unit, value, system);
    let skill = surface.skill.as_ref();
    MapFacts {
        layer: surface.key.show(system),
        unit: layer_unit(&surface.key, &surface.unit, system).to_owned(),
        is_drawn: matches!(surface.map, Map::Drawn { .. }),
        n: skill.map(|skill| skill.n),
        rmse: skill.map_or_else(dash, |skill| number(skill.rmse)),
        mean_error: skill.map_or_else(dash, |skill| number(skill.mean_error)),
        efficiency: skill.map_or_else(dash, |skill| {
            let interval = skill
                .efficiency_interval
                .map(|(low, high)| format!(" ({} to {})", fixed(low, 2), fixed(high, 2)));
            format!(
                "{}{}",
                fixed(skill.efficiency, 2),
                interval.unwrap_or_default()
            )
        }),
        method: surface.how(),
        verdict: verdict(surface, system),
    }
}

fn verdict(surface: &Surface, system: UnitSystem) -> String {
    let unit = layer_unit(&surface.key, &surface.unit, system);
    let number = |value: f64| {
        with_unit(
            &layer_number(&surface.key, &surface.unit, value, system),
            unit,
        )
    };
    let cores = surface
        .skill
        .as_ref()
        .map_or_else(|| "too few".to_owned(), |skill| skill.n.to_string());
    match &surface.map {
        Map::Drawn { .. } => surface.skill.as_ref().map_or_else(
            || "drawn without a measure of its skill".to_owned(),
            |skill| {
                let share = percent(skill.efficiency.max(0.0));
                format!(
                    "explains {share} of what varies; typical error {}",
                    number(skill.rmse)
                )
            },
        ),
        Map::Flat {
            value,
            standard_error,
            why,
        } => {
            let one = format!(
                "one value for the whole field: {} (places differ by {})",
                number(*value),
                number(*standard_error)
            );
            match why {
                Flat::TooFew => format!("too few observations for a map; {one}"),
                Flat::Constant => format!("all observations are equal; {one}"),
                Flat::NoSkill => format!("these {cores} observations do not support a map; {one}"),
            }
        }
    }
}

/// The zone counts that were tried.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CountFacts {
    /// Why this count.
    pub why: String,
    /// The count that was taken.
    pub taken: usize,
    /// The layers that shaped the zones, with their weights.
    pub layers: Vec<String>,
    /// The principal components that shaped them or were dropped, where the plan asks for components.
    pub components: Vec<String>,
    /// Count, share of variance explained, silhouette, fuzziness performance, classification entropy.
    pub rows: Vec<[String; 5]>,
}

impl CountFacts {
    pub(super) fn new(overview: &Overview<'_>) -> Self {
        let zones = overview.stages.zones;
        let number = |value: Option<f64>| {
            value
                .filter(|v| v.is_finite())
                .map_or_else(|| "-".to_owned(), |v| fixed(v, 3))
        };
        let rows = zones.tried.iter().map(|row| {
            let index = number(row.fuzziness_performance);
            [
                row.count.to_string(),
                percent(row.explained),
                number(row.silhouette),
                index,
                number(row.classification_entropy),
            ]
        });
        let weight = |weight: f64| {
            if weight == 1.0 {
                String::new()
            } else {
                format!(" (weight {})", decimal(weight, 2))
            }
        };
        let layers = zones
            .layers
            .iter()
            .map(|(key, share)| format!("{}{}", key.show(overview.units), weight(*share)));
        let components = zones
            .components
            .iter()
            .enumerate()
            .map(|(rank, component)| component_line(overview, rank + 1, component));
        Self {
            why: zones.why.clone(),
            taken: zones.zones.len(),
            layers: layers.collect(),
            components: components.collect(),
            rows: rows.collect(),
        }
    }
}

/// Loadings under this are not told (own).
const TOLD: f64 = 0.3;

/// "component 1 (kept): 62 % of what varies; organic carbon 0.71, clay 0.65".
fn component_line(overview: &Overview<'_>, rank: usize, component: &Component) -> String {
    let layers = overview
        .stages
        .zones
        .layers
        .iter()
        .map(|(key, _)| key.show(overview.units));
    let parts: Vec<String> = layers
        .zip(&component.loadings)
        .filter(|(_, loading)| loading.abs() >= TOLD)
        .map(|(layer, loading)| format!("{layer} {}", fixed(*loading, 2)))
        .collect();
    let kept = if component.is_kept { "kept" } else { "dropped" };
    format!(
        "component {rank} ({kept}): {} of what varies; {}",
        percent(component.share),
        parts.join(", ")
    )
}

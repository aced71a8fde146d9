//! What was measured in each zone, layer by layer.

use std::sync::Arc;

use rayon::prelude::*;

use super::standing::{NOWHERE, Standing};
use crate::diagnosis::{BelowDetection, DiagnosisError, LayerSummary};
use crate::field::Field;
use crate::intake::Qualifier;
use crate::surface::{Map, Surface, Surfaces};
use crate::zones::Zones;

/// The summaries of every layer in every zone: one list per zone, in the order of the surfaces. The standard error is infinite where
/// none is wanted.
pub(super) fn profiles(
    standing: &Standing<'_>,
    surfaces: &Surfaces,
    zones: &Zones,
    with_error: bool,
) -> Result<Vec<Vec<LayerSummary>>, Vec<DiagnosisError>> {
    let field = standing.field;
    check(field, surfaces, zones)?;
    let mut cells = vec![Vec::new(); zones.zones.len()];
    for (cell, zone) in zones.of_cell.iter().enumerate() {
        if let Some(cells) = cells.get_mut(usize::from(*zone)) {
            cells.push(cell);
        }
    }
    let by_layer: Vec<Vec<LayerSummary>> = surfaces
        .surfaces
        .par_iter()
        .map(|surface| {
            let counts = observations(standing, zones.zones.len(), surface);
            let moments = moments(field, zones, surface);
            let in_zone = |((count, moments), cells): ((&Count, _), &Vec<usize>)| {
                let error = if with_error {
                    surface.mean_standard_error(&field.grid, cells)
                } else {
                    f64::INFINITY
                };
                let below = below(surface, &counts, count);
                summary(surface, moments, (count, below), error)
            };
            counts
                .iter()
                .zip(&moments)
                .zip(&cells)
                .map(in_zone)
                .collect()
        })
        .collect();
    let mut profiles = vec![Vec::with_capacity(surfaces.surfaces.len()); zones.zones.len()];
    for summaries in by_layer {
        for (profile, summary) in profiles.iter_mut().zip(summaries) {
            profile.push(summary);
        }
    }
    Ok(profiles)
}

fn check(field: &Field, surfaces: &Surfaces, zones: &Zones) -> Result<(), Vec<DiagnosisError>> {
    let cells = field.grid.cells.len();
    let mut errors = Vec::new();
    if zones.of_cell.len() != cells {
        errors.push(DiagnosisError::OtherGrid {
            zoned: zones.of_cell.len(),
            cells,
        });
    }
    if let Some((cell, zone)) = zones
        .of_cell
        .iter()
        .enumerate()
        .find(|(_, zone)| usize::from(**zone) >= zones.zones.len())
    {
        errors.push(DiagnosisError::NoSuchZone {
            cell,
            zone: *zone,
            zones: zones.zones.len(),
        });
    }
    for surface in &surfaces.surfaces {
        if let Map::Drawn {
            values,
            standard_error,
        } = &surface.map
            && (values.len() != cells || standard_error.len() != cells)
        {
            errors.push(DiagnosisError::OtherMap {
                layer: surface.key.to_string(),
                found: values.len().min(standard_error.len()),
                cells,
            });
        }
    }
    if errors.is_empty() {
        Ok(())
    } else {
        Err(errors)
    }
}

/// Observations of a layer inside a zone.
#[derive(Clone, Default)]
struct Count {
    all: usize,
    qualified: usize,
    /// What stands for each result below a limit of detection, and the limit.
    below: Vec<(f64, f64)>,
}

fn observations(standing: &Standing<'_>, zones: usize, surface: &Surface) -> Vec<Count> {
    let mut counts = vec![Count::default(); zones];
    for layer in standing.layers(&surface.key) {
        let standing = standing.zones_of(layer.places);
        for (zone, _) in standing
            .iter()
            .zip(&layer.values)
            .filter(|(_, value)| value.is_finite())
        {
            if let Some(count) = counts.get_mut(usize::from(*zone)) {
                count.all += 1;
            }
        }
        for (at, qualifier) in &layer.qualified {
            let zone = standing.get(*at as usize).copied().unwrap_or(NOWHERE);
            let used = layer.values.get(*at as usize);
            let used = used.copied().filter(|value| value.is_finite());
            if let Some((count, value)) = counts.get_mut(usize::from(zone)).zip(used) {
                count.qualified += 1;
                if let Qualifier::Below(limit) = qualifier {
                    count.below.push((value, *limit));
                }
            }
        }
    }
    counts
}

/// The zone that a place lies in; `None` outside the workable area.
pub(super) fn zone_at(field: &Field, zones: &Zones, x: f64, y: f64) -> Option<usize> {
    let slot = field.grid.slot(field.grid.cell_at(x, y)?)?;
    zones.of_cell.get(slot).map(|zone| usize::from(*zone))
}

/// Weighted sums of a surface over a zone.
#[derive(Clone, Copy)]
struct Moments {
    weight: f64,
    sum: f64,
    squares: f64,
    least: f64,
    most: f64,
}

impl Moments {
    const NONE: Self = Self {
        weight: 0.0,
        sum: 0.0,
        squares: 0.0,
        least: f64::INFINITY,
        most: f64::NEG_INFINITY,
    };

    fn add(&mut self, weight: f64, value: f64, shift: f64) {
        let from_shift = value - shift;
        self.weight += weight;
        self.sum += weight * from_shift;
        self.squares += weight * from_shift * from_shift;
        self.least = self.least.min(value);
        self.most = self.most.max(value);
    }
}

/// Sums of a drawn map, taken from its first value on so that large numbers lose nothing; none for a flat one.
fn moments(field: &Field, zones: &Zones, surface: &Surface) -> Vec<Moments> {
    let mut all = vec![Moments::NONE; zones.zones.len()];
    if let Map::Drawn { values, .. } = &surface.map {
        let shift = shift_of(values);
        for ((zone, share), value) in zones.of_cell.iter().zip(&field.grid.share).zip(values) {
            if let Some(moments) = all
                .get_mut(usize::from(*zone))
                .filter(|_| value.is_finite())
            {
                moments.add(f64::from(*share), f64::from(*value), shift);
            }
        }
    }
    all
}

fn shift_of(values: &[f32]) -> f64 {
    values
        .iter()
        .find(|value| value.is_finite())
        .map_or(0.0, |value| f64::from(*value))
}

/// The results below a limit of detection that a zone's mean rests on: its own, or all of the field where one value stands for it or no
/// core stands in the zone.
fn below(surface: &Surface, counts: &[Count], here: &Count) -> BelowDetection {
    let is_of_field = matches!(surface.map, Map::Flat { .. }) || here.all == 0;
    let counts = if is_of_field {
        counts
    } else {
        std::slice::from_ref(here)
    };
    BelowDetection {
        results: counts
            .iter()
            .flat_map(|count| count.below.iter().copied())
            .collect(),
        of: counts.iter().map(|count| count.all).sum(),
    }
}

/// Mean, spread and standard error of a layer in a zone.
fn summary(
    surface: &Surface,
    moments: &Moments,
    (count, below): (&Count, BelowDetection),
    standard_error: f64,
) -> LayerSummary {
    let (mean, spread, range, is_flat) = match &surface.map {
        Map::Flat { value, .. } => (*value, 0.0, (*value, *value), true),
        Map::Drawn { values, .. } if moments.weight > 0.0 => {
            let from_shift = moments.sum / moments.weight;
            let variance = (moments.squares / moments.weight - from_shift * from_shift).max(0.0);
            (
                shift_of(values) + from_shift,
                variance.sqrt(),
                (moments.least, moments.most),
                false,
            )
        }
        Map::Drawn { .. } => (f64::NAN, f64::NAN, (f64::NAN, f64::NAN), false),
    };
    LayerSummary {
        key: surface.key.clone(),
        unit: Arc::clone(&surface.unit),
        mean,
        spread,
        standard_error,
        range,
        cores: count.all,
        qualified: count.qualified,
        below,
        is_flat,
        is_skewed: surface.logs.is_some(),
    }
}

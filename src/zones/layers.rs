//! Which layers shape the zones.

use std::borrow::Cow;

use crate::analyte::{Analyte, LayerKey};
use crate::order_statistics::quantile_of_rising;
use crate::plan::ZoneSettings;
use crate::remark::Remark;
use crate::surface::{Map, Surface, Surfaces};

use super::standardise::{Features, mean_and_deviation, varies};
use crate::units::fixed;

/// A layer with its say in the zoning.
#[derive(Debug, Clone)]
pub(super) struct Chosen<'a> {
    pub key: &'a LayerKey,
    /// Multiplies the squared standardised distance.
    pub weight: f64,
    /// One value per cell; of a skewed layer, high values cut at a fence.
    pub values: Cow<'a, [f32]>,
    /// Share of the variance of the observations that the map predicts, 0 to 1 (leave-one-out).
    pub efficiency: f64,
}

/// A layer that is drawn has at least this say: one whose map was forced, or that was not tested, is not left out (own).
const LEAST_SKILL: f64 = 0.05;

/// Cells on which maps are compared at most.
const COMPARED: usize = 1_000;

/// Method names of the cone index that the analyte module documents.
const AT_ONE_DEPTH: &str = "profile";
const MAXIMUM: &str = "profile-maximum";

/// The layers in the order of their keys, whatever the order of the plan.
pub(super) fn choose<'a>(
    surfaces: &'a Surfaces,
    settings: &ZoneSettings,
    remarks: &mut Vec<Remark>,
) -> Vec<Chosen<'a>> {
    let mut drawn: Vec<Chosen<'a>> = surfaces.surfaces.iter().filter_map(candidate).collect();
    drawn.sort_by(|a, b| a.key.cmp(b.key));
    keep_one_cone_layer(&mut drawn);
    if let Some(named) = &settings.layers {
        weigh(&mut drawn, named, surfaces, remarks);
    } else {
        without_covariates(&mut drawn, remarks);
        cut_skewed(&mut drawn, surfaces);
        weigh_by_skill(&mut drawn);
    }
    drawn
}

/// Without weights of the plan a layer counts by what its map predicts, and layers whose maps say the same share one say, as far as they do: each
/// is divided by the sum of its squared correlations with all, itself among them, so that six layers of one pattern count as one. The layers
/// of an analyte share one say whatever their maps. A map that hardly predicts
/// anything varies by noise as much as by the ground, and whether it is drawn at all may hang on a metre: it must not draw the lines (own;
/// see "Which layers shape them" in `docs/how-zones-are-found.md`).
fn weigh_by_skill(drawn: &mut [Chosen<'_>]) {
    let shared = shared_says(drawn);
    for (layer, says) in drawn.iter_mut().zip(shared) {
        let skill = layer.efficiency.max(LEAST_SKILL);
        layer.weight = skill * skill / says;
    }
}

/// Among how many layers each shares what it says, 1 where it stands alone.
fn shared_says(drawn: &[Chosen<'_>]) -> Vec<f64> {
    let cells = drawn.first().map_or(0, |layer| layer.values.len());
    let by = cells.div_ceil(COMPARED).max(1);
    let thinned =
        |layer: &Chosen<'_>| -> Vec<f32> { layer.values.iter().copied().step_by(by).collect() };
    let thinned: Vec<Vec<f32>> = drawn.iter().map(thinned).collect();
    let columns: Vec<(&[f32], f64)> = thinned.iter().map(|values| (&**values, 1.0)).collect();
    let features = Features::standardised(&columns);
    let share = |a: usize, b: usize| {
        if drawn[a].key.analyte == drawn[b].key.analyte {
            return 1.0;
        }
        correlation(&features, a, b).powi(2)
    };
    let of_layer = |a: usize| (0..drawn.len()).map(|b| share(a, b)).sum();
    (0..drawn.len()).map(of_layer).collect()
}

/// How many layers hold the analyte of a key.
fn layers_of(drawn: &[Chosen<'_>], key: &LayerKey) -> usize {
    let same = |layer: &&Chosen<'_>| layer.key.analyte == key.analyte;
    drawn.iter().filter(same).count()
}

/// Where values are so skewed that the map was made in logarithms, what lies beyond the outer fence counts as the fence, or a hot spot of a
/// few cells would take all zones. What the plan names is taken as it is.
fn cut_skewed(drawn: &mut [Chosen<'_>], surfaces: &Surfaces) {
    for layer in drawn {
        let is_skewed = |surface: &Surface| surface.logs.is_some();
        if surfaces.get(layer.key).is_some_and(is_skewed) {
            layer.values = Cow::Owned(within_the_fence(&layer.values));
        }
    }
}

/// A surface that has a map with some variation in it.
fn candidate(surface: &Surface) -> Option<Chosen<'_>> {
    let Map::Drawn { values, .. } = &surface.map else {
        return None;
    };
    let (mean, deviation) = mean_and_deviation(values);
    let efficiency = surface
        .skill
        .map_or(1.0, |skill| skill.efficiency.clamp(0.0, 1.0));
    varies(mean, deviation).then_some(Chosen {
        key: &surface.key,
        weight: 1.0,
        values: Cow::Borrowed(values),
        efficiency,
    })
}

/// Values, those above the upper outer fence (three times the distance of the quartiles above the upper one) as the fence.
///
/// # Source
/// Tukey, J.W. 1977. Exploratory Data Analysis. Addison-Wesley, chapter 2 (from memory).
fn within_the_fence(values: &[f32]) -> Vec<f32> {
    let mut sorted: Vec<f64> = values.iter().map(|value| f64::from(*value)).collect();
    sorted.sort_by(f64::total_cmp);
    let quartile = |share: f64| quantile_of_rising(&sorted, share).unwrap_or(f64::NAN);
    let (low, high) = (quartile(0.25), quartile(0.75));
    let fence = (high + 3.0 * (high - low)) as f32;
    values.iter().map(|value| value.min(fence)).collect()
}

/// A push with a reading at every depth mark would outweigh all other layers: its maximum speaks for it.
fn keep_one_cone_layer(drawn: &mut Vec<Chosen<'_>>) {
    let is_cone = |layer: &Chosen<'_>, method: &str| {
        layer.key.analyte == Analyte::ConeIndex
            && layer
                .key
                .method
                .as_ref()
                .is_some_and(|m| m.name() == method)
    };
    if drawn.iter().any(|layer| is_cone(layer, MAXIMUM)) {
        drawn.retain(|layer| !is_cone(layer, AT_ONE_DEPTH));
    }
}

/// What feeds no rule changes no rate: it shapes zones only where the plan names it.
fn without_covariates(drawn: &mut Vec<Chosen<'_>>, remarks: &mut Vec<Remark>) {
    let is_covariate = |layer: &Chosen<'_>| matches!(layer.key.analyte, Analyte::Covariate(_));
    let names: Vec<String> = drawn
        .iter()
        .filter(|layer| is_covariate(layer))
        .map(|layer| layer.key.to_string())
        .collect();
    drawn.retain(|layer| !is_covariate(layer));
    if !names.is_empty() {
        let what = format!(
            "{} feeds no rule, so it does not shape the zones",
            names.join(", ")
        );
        remarks.push(
            Remark::info("covariates-not-in-zones", what)
                .help("name it in zones.layers where it is known to part the field"),
        );
    }
}

/// A name of the plan speaks for all layers of that analyte, which share its weight: pH at two depths counts once.
fn weigh(
    drawn: &mut Vec<Chosen<'_>>,
    named: &[(Analyte, f64)],
    surfaces: &Surfaces,
    remarks: &mut Vec<Remark>,
) {
    for (analyte, _) in named {
        if !drawn.iter().any(|layer| layer.key.analyte == *analyte) {
            remarks.push(without_map(analyte, surfaces));
        }
    }
    drawn.retain(|layer| {
        named
            .iter()
            .any(|(analyte, _)| *analyte == layer.key.analyte)
    });
    let counts: Vec<usize> = drawn.iter().map(|l| layers_of(drawn, l.key)).collect();
    for (layer, count) in drawn.iter_mut().zip(counts) {
        let weight: f64 = named
            .iter()
            .filter(|(analyte, _)| *analyte == layer.key.analyte)
            .map(|(_, weight)| weight)
            .sum();
        layer.weight = weight / count as f64;
    }
}

fn without_map(analyte: &Analyte, surfaces: &Surfaces) -> Remark {
    let label = analyte.label();
    if surfaces
        .surfaces
        .iter()
        .any(|surface| surface.key.analyte == *analyte)
    {
        let what = format!(
            "{label} was named in zones.layers but has one value for the whole field, so it cannot shape the zones"
        );
        Remark::warning("zone-layer-flat", what)
            .help("leave it out of zones.layers, or take more samples")
    } else {
        let what = format!(
            "{label} was named in zones.layers but no file holds it, so it cannot shape the zones"
        );
        Remark::warning("zone-layer-missing", what)
            .help("check the name, or the columns of the point files")
    }
}

/// Correlation of two maps from which they say nearly the same (own).
const ALIKE: f64 = 0.9;

const WAY_OUT: &str = "write components = true in [zones], leave one out of zones.layers, or give each half the weight";

/// Notes each pair of layers whose maps say nearly the same and so count twice.
pub(super) fn alike(layers: &[Chosen<'_>], features: &Features, remarks: &mut Vec<Remark>) {
    for (index, one) in layers.iter().enumerate() {
        for (offset, other) in layers[index + 1..].iter().enumerate() {
            let correlation = correlation(features, index, index + 1 + offset);
            if correlation.abs() >= ALIKE {
                let (one, other, r) = (one.key, other.key, fixed(correlation, 2));
                let what = format!(
                    "the maps of {one} and {other} say nearly the same (correlation {r}), so they count twice in the zoning"
                );
                remarks.push(Remark::info("zone-layers-alike", what).help(WAY_OUT));
            }
        }
    }
}

/// Correlation of two standardised columns; their common weights cancel.
fn correlation(features: &Features, a: usize, b: usize) -> f64 {
    let sums = features.column(a).iter().zip(features.column(b)).fold(
        (0.0, 0.0, 0.0),
        |(ab, aa, bb), (&a, &b)| {
            let (a, b) = (f64::from(a), f64::from(b));
            (ab + a * b, aa + a * a, bb + b * b)
        },
    );
    let scale = (sums.1 * sums.2).sqrt();
    if scale > 0.0 { sums.0 / scale } else { 0.0 }
}

#[cfg(test)]
#[path = "layers_tests.rs"]
mod tests;

//! Air: is the soil too tight for roots and for breathing?
//!
//! Checks the cone index of the topsoil, and the share of pushes that meet a hard layer in the root zone: a mean over
//! pushes would hide a thin pan. Why it matters: without air nothing else that is fixed will show. Accepts pushes of a cone
//! penetrometer (`profile`) near field capacity. Fixes: keep wheels off wet ground, loosen, deep roots.
//! Who disagrees: the water in the soil moves a reading several times as much as its density does, and old no-till soils carry roots
//! at higher readings; so a dry soil's reading is an upper bound.

use crate::diagnosis::profile::zone_at;
use crate::field::Field;
use crate::rulebook::Rule;
use crate::soil::{HardLayer, LayerBottom, LayerTop, SoilMoisture, hard_layers};
use crate::units::{Length, Pressure, UnitSystem};
use crate::zones::Zones;

/// One push of the cone: depth in metres and cone index in kPa, shallow to deep, without the marks it did not reach. Where the soil refused
/// the push, the last entry is that depth with an infinite reading: harder than any limit.
pub(in crate::diagnosis) type Push = Vec<(f64, f64)>;

/// The pushes of the field, zone by zone.
pub(in crate::diagnosis) struct Pushes {
    pub by_zone: Vec<Vec<Push>>,
    /// What operators noted of the moisture; `None` where a file with pushes notes nothing.
    pub moisture: Vec<Option<String>>,
}

impl Pushes {
    /// Gathers the pushes that stand inside a zone.
    pub fn gather(field: &Field, zones: &Zones) -> Self {
        let mut by_zone = vec![Vec::new(); zones.zones.len()];
        let mut moisture = Vec::new();
        for (places, cones) in field
            .places
            .iter()
            .zip(&field.cones)
            .filter_map(|(places, cones)| Some((places, cones.as_ref()?)))
        {
            moisture.push(cones.moisture.clone());
            let marks = cones.depths.len().max(1);
            for (index, readings) in cones.kilopascals.chunks(marks).enumerate() {
                let is_outside = places
                    .outside
                    .binary_search_by_key(&(index as u32), |(at, _)| *at)
                    .is_ok();
                let at = places
                    .x
                    .get(index)
                    .zip(places.y.get(index))
                    .filter(|_| !is_outside);
                let zone = at.and_then(|(x, y)| zone_at(field, zones, *x, *y));
                let refused = cones.refused.get(index).copied().flatten();
                let push: Push = cones
                    .depths
                    .iter()
                    .zip(readings)
                    .filter(|(_, reading)| reading.is_finite())
                    .map(|(depth, reading)| (depth.metres(), *reading))
                    .chain(refused.map(|depth| (depth.metres(), f64::INFINITY)))
                    .collect();
                if let Some(pushes) = zone
                    .and_then(|zone| by_zone.get_mut(zone))
                    .filter(|_| !push.is_empty())
                {
                    pushes.push(push);
                }
            }
        }
        Self { by_zone, moisture }
    }

    /// What is to be said of the moisture at which the cone was pushed.
    pub fn moisture_caution(&self) -> Option<String> {
        let caution = self
            .moisture
            .iter()
            .find_map(|note| SoilMoisture::from_note(note.as_deref()).caution());
        caution.map(str::to_owned)
    }
}

/// How many pushes rise above a rule's limit inside its depth, and how many reach into it.
pub(in crate::diagnosis) fn hard_pushes(rule: &Rule, pushes: &[Push]) -> (usize, usize) {
    let limit = rule.limit.map_or(f64::INFINITY, Pressure::kilopascals);
    let maxima: Vec<f64> = pushes
        .iter()
        .filter_map(|push| {
            push.iter()
                .filter(|(depth, _)| is_inside(rule, *depth))
                .map(|(_, reading)| *reading)
                .reduce(f64::max)
        })
        .collect();
    (
        maxima.iter().filter(|maximum| **maximum > limit).count(),
        maxima.len(),
    )
}

/// Whether a depth mark lies inside one of a rule's depths.
pub(in crate::diagnosis) fn is_inside(rule: &Rule, depth_m: f64) -> bool {
    let tolerance = rule.depth_tolerance.metres();
    rule.depths.is_empty()
        || rule.depths.iter().any(|range| {
            (range.top().metres()..=range.bottom().metres() + tolerance).contains(&depth_m)
        })
}

/// Where the hard layers of some pushes begin inside a rule's depth, from the mean reading at each mark; none where the mean stays under
/// the limit.
pub(in crate::diagnosis) fn hard_layers_of(rule: &Rule, pushes: &[Push]) -> Vec<HardLayer> {
    layers_in(rule, &mean_profile(pushes))
}

fn layers_in(rule: &Rule, profile: &[(f64, f64)]) -> Vec<HardLayer> {
    let depths: Vec<Length> = profile
        .iter()
        .map(|(depth, _)| Length::from_metres(*depth))
        .collect();
    let readings: Vec<Pressure> = profile
        .iter()
        .map(|(_, reading)| Pressure::from_kilopascals(*reading))
        .collect();
    let mut layers = rule
        .limit
        .and_then(|limit| hard_layers(&depths, &readings, limit).ok())
        .unwrap_or_default();
    layers.retain(|layer| is_inside(rule, layer.top.depth().metres()));
    layers
}

/// How deep to loosen: under the lowest of the mean's hard layers, or, where the mean shows none, under the middle one of the pushes'. `None`
/// where the lower edge was not reached.
pub(in crate::diagnosis) fn loosening_depth(
    rule: &Rule,
    layers: &[HardLayer],
    pushes: &[Push],
) -> Option<Length> {
    if let Some(lowest) = layers.last() {
        return crate::soil::loosening_depth(lowest);
    }
    let mut depths: Vec<f64> = pushes
        .iter()
        .filter_map(|push| crate::soil::loosening_depth(layers_in(rule, push).last()?))
        .map(Length::metres)
        .collect();
    depths.sort_by(f64::total_cmp);
    depths
        .get(depths.len() / 2)
        .copied()
        .map(Length::from_metres)
}

/// Where hard layers lie, in words.
pub(in crate::diagnosis) fn placed(layers: &[HardLayer], units: UnitSystem) -> String {
    let depth = |depth: Length| depth.as_depth(units);
    let place = |layer: &HardLayer| {
        let top = match layer.top {
            LayerTop::At(top) => format!("from {}", depth(top)),
            LayerTop::AtOrAbove(_) => "from the surface".to_owned(),
        };
        match layer.bottom {
            LayerBottom::At(bottom) => format!("{top} to {}", depth(bottom)),
            LayerBottom::NotReached(end) => {
                format!("{top} to beyond {}, where the record ends", depth(end))
            }
        }
    };
    match layers {
        [] => String::new(),
        layers => format!(
            ", on average {}",
            layers.iter().map(place).collect::<Vec<_>>().join(" and ")
        ),
    }
}

/// Mean reading at each depth mark, shallow to deep.
fn mean_profile(pushes: &[Push]) -> Vec<(f64, f64)> {
    let readings = pushes.iter().flatten().copied();
    let mut readings: Vec<(f64, f64)> = readings.filter(|(_, value)| value.is_finite()).collect();
    readings.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.total_cmp(&b.1)));
    readings
        .chunk_by(|a, b| a.0 == b.0)
        .filter_map(|mark| {
            let depth = mark.first()?.0;
            Some((
                depth,
                mark.iter().map(|(_, reading)| reading).sum::<f64>() / mark.len() as f64,
            ))
        })
        .collect()
}

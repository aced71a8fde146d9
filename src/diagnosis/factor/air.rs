//! Air: is the soil too tight for roots and for breathing?
//!
//! Checks the cone index of the topsoil, and the share of pushes that meet a hard layer in the root zone: a mean over
//! pushes would hide a thin pan. Why it matters: without air nothing else that is mended will show. Accepts pushes of a cone
//! penetrometer (`profile`) near field capacity. Fixes: keep wheels off wet ground, loosen, deep roots.
//! Who disagrees: the water in the soil moves a reading several times as much as its density does, and old no-till soils carry roots
//! at higher readings; so a dry soil's reading is an upper bound.

use crate::diagnosis::profile::zone_at;
use crate::field::Field;
use crate::rulebook::Rule;
use crate::units::Length;
use crate::zones::Zones;

/// One push of the cone: depth in metres and cone index in kPa, shallow to deep, without the marks it did not reach.
pub(in crate::diagnosis) type Push = Vec<(f64, f64)>;

/// The pushes of the field, zone by zone.
pub(in crate::diagnosis) struct Pushes {
    pub by_zone: Vec<Vec<Push>>,
    /// What operators noted of the moisture; `None` where a file with pushes notes nothing.
    pub moisture: Vec<Option<String>>,
}

impl Pushes {
    /// Whether the field has any.
    pub fn is_empty(&self) -> bool {
        self.by_zone.iter().all(Vec::is_empty)
    }

    /// Gathers the pushes that stand inside a zone.
    pub fn gather(field: &Field, zones: &Zones) -> Self {
        let mut by_zone = vec![Vec::new(); zones.zones.len()];
        let mut moisture = Vec::new();
        for (places, cones) in field.places.iter().zip(&field.cones).filter_map(|(places, cones)| Some((places, cones.as_ref()?))) {
            moisture.push(cones.moisture.clone());
            let marks = cones.depths.len().max(1);
            for (index, readings) in cones.kilopascals.chunks(marks).enumerate() {
                let is_outside = places.outside.binary_search_by_key(&(index as u32), |(at, _)| *at).is_ok();
                let at = places.x.get(index).zip(places.y.get(index)).filter(|_| !is_outside);
                let zone = at.and_then(|(x, y)| zone_at(field, zones, *x, *y));
                let push: Push = cones
                    .depths
                    .iter()
                    .zip(readings)
                    .filter(|(_, reading)| reading.is_finite())
                    .map(|(depth, reading)| (depth.metres(), *reading))
                    .collect();
                if let Some(pushes) = zone.and_then(|zone| by_zone.get_mut(zone)).filter(|_| !push.is_empty()) {
                    pushes.push(push);
                }
            }
        }
        Self { by_zone, moisture }
    }

    /// What is to be said of the moisture at which the cone was pushed.
    pub fn moisture_caution(&self) -> Option<String> {
        let is_dry = |note: &Option<String>| note.as_ref().is_some_and(|note| note.to_lowercase().contains("dry"));
        if self.moisture.iter().any(is_dry) {
            return Some("the cone was pushed in dry soil: its readings are an upper bound; push again near field capacity".to_owned());
        }
        self.moisture
            .iter()
            .any(Option::is_none)
            .then(|| "nobody noted how moist the soil was when the cone was pushed; a dry soil reads harder than it is".to_owned())
    }
}

/// How many pushes rise above a rule's limit inside its depth, and how many reach into it.
pub(in crate::diagnosis) fn hard_pushes(rule: &Rule, pushes: &[Push]) -> (usize, usize) {
    let limit = rule.limit.map_or(f64::INFINITY, crate::units::Pressure::kilopascals);
    let maxima: Vec<f64> = pushes
        .iter()
        .filter_map(|push| push.iter().filter(|(depth, _)| is_inside(rule, *depth)).map(|(_, reading)| *reading).reduce(f64::max))
        .collect();
    (maxima.iter().filter(|maximum| **maximum > limit).count(), maxima.len())
}

/// Whether a depth mark lies inside one of a rule's depths.
pub(in crate::diagnosis) fn is_inside(rule: &Rule, depth_m: f64) -> bool {
    let tolerance = rule.depth_tolerance.metres();
    rule.depths.is_empty()
        || rule.depths.iter().any(|range| (range.top().metres()..=range.bottom().metres() + tolerance).contains(&depth_m))
}

/// Where the hard layer of some pushes lies: from the first mark whose mean is above the limit to the first deeper one that is not, both
/// placed between marks on a straight line; no lower edge where the record ends in hard ground.
pub(in crate::diagnosis) fn hard_layer(rule: &Rule, pushes: &[Push]) -> Option<(Length, Option<Length>)> {
    let limit = rule.limit?.kilopascals();
    let profile = mean_profile(pushes);
    let first = profile.iter().position(|(_, reading)| *reading > limit)?;
    let crossing = |from: (f64, f64), to: (f64, f64)| from.0 + (to.0 - from.0) * (limit - from.1) / (to.1 - from.1);
    let top = match first.checked_sub(1).and_then(|before| profile.get(before)) {
        Some(before) => crossing(*before, profile[first]),
        None => 0.0,
    };
    let last = profile.windows(2).skip(first).find(|pair| pair[1].1 <= limit);
    let bottom = last.map(|pair| crossing(pair[0], pair[1]));
    Some((Length::from_metres(top), bottom.map(Length::from_metres)))
}

/// Mean reading at each depth mark, shallow to deep.
fn mean_profile(pushes: &[Push]) -> Vec<(f64, f64)> {
    let mut readings: Vec<(f64, f64)> = pushes.iter().flatten().copied().collect();
    readings.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.total_cmp(&b.1)));
    readings
        .chunk_by(|a, b| a.0 == b.0)
        .filter_map(|mark| {
            let depth = mark.first()?.0;
            Some((depth, mark.iter().map(|(_, reading)| reading).sum::<f64>() / mark.len() as f64))
        })
        .collect()
}

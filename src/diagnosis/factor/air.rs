//! Air: is the soil too tight for roots and for breathing?
//!
//! Checks the cone index of the topsoil, and the share of pushes that meet a hard layer in the root zone: a mean over
//! pushes would hide a thin pan. Why it matters: without air nothing else that is fixed will show. Accepts pushes of a cone
//! penetrometer (`profile`) near field capacity. Fixes: keep wheels off wet ground, loosen, deep roots.
//! Who disagrees: the water in the soil moves a reading several times as much as its density does, and old no-till soils carry roots
//! at higher readings; so a dry soil's reading is an upper bound.

use crate::diagnosis::profile::zone_at;
use crate::field::Field;
use crate::order_statistics::quantile_of_rising;
use crate::rulebook::Rule;
use crate::soil::{HardLayer, LayerBottom, LayerTop, SoilMoisture, hard_layers};
use crate::units::{Length, METRES_PER_FOOT, Pressure, UnitSystem};
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

/// What the pushes say of a hard layer inside a rule's depth.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub(in crate::diagnosis) struct PushCount {
    /// Pushes that rise above the rule's limit.
    pub hard: usize,
    /// Pushes that tell: those, and those that went deep enough and met nothing hard.
    pub told: usize,
    /// Pushes that ended sooner, at a stone or on purpose: of what lies below they say nothing.
    pub short: usize,
}

/// Counts the pushes that meet a hard layer. A depth that no push reached is not soft.
pub(in crate::diagnosis) fn count_pushes(rule: &Rule, pushes: &[Push]) -> PushCount {
    let limit = rule.limit.map_or(f64::INFINITY, Pressure::kilopascals);
    let deepest = rule.depths.iter().map(|depth| depth.bottom().metres());
    let whole = deepest.fold(0.0, f64::max) - rule.depth_tolerance.metres();
    let reach = rule.reach.map_or(whole, Length::metres);
    let mut count = PushCount::default();
    for push in pushes {
        let inside = || push.iter().filter(|(depth, _)| is_inside(rule, *depth));
        let is_hard = inside().any(|(_, reading)| *reading > limit);
        let is_deep = push.last().is_some_and(|(depth, _)| *depth >= reach);
        count.hard += usize::from(is_hard);
        count.told += usize::from(is_hard || is_deep);
        count.short += usize::from(!is_hard && !is_deep);
    }
    count
}

/// Whether a depth mark lies inside one of a rule's depths.
pub(in crate::diagnosis) fn is_inside(rule: &Rule, depth_m: f64) -> bool {
    let tolerance = rule.depth_tolerance.metres();
    rule.depths.is_empty()
        || rule.depths.iter().any(|range| {
            (range.top().metres()..=range.bottom().metres() + tolerance).contains(&depth_m)
        })
}

/// The hard layer of each push that has one inside a rule's depth: where it begins, and where the lowest of them ends, in metres.
/// Its lower edge is not known (infinite) where the soil refused the push or the record ended in it.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::diagnosis) struct HardLayers {
    /// Rising.
    tops: Vec<f64>,
    /// Rising.
    bottoms: Vec<f64>,
}

/// Share of the lower edges that loosening must reach below: three in four (own).
const LOOSENED: f64 = 0.75;

impl HardLayers {
    /// Of each push for itself: a mean over pushes would hide a pan whose depth changes from place to place.
    pub fn of(rule: &Rule, pushes: &[Push]) -> Self {
        let (mut tops, mut bottoms) = (Vec::new(), Vec::new());
        for push in pushes {
            if let Some((top, bottom)) = hard_layer(rule, push) {
                tops.push(top);
                bottoms.push(bottom);
            }
        }
        tops.sort_by(f64::total_cmp);
        bottoms.sort_by(f64::total_cmp);
        Self { tops, bottoms }
    }

    /// How deep to loosen: an inch under the lower edge that three in four do not pass, to the nearest whole inch, which leaves half an inch at
    /// least. `None` where
    /// so many lower edges are not known. The edge is one that a push met: between two of them no layer ends.
    pub fn loosening_depth(&self) -> Option<Length> {
        let reached = (LOOSENED * self.bottoms.len() as f64).ceil() as usize;
        let bottom = *self.bottoms.get(reached.checked_sub(1)?)?;
        let under = crate::soil::loosening_depth(&HardLayer {
            top: LayerTop::AtOrAbove(Length::default()),
            bottom: LayerBottom::At(Length::from_metres(bottom)),
            greatest: Pressure::default(),
        });
        under.filter(|_| bottom.is_finite()).map(to_whole_inch)
    }

    /// Where they lie, median and quartiles, in words.
    pub fn placed(&self, units: UnitSystem) -> String {
        if self.tops.is_empty() {
            return String::new();
        }
        format!(
            ", from {} to {} (median and quartiles)",
            quartiles(&self.tops, units),
            quartiles(&self.bottoms, units)
        )
    }
}

/// A depth to which a tool is set, in whole inches: half an inch counts as a whole one, so that what is left under the layer is never less.
fn to_whole_inch(depth: Length) -> Length {
    /// The rounding of decimals, in inches.
    const HAIR: f64 = 1e-6;
    const METRES_PER_INCH: f64 = METRES_PER_FOOT / 12.0;
    let inches = depth.metres() / METRES_PER_INCH;
    Length::from_metres((inches + 0.5 + HAIR).floor() * METRES_PER_INCH)
}

/// "8 (7 to 9) in"; "deeper" stands for an edge that no push reached.
fn quartiles(rising: &[f64], units: UnitSystem) -> String {
    let at = |share: f64| {
        let depth = quantile_of_rising(rising, share).filter(|at| at.is_finite());
        depth.map_or_else(
            || "deeper".to_owned(),
            |depth| Length::from_metres(depth).as_depth(units),
        )
    };
    let (low, middle, high) = (at(0.25), at(0.5), at(0.75));
    if low == high {
        middle
    } else {
        format!("{middle} ({low} to {high})")
    }
}

/// Top and bottom of a push's hard layer, metres.
fn hard_layer(rule: &Rule, push: &Push) -> Option<(f64, f64)> {
    let limit = rule.limit?;
    let read: Vec<&(f64, f64)> = push.iter().filter(|(_, value)| value.is_finite()).collect();
    let depths: Vec<Length> = read
        .iter()
        .map(|(at, _)| Length::from_metres(*at))
        .collect();
    let values = read
        .iter()
        .map(|(_, value)| Pressure::from_kilopascals(*value));
    let values: Vec<Pressure> = values.collect();
    let layers = hard_layers(&depths, &values, limit).unwrap_or_default();
    let edges = |layer: &HardLayer| {
        let bottom = match layer.bottom {
            LayerBottom::At(depth) => depth.metres(),
            LayerBottom::NotReached(_) => f64::INFINITY,
        };
        (layer.top.depth().metres(), bottom)
    };
    let refused = push.last().filter(|(_, value)| value.is_infinite());
    let mut found: Vec<(f64, f64)> = layers.iter().map(edges).collect();
    // A layer that is open where the push was refused is that hard layer.
    if let Some((at, _)) = refused
        && found.last().is_none_or(|(_, bottom)| bottom.is_finite())
    {
        found.push((*at, f64::INFINITY));
    }
    found.retain(|(top, _)| is_inside(rule, *top));
    let top = found.first()?.0;
    Some((top, found.last()?.1))
}

#[cfg(test)]
#[path = "air_tests.rs"]
mod tests;

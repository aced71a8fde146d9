//! `prescription.geojson` (RFC 7946): one feature per zone, the same keys in the same order with the same types in each.

use super::degrees::{Spot, bounds, push_decimal};
use super::escape::json;
use super::overview::{Overview, ZoneView};
use crate::units::{Area, MoneyPerArea, Quantity, decimal};

/// Decimals of areas: a square metre.
const AREA_DECIMALS: usize = 4;
/// Decimals of rates; the step of the controller is coarser.
const RATE_DECIMALS: usize = 6;

/// The file's text.
#[must_use]
pub fn prescription(overview: &Overview<'_>) -> String {
    let vertices: usize =
        overview.zones.iter().flat_map(|z| &z.parts).map(|p| p.outer.len() + p.holes.iter().map(Vec::len).sum::<usize>()).sum();
    let mut out = String::with_capacity(vertices * 28 + overview.zones.len() * 1_000 + 200);
    out.push_str("{\"type\":\"FeatureCollection\",\"name\":");
    out.push_str(&json(&overview.case.settings.field));
    out.push_str(",\"bbox\":");
    push_bounds(&mut out, overview);
    out.push_str(",\"features\":[\n");
    for (place, view) in overview.zones.iter().enumerate() {
        if place > 0 {
            out.push_str(",\n");
        }
        push_feature(&mut out, overview, place, view);
    }
    out.push_str("\n]}\n");
    out
}

fn push_bounds(out: &mut String, overview: &Overview<'_>) {
    let zero = Spot { lon: 0, lat: 0 };
    let (low, high) = bounds(overview.zones.iter().flat_map(|z| &z.parts).flat_map(|p| &p.outer)).unwrap_or((zero, zero));
    out.push('[');
    for (place, steps) in [low.lon, low.lat, high.lon, high.lat].into_iter().enumerate() {
        if place > 0 {
            out.push(',');
        }
        push_decimal(out, steps);
    }
    out.push(']');
}

fn push_feature(out: &mut String, overview: &Overview<'_>, place: usize, view: &ZoneView<'_>) {
    out.push_str("{\"type\":\"Feature\",\"properties\":{");
    for (at, (key, value)) in properties(overview, place, view).into_iter().enumerate() {
        if at > 0 {
            out.push(',');
        }
        out.push_str(&json(&key));
        out.push(':');
        out.push_str(&value);
    }
    out.push_str("},\"geometry\":{\"type\":\"MultiPolygon\",\"coordinates\":[");
    for (at, part) in view.parts.iter().enumerate() {
        out.push_str(if at > 0 { ",[" } else { "[" });
        push_ring(out, &part.outer);
        for hole in &part.holes {
            out.push(',');
            push_ring(out, hole);
        }
        out.push(']');
    }
    out.push_str("]}}");
}

fn push_ring(out: &mut String, ring: &[Spot]) {
    out.push('[');
    for (at, spot) in ring.iter().chain(ring.first()).enumerate() {
        out.push_str(if at > 0 { ",[" } else { "[" });
        push_decimal(out, spot.lon);
        out.push(',');
        push_decimal(out, spot.lat);
        out.push(']');
    }
    out.push(']');
}

/// Names and JSON values of a zone's properties, in their order.
#[must_use]
pub fn properties(overview: &Overview<'_>, place: usize, view: &ZoneView<'_>) -> Vec<(String, String)> {
    let area = |unit: &str| decimal(view.area().in_unit(unit).unwrap_or_default(), AREA_DECIMALS);
    let mut rows = vec![
        ("zone".to_owned(), view.number.to_string()),
        ("area_ha".to_owned(), area(Area::unit_in(crate::units::UnitSystem::Metric))),
        ("area_ac".to_owned(), area(Area::unit_in(crate::units::UnitSystem::UnitedStates))),
    ];
    if overview.columns.iter().all(|column| column.product.name != "starter") {
        // The contract names this property in every prescription; without a starter its rate is 0.
        let unit = crate::units::VolumePerArea::unit_in(overview.units);
        rows.push((super::columns::property_name("starter", unit), "0".to_owned()));
    }
    rows.extend(overview.columns.iter().map(|column| (column.name.clone(), decimal(column.rates[place], RATE_DECIMALS))));
    let limits = view.limits();
    let limit = |at: usize| limits.get(at).map_or_else(|| "null".to_owned(), |finding| json(finding.factor.name()));
    rows.extend((0..3).map(|at| (format!("limit_{}", at + 1), limit(at))));
    let confidence = limits.first().map_or(0.0, |finding| finding.confidence.clamp(0.0, 1.0));
    rows.push(("confidence".to_owned(), decimal(if confidence.is_finite() { confidence } else { 0.0 }, 3)));
    rows.push(("reason".to_owned(), json(&view.rates.reason)));
    let cost = MoneyPerArea::in_unit(view.rates.cost, "USD/ac").unwrap_or_default();
    rows.push(("cost_usd_ac".to_owned(), decimal(cost, 2)));
    rows
}

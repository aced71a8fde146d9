//! `prescription.geojson` (RFC 7946): one feature per zone, the same keys in the same order with the same types in each.

use super::degrees::{Spot, bounds, push_decimal};
use super::escape::json;
use super::overview::{Overview, ZoneView};
use super::properties::properties;

/// The file's text.
#[must_use]
pub fn prescription(overview: &Overview<'_>) -> String {
    let vertices: usize = overview
        .zones
        .iter()
        .flat_map(|z| &z.parts)
        .map(|p| p.outer.len() + p.holes.iter().map(Vec::len).sum::<usize>())
        .sum();
    let mut out = String::with_capacity(vertices * 28 + overview.zones.len() * 1_000 + 200);
    out.push_str("{\"type\":\"FeatureCollection\",\"name\":");
    out.push_str(&json(&overview.stages.settings.field));
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
    let (low, high) = bounds(
        overview
            .zones
            .iter()
            .flat_map(|z| &z.parts)
            .flat_map(|p| &p.outer),
    )
    .unwrap_or((zero, zero));
    out.push('[');
    for (place, steps) in [low.lon, low.lat, high.lon, high.lat]
        .into_iter()
        .enumerate()
    {
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
        out.push_str(&value.json());
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

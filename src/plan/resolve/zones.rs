//! How surfaces and zones are made.

use std::collections::BTreeSet;

use crate::analyte::Analyte;
use crate::plan::defaults;
use crate::plan::file::{SurfaceTable, ZonesTable};
use crate::plan::fixed_or_auto::FixedOrAuto;
use crate::plan::limits;
use crate::plan::reading::{AutoOr, Typed};
use crate::plan::settings::{SurfaceSettings, ZoneMethod, ZoneSettings, ZoneShape};

use super::words::Resolver;

/// More nearest observations than this are all of them, and cost for nothing.
const MOST_NEIGHBOURS: f64 = 1_000.0;
/// A higher power is a map of nearest neighbours.
const HIGHEST_POWER: f64 = 100.0;
/// More zones than this nobody drives.
const MOST_ZONES: f64 = 30.0;

pub(super) fn surface(table: &SurfaceTable, resolver: &Resolver<'_>) -> SurfaceSettings {
    let power = choice(
        &table.power,
        resolver,
        "\"auto\", or a number above 0 and up to 100",
        |p| (p > 0.0 && p <= HIGHEST_POWER).then_some(p),
    );
    let neighbours = choice(
        &table.neighbours,
        resolver,
        "\"auto\", or a whole number from 1 to 1000",
        |n| whole_between(n, 1.0, MOST_NEIGHBOURS),
    );
    SurfaceSettings { power, neighbours }
}

pub(super) fn zones(table: &ZonesTable, resolver: &Resolver<'_>) -> ZoneSettings {
    ZoneSettings {
        count: choice(
            &table.count,
            resolver,
            "\"auto\", or a whole number from 1 to 30",
            |n| whole_between(n, 1.0, MOST_ZONES),
        ),
        layers: layers(table, resolver),
        smallest: resolver
            .within(&table.smallest, &limits::SMALLEST_PATCH)
            .unwrap_or(defaults::SMALLEST_PATCH),
        method: method(table, resolver),
        seed: table.seed.given().map_or(defaults::SEED, |seed| seed.value),
        tolerance: resolver.within(&table.tolerance, &limits::TOLERANCE),
        components: table
            .components
            .given()
            .is_some_and(|components| components.value),
        shape: shape(table, resolver),
    }
}

fn choice<T>(
    typed: &Typed<AutoOr>,
    resolver: &Resolver<'_>,
    allowed: &'static str,
    check: impl Fn(f64) -> Option<T>,
) -> FixedOrAuto<T> {
    let Some(written) = typed.given() else {
        return FixedOrAuto::Auto;
    };
    let AutoOr::Number(number) = written.value else {
        return FixedOrAuto::Auto;
    };
    let checked = check(number);
    if checked.is_none() {
        resolver.out_of_range(&written.place, number, allowed);
    }
    checked.map_or(FixedOrAuto::Auto, FixedOrAuto::Fixed)
}

fn whole_between(number: f64, least: f64, most: f64) -> Option<usize> {
    (number.fract() == 0.0 && (least..=most).contains(&number)).then_some(number as usize)
}

fn method(table: &ZonesTable, resolver: &Resolver<'_>) -> ZoneMethod {
    let exponent = table
        .fuzziness
        .given()
        .map_or(defaults::FUZZINESS, |written| written.value);
    let words = [
        ("k-means", ZoneMethod::KMeans),
        ("fuzzy c-means", ZoneMethod::FuzzyCMeans { exponent }),
    ];
    let method = resolver.word(&table.method, "a way to find zones", &words);
    if let Some(written) = table.fuzziness.given() {
        if !(1.0 < written.value && written.value <= 10.0) {
            resolver.out_of_range(&written.place, written.value, "above 1 and up to 10");
        } else if method == Some(ZoneMethod::KMeans) || !table.method.is_written() {
            let help = "write method = \"fuzzy c-means\", or leave fuzziness out";
            resolver.contradiction(&written.place, "k-means has no fuzziness", help);
        }
    }
    method.unwrap_or_default()
}

fn shape(table: &ZonesTable, resolver: &Resolver<'_>) -> ZoneShape {
    let words = [
        ("smooth", ZoneShape::Smooth),
        ("along passes", ZoneShape::AlongPasses),
    ];
    let shape = resolver
        .word(&table.shape, "a shape of zones", &words)
        .unwrap_or_default();
    if let Some(written) = table
        .tolerance
        .given()
        .filter(|_| shape == ZoneShape::AlongPasses)
    {
        let help = "leave tolerance out, or write shape = \"smooth\"";
        resolver.contradiction(
            &written.place,
            "zones along the passes are not smoothed, so they have no tolerance",
            help,
        );
    }
    shape
}

fn layers(table: &ZonesTable, resolver: &Resolver<'_>) -> Option<Vec<(Analyte, f64)>> {
    let entries = table.layers.given()?;
    if entries.value.is_empty() {
        let help = "name at least one layer, or leave the key out so that every layer with a skilful map counts";
        resolver.contradiction(&entries.place, "zones cannot be shaped by no layer", help);
    }
    let mut seen = BTreeSet::new();
    let mut layers = Vec::new();
    for entry in &entries.value {
        let name = resolver.required(&entry.layer, &entry.place, "layer", "layer = \"ph\"");
        let Some(analyte) = name.and_then(|name| resolver.analyte(name)) else {
            continue;
        };
        let weight = entry.weight.given().map_or(1.0, |weight| weight.value);
        if let Some(written) = entry.weight.given()
            && !(0.0 < weight && weight <= 1_000.0)
        {
            resolver.out_of_range(&written.place, weight, "above 0 and up to 1000");
        }
        if !seen.insert(analyte.clone()) {
            resolver.contradiction(
                &entry.place,
                format!("the layer \"{analyte}\" is named twice"),
                "name it once, with a weight if it counts more",
            );
        }
        layers.push((analyte, weight));
    }
    Some(layers)
}

//! `prescription.geojson` by the `geojson` crate (an independent reader of RFC 7946).

use geo::{Area, MultiPolygon, Winding};
use geojson::{FeatureCollection, GeoJson};

use super::{Invented, delivered, text_of};

pub fn zones(
    text: &str,
) -> Vec<(
    serde_json::Map<String, serde_json::Value>,
    MultiPolygon<f64>,
)> {
    let collection = FeatureCollection::try_from(text.parse::<GeoJson>().expect("GeoJSON"))
        .expect("a collection");
    let feature = |feature: geojson::Feature| {
        let geometry = feature.geometry.expect("every zone has an outline");
        (
            feature.properties.expect("every zone has properties"),
            MultiPolygon::try_from(geometry).expect("always a MultiPolygon"),
        )
    };
    collection.features.into_iter().map(feature).collect()
}

/// A property as a table of a GIS program holds it: several texts stand in one, with semicolons between.
pub fn in_one_cell(value: &serde_json::Value) -> serde_json::Value {
    let texts = value.as_array().map(|texts| {
        let texts: Vec<&str> = texts.iter().filter_map(serde_json::Value::as_str).collect();
        texts.join("; ")
    });
    texts.map_or_else(|| value.clone(), Into::into)
}

/// The properties that are rates of products that some zone gets: those that have a task and a shapefile.
pub fn used_rate_names(
    zones: &[(
        serde_json::Map<String, serde_json::Value>,
        MultiPolygon<f64>,
    )],
) -> Vec<String> {
    let is_used = |name: &String| {
        let mut zones = zones.iter();
        zones.any(|(properties, _)| properties[name.as_str()].as_f64() > Some(0.0))
    };
    rate_names(zones).into_iter().filter(is_used).collect()
}

/// The rates among the properties, in their order.
pub fn rate_names(
    zones: &[(
        serde_json::Map<String, serde_json::Value>,
        MultiPolygon<f64>,
    )],
) -> Vec<String> {
    let is_rate = |name: &&String| {
        ["_gal_ac", "_l_ha", "_lb_ac", "_kg_ha"]
            .iter()
            .any(|end| name.ends_with(end))
    };
    zones[0].0.keys().filter(is_rate).cloned().collect()
}

/// A thousand places in the file's `bbox` and a little round it.
pub fn thousand_places(text: &str, draws: &mut super::Draws) -> Vec<geo::Point<f64>> {
    let map: serde_json::Value = serde_json::from_str(text).unwrap();
    let [west, south, east, north] = [0, 1, 2, 3].map(|at| map["bbox"][at].as_f64().unwrap());
    let mut within = |low: f64, high: f64| low + (draws.next() * 1.04 - 0.02) * (high - low);
    (0..1_000)
        .map(|_| geo::Point::new(within(west, east), within(south, north)))
        .collect()
}

#[test]
fn every_zone_is_a_multipolygon_with_the_same_keys_in_the_same_order() {
    let text = text_of(&delivered(&Invented::small()), "prescription.geojson");
    let zones = zones(&text);
    assert_eq!(zones.len(), 3);
    let expected = [
        "zone",
        "area_ha",
        "area_ac",
        "starter_gal_ac",
        "gypsum_lb_ac",
        "lime_lb_ac",
        "limit_1",
        "limit_2",
        "limit_3",
        "confidence",
        "reason",
        "do_first",
        "not_known",
        "cost_usd_ac",
    ];
    for (properties, _) in &zones {
        assert_eq!(
            properties.keys().map(String::as_str).collect::<Vec<_>>(),
            expected
        );
    }
    assert_eq!(zones[0].0["zone"], 1);
    assert_eq!(zones[0].0["limit_1"], "carbon");
    assert!(zones[1].0["limit_2"].is_null());
    assert_eq!(zones[1].0["starter_gal_ac"], 4.3);
    assert_eq!(
        (
            zones[0].1.0.len(),
            zones[1].1.0.len(),
            zones[2].1.0[0].interiors().len()
        ),
        (2, 2, 2)
    );
}

#[test]
fn the_top_level_stands_in_order_without_a_crs() {
    let text = text_of(&delivered(&Invented::small()), "prescription.geojson");
    let value: serde_json::Value = serde_json::from_str(&text).unwrap();
    let keys: Vec<&str> = value
        .as_object()
        .unwrap()
        .keys()
        .map(String::as_str)
        .collect();
    assert_eq!(keys, ["type", "bbox", "features", "name"]);
    assert!(text.ends_with("}\n") && !text.contains("-0,") && !text.contains("null,null,null]"));
}

#[test]
fn outer_rings_run_counter_clockwise_and_holes_clockwise() {
    for (_, outline) in zones(&text_of(
        &delivered(&Invented::small()),
        "prescription.geojson",
    )) {
        for polygon in outline {
            assert!(polygon.exterior().is_ccw());
            assert!(polygon.interiors().iter().all(geo::LineString::is_cw));
        }
    }
}

#[test]
fn coordinates_have_at_most_eight_decimals_and_no_exponent() {
    let text = text_of(&delivered(&Invented::small()), "prescription.geojson");
    let coordinates = text
        .split("\"coordinates\":")
        .skip(1)
        .map(|rest| rest.split('}').next().unwrap());
    let mut count = 0;
    for number in coordinates
        .flat_map(|part| part.split(['[', ']', ',']))
        .filter(|number| !number.is_empty())
    {
        count += 1;
        assert!(
            number
                .bytes()
                .all(|b| b.is_ascii_digit() || b == b'-' || b == b'.'),
            "{number}"
        );
        assert!(
            number
                .split('.')
                .nth(1)
                .is_none_or(|part| part.len() <= 8 && !part.ends_with('0')),
            "{number}"
        );
    }
    assert!(count > 50);
}

#[test]
fn neighbours_share_the_very_same_vertices_and_areas_add_up() {
    let invented = Invented::small();
    let zones = zones(&text_of(&delivered(&invented), "prescription.geojson"));
    let shared = |a: usize, b: usize| {
        use geo::CoordsIter;
        let of_a: Vec<_> = zones[a].1.coords_iter().collect();
        zones[b]
            .1
            .coords_iter()
            .filter(|c| of_a.contains(c))
            .count()
    };
    assert!(
        shared(0, 2) >= 7,
        "the island's four corners and two of the middle strip"
    );
    assert!(shared(1, 2) >= 4);
    let hectares: f64 = zones
        .iter()
        .map(|(properties, _)| properties["area_ha"].as_f64().unwrap())
        .sum();
    assert!(
        (hectares - invented.field.workable_m2 / 1e4).abs() < 3e-4,
        "each area is rounded to a square metre"
    );
    let square_degrees: f64 = zones
        .iter()
        .map(|(_, outline)| outline.unsigned_area())
        .sum();
    assert!(square_degrees > 0.0);
}

#[test]
fn without_a_starter_its_property_is_zero() {
    let mut invented = Invented::small();
    invented.prescription.products.remove(0);
    invented
        .prescription
        .zones
        .iter_mut()
        .for_each(|zone| drop(zone.rates.remove(0)));
    invented.prescription.recipe = None;
    let zones = zones(&text_of(&delivered(&invented), "prescription.geojson"));
    assert!(
        zones
            .iter()
            .all(|(properties, _)| properties["starter_gal_ac"] == 0)
    );
}

//! The shapefiles by the `shapefile` and `dbase` crates (independent readers).

use std::collections::HashMap;
use std::io::Cursor;

use geo::{Area, Contains, MultiPolygon, Polygon};
use lowstave::deliver::Delivery;
use lowstave::units::{MassPerArea, Quantity};
use shapefile::dbase::FieldValue;
use shapefile::{PolygonRing, Shape, ShapeReader};

use super::{Draws, Invented, delivered, geojson, text_of};

pub fn polygons(delivery: &Delivery, base: &str) -> Vec<Polygon<f64>> {
    let bytes = |end: &str| {
        Cursor::new(
            delivery
                .get(&format!("controller/shapefile/{base}.{end}"))
                .expect("the file")
                .to_vec(),
        )
    };
    let reader =
        ShapeReader::with_shx(bytes("shp"), bytes("shx")).expect("a shapefile with its index");
    reader
        .read()
        .expect("shapes")
        .into_iter()
        .map(|shape| {
            let Shape::Polygon(polygon) = shape else {
                panic!("plain polygons only, not {shape}")
            };
            assert_eq!(polygon.rings().len(), 1, "one part per record, no holes");
            assert!(
                matches!(polygon.rings()[0], PolygonRing::Outer(_)),
                "outer rings run clockwise"
            );
            Polygon::new(
                polygon.rings()[0]
                    .points()
                    .iter()
                    .map(|point| (point.x, point.y))
                    .collect(),
                Vec::new(),
            )
        })
        .collect()
}

pub fn rows(delivery: &Delivery, base: &str) -> Vec<HashMap<String, FieldValue>> {
    let bytes = delivery
        .get(&format!("controller/shapefile/{base}.dbf"))
        .expect("the table")
        .to_vec();
    let mut reader = shapefile::dbase::Reader::new(Cursor::new(bytes)).expect("a dBase table");
    reader
        .read()
        .expect("rows")
        .into_iter()
        .map(|record| record.into_iter().collect())
        .collect()
}

pub fn number(row: &HashMap<String, FieldValue>, field: &str) -> f64 {
    match row.get(field) {
        Some(FieldValue::Numeric(Some(value))) => *value,
        other => panic!("{field} is {other:?}, not a number"),
    }
}

/// Compares the rates of every product with the GeoJSON's at a thousand places round the field; gives how many lie in a zone.
pub fn compare(delivery: &Delivery) -> usize {
    let map = text_of(delivery, "prescription.geojson");
    let (zones, places) = (
        geojson::zones(&map),
        geojson::thousand_places(&map, &mut Draws(1)),
    );
    let mut inside = 0;
    let names = geojson::used_rate_names(&zones);
    for property in &names {
        let (shapes, rows) = (polygons(delivery, property), rows(delivery, property));
        assert_eq!(shapes.len(), rows.len());
        for place in &places {
            let zone = zones.iter().find(|(_, outline)| outline.contains(place));
            let expected = zone.map(|(properties, _)| properties[property].as_f64().unwrap());
            let found: Vec<f64> = shapes
                .iter()
                .zip(&rows)
                .filter(|(shape, _)| shape.contains(place))
                .map(|(_, row)| number(row, "RATE"))
                .collect();
            assert_eq!(
                found,
                expected.into_iter().collect::<Vec<_>>(),
                "{property} at {place:?}"
            );
            inside += found.len();
        }
    }
    inside / names.len().max(1)
}

#[test]
fn rates_at_a_thousand_places_are_those_of_the_geojson() {
    let inside = compare(&delivered(&Invented::small()));
    assert!(
        inside > 700,
        "most places lie in the field, not {inside} only"
    );
}

#[test]
fn the_columns_are_wide_enough_for_the_largest_rate_and_area() {
    let mut invented = Invented::small();
    // More than any spreader carries: 9,999,999.5 lb/ac; the total stays the sum over the zones.
    let rate = <MassPerArea as Quantity>::parse("9999999.5 lb/ac").unwrap();
    let lime = &mut invented.prescription;
    lime.zones[0].rates[2].amount = lowstave::units::ProductRate::Mass(rate);
    let hectares =
        |zone: &lowstave::rates::ZoneRates| invented.zones.zones[zone.zone].area_m2 / 1e4;
    let kilograms = |zone: &lowstave::rates::ZoneRates| match zone.rates[2].amount {
        lowstave::units::ProductRate::Mass(mass) => mass.kilograms_per_hectare() * hectares(zone),
        lowstave::units::ProductRate::Volume(_) => 0.0,
    };
    lime.products[2].total_mass =
        lowstave::units::Mass::from_kilograms(lime.zones.iter().map(kilograms).sum());
    let delivery = delivered(&invented);
    for (base, field) in [("lime_lb_ac", "RATE"), ("zones", "LIME_LB")] {
        let most = rows(&delivery, base)
            .iter()
            .map(|row| number(row, field))
            .fold(0.0, f64::max);
        assert_eq!(most, 9_999_999.5, "{base}");
    }
    let area: f64 = rows(&delivery, "zones")
        .iter()
        .map(|row| number(row, "AREA_AC"))
        .fold(0.0, f64::max);
    assert!(area > 10.0, "{area}");
}

#[test]
fn holes_are_cut_through_and_no_vertex_is_new() {
    let delivery = delivered(&Invented::small());
    let shapes = polygons(&delivery, "zones");
    let zones = geojson::zones(&text_of(&delivery, "prescription.geojson"));
    assert!(
        shapes.len() > 5,
        "the zone with two holes is several records"
    );
    let known: Vec<(u64, u64)> = zones
        .iter()
        .flat_map(|(_, outline)| vertices(outline))
        .collect();
    let all = MultiPolygon::new(shapes.clone());
    assert!(
        vertices(&all).iter().all(|vertex| known.contains(vertex)),
        "bit for bit the vertices of the GeoJSON"
    );
    let (cut, whole) = (
        all.unsigned_area(),
        zones
            .iter()
            .map(|(_, outline)| outline.unsigned_area())
            .sum::<f64>(),
    );
    // Sums of a few products near 1e-6 square degrees differ in the last digits.
    assert!((cut - whole).abs() < 1e-9 * whole);
}

fn vertices(outline: &MultiPolygon<f64>) -> Vec<(u64, u64)> {
    use geo::CoordsIter;
    outline
        .coords_iter()
        .map(|c| (c.x.to_bits(), c.y.to_bits()))
        .collect()
}

#[test]
fn the_combined_table_has_short_names_no_blanks_and_a_table_of_meanings() {
    let delivery = delivered(&Invented::small());
    let rows = rows(&delivery, "zones");
    let names = text_of(&delivery, "controller/shapefile/field_names.csv");
    for row in &rows {
        assert!(row.keys().all(|name| {
            name.len() <= 10
                && name
                    .bytes()
                    .all(|b| b.is_ascii_uppercase() || b.is_ascii_digit() || b == b'_')
        }));
        for field in [
            "ZONE",
            "STARTE_GAL",
            "GYPSUM_LB",
            "LIME_LB",
            "AREA_AC",
            "COST_AC",
            "CONFIDENCE",
        ] {
            assert!(number(row, field).is_finite());
            assert!(
                names.contains(&format!("zones.shp,{field},")),
                "{field} has a meaning"
            );
        }
        assert!(
            row.values()
                .all(|value| !matches!(value, FieldValue::Character(None))),
            "no blank text"
        );
    }
    assert!(names.contains("zones.shp,STARTE_GAL,starter_gal_ac,gal/ac"));
}

#[test]
fn the_projection_is_wgs_84_and_texts_are_utf_8() {
    let delivery = delivered(&Invented::small());
    // The text that PROJ 9.5.1 prints for EPSG:4326 as WKT1_ESRI.
    let wgs84 = "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]]";
    assert_eq!(
        text_of(&delivery, "controller/shapefile/gypsum_lb_ac.prj"),
        wgs84
    );
    assert_eq!(
        text_of(&delivery, "controller/shapefile/gypsum_lb_ac.cpg"),
        "UTF-8"
    );
}

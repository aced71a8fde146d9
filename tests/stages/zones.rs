//! Stage tests: zones.

use geo::{Area, BooleanOps, BoundingRect, Intersects, MultiPolygon, Validation};
use lowstave::zones::{Zones, delineate};

use crate::made_zone_fields::numbered;

/// 1 cm², the most that issue and contract allow.
const GAP: f64 = 1e-4;

/// The stretches of a level line inside an area, from west to east.
fn stretches(area: &MultiPolygon<f64>, y: f64) -> Vec<(f64, f64)> {
    let rings = area.iter().flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    let mut crossings: Vec<f64> = rings
        .flat_map(|ring| ring.lines().collect::<Vec<_>>())
        .filter(|line| (line.start.y > y) != (line.end.y > y))
        .map(|line| line.start.x + (y - line.start.y) / line.dy() * line.dx())
        .collect();
    crossings.sort_by(f64::total_cmp);
    crossings.chunks_exact(2).map(|pair| (pair[0], pair[1])).collect()
}

/// Area inside exactly one of "some zone" and "the whole", plus area inside two zones, by summing along level lines: a way that
/// shares nothing with the program's and, in double precision, sees far less than a square centimetre.
fn untiled(zones: &[&MultiPolygon<f64>], whole: &MultiPolygon<f64>) -> f64 {
    const LINES: usize = 400;
    let bounds = whole.bounding_rect().unwrap();
    let step = bounds.height() / LINES as f64;
    let of_line = |line: usize| -> f64 {
        // Off the middle, so that no line runs along a row of vertices.
        let y = bounds.min().y + (line as f64 + 0.437_251) * step;
        let mut ends: Vec<(f64, i32, i32)> = Vec::new();
        ends.extend(zones.iter().flat_map(|zone| stretches(zone, y)).flat_map(|(from, to)| [(from, 1, 0), (to, -1, 0)]));
        ends.extend(stretches(whole, y).into_iter().flat_map(|(from, to)| [(from, 0, 1), (to, 0, -1)]));
        ends.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut cover, mut inside, mut last, mut wrong) = (0, 0, f64::NEG_INFINITY, 0.0);
        for (x, zone, field) in ends {
            if cover != inside {
                wrong += x - last;
            }
            (cover, inside, last) = (cover + zone, inside + field, x);
        }
        wrong
    };
    (0..LINES).map(of_line).sum::<f64>() * step
}

fn check(number: u64) -> Zones {
    let (field, surfaces, settings) = numbered(number);
    let zones = delineate(&field, &surfaces, &settings).unwrap_or_else(|e| panic!("field {number}: {e:?}"));
    let sum: f64 = zones.zones.iter().map(|zone| zone.shape.unsigned_area()).sum();
    assert!((sum - field.workable.unsigned_area()).abs() < GAP, "field {number}: areas");
    let shapes: Vec<&MultiPolygon<f64>> = zones.zones.iter().map(|zone| &zone.shape).collect();
    let wrong = untiled(&shapes, &field.workable);
    assert!(wrong < GAP, "field {number}: {wrong} m² of gap or overlap");
    for (index, zone) in zones.zones.iter().enumerate() {
        assert!(zone.shape.is_valid(), "field {number} zone {index} in metres: {:?}", zone.shape.validation_errors());
        assert!(zone.lonlat.is_valid(), "field {number} zone {index} in degrees: {:?}", zone.lonlat.validation_errors());
        for other in &zones.zones[index + 1..] {
            let (a, b) = (zone.shape.bounding_rect().unwrap(), other.shape.bounding_rect().unwrap());
            if a.intersects(&b) {
                let overlap = zone.shape.intersection(&other.shape).unsigned_area();
                assert!(overlap < GAP, "field {number}: overlap {overlap}");
            }
        }
    }
    zones
}

#[test]
fn zones_of_two_hundred_fields_tile_their_workable_area() {
    for number in 0..200 {
        let zones = check(number);
        eprintln!("{number} {} zones", zones.zones.len());
    }
}

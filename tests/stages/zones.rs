//! Stage tests: zones.

#![allow(
    clippy::panic,
    clippy::unwrap_used,
    reason = "what goes wrong here fails the test"
)]

use std::collections::{BTreeMap, BTreeSet};

use geo::{
    Area, BooleanOps, BoundingRect, Contains, Coord, CoordsIter, Distance, Euclidean, Intersects,
    MultiPolygon, Point, Validation, Winding,
};
use lowstave::analyte::{Analyte, DepthRange, LayerKey, Method};
use lowstave::field::Field;
use lowstave::plan::{FixedOrAuto, Settings, ZoneMethod, ZoneShape};
use lowstave::remark::Level;
use lowstave::surface::{Flat, Map, Surfaces};
use lowstave::units::Length;
use lowstave::zones::indices::variance_explained_by_layer;
use lowstave::zones::standardise::Features;
use lowstave::zones::{Zone, Zones, delineate};
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use crate::made_threads::on_threads;
use crate::made_zone_fields::{drawn, field, numbered, outline, settings, surfaces, unit, waves};

/// 1 cm², the most that issue and contract allow.
const GAP: f64 = 1e-4;

/// The stretches of a level line inside an area, from west to east.
fn stretches(area: &MultiPolygon<f64>, y: f64) -> Vec<(f64, f64)> {
    let rings = area
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    let mut crossings: Vec<f64> = rings
        .flat_map(|ring| ring.lines().collect::<Vec<_>>())
        .filter(|line| (line.start.y > y) != (line.end.y > y))
        .map(|line| line.start.x + (y - line.start.y) / line.dy() * line.dx())
        .collect();
    crossings.sort_by(f64::total_cmp);
    crossings
        .chunks_exact(2)
        .map(|pair| (pair[0], pair[1]))
        .collect()
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
        ends.extend(
            zones
                .iter()
                .flat_map(|zone| stretches(zone, y))
                .flat_map(|(from, to)| [(from, 1, 0), (to, -1, 0)]),
        );
        ends.extend(
            stretches(whole, y)
                .into_iter()
                .flat_map(|(from, to)| [(from, 0, 1), (to, 0, -1)]),
        );
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

fn bits(coord: Coord<f64>) -> [u64; 2] {
    [coord.x.to_bits(), coord.y.to_bits()]
}

/// Every directed edge with the index of its zone.
fn edges(zones: &[MultiPolygon<f64>]) -> Vec<([u64; 2], [u64; 2], usize)> {
    let rings = |zone: &MultiPolygon<f64>| -> Vec<geo::LineString<f64>> {
        zone.iter()
            .flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors()))
            .cloned()
            .collect()
    };
    let of_zone = |(index, zone): (usize, &MultiPolygon<f64>)| -> Vec<_> {
        rings(zone)
            .iter()
            .flat_map(|ring| {
                ring.lines()
                    .map(|l| (bits(l.start), bits(l.end), index))
                    .collect::<Vec<_>>()
            })
            .collect()
    };
    zones.iter().enumerate().flat_map(of_zone).collect()
}

fn check(number: u64) -> Zones {
    let (field, surfaces, settings) = numbered(number);
    check_made(number, &field, &surfaces, &settings)
}

fn check_made(number: u64, field: &Field, surfaces: &Surfaces, settings: &Settings) -> Zones {
    let zones =
        delineate(field, surfaces, settings).unwrap_or_else(|e| panic!("field {number}: {e:?}"));
    let sum: f64 = zones
        .zones
        .iter()
        .map(|zone| zone.shape.unsigned_area())
        .sum();
    assert!(
        (sum - field.workable.unsigned_area()).abs() < GAP,
        "field {number}: areas"
    );
    let shapes: Vec<&MultiPolygon<f64>> = zones.zones.iter().map(|zone| &zone.shape).collect();
    let wrong = untiled(&shapes, &field.workable);
    assert!(wrong < GAP, "field {number}: {wrong} m² of gap or overlap");
    for (index, zone) in zones.zones.iter().enumerate() {
        assert!(
            zone.shape.is_valid(),
            "field {number} zone {index} in metres: {:?}",
            zone.shape.validation_errors()
        );
        assert!(
            zone.lonlat.is_valid(),
            "field {number} zone {index} in degrees: {:?}",
            zone.lonlat.validation_errors()
        );
        for other in &zones.zones[index + 1..] {
            let (a, b) = (
                zone.shape.bounding_rect().unwrap(),
                other.shape.bounding_rect().unwrap(),
            );
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
    let with_neighbours = (0..200)
        .into_par_iter()
        .filter(|&number| check(number).zones.len() > 1)
        .count();
    // Fields that ended as one zone would prove nothing.
    assert!(
        with_neighbours > 120,
        "only {with_neighbours} of 200 fields had more than one zone"
    );
}

/// Along passes: every line between two zones runs with the way of travel or square to it, and the fields tile as ever.
#[test]
fn zones_along_the_passes_have_edges_along_and_across_the_way_of_travel() {
    let crooked = |number: u64| {
        let (field, surfaces, mut settings) = numbered(number);
        settings.zones.shape = ZoneShape::AlongPasses;
        let zones = check_made(number, &field, &surfaces, &settings);
        let edges = edges(
            &zones
                .zones
                .iter()
                .map(|zone| zone.shape.clone())
                .collect::<Vec<_>>(),
        );
        let all: BTreeSet<_> = edges.iter().map(|(from, to, _)| (*from, *to)).collect();
        let (east, north) = settings.machine.heading.to_radians().sin_cos();
        let shared: Vec<_> = edges
            .iter()
            .filter(|(from, to, _)| all.contains(&(*to, *from)))
            .collect();
        for (from, to, _) in &shared {
            let (dx, dy) = (
                f64::from_bits(to[0]) - f64::from_bits(from[0]),
                f64::from_bits(to[1]) - f64::from_bits(from[1]),
            );
            // Distance by which the edge leaves its direction; a line may bend by 2 cm to meet a vertex of the outline.
            let off = (dx * north - dy * east)
                .abs()
                .min((dx * east + dy * north).abs());
            assert!(
                off < 0.03,
                "field {number}: an edge from {dx:.2}, {dy:.2} leaves its direction by {off} m"
            );
        }
        usize::from(!shared.is_empty())
    };
    let divided: usize = (0..80).into_par_iter().map(crooked).sum();
    assert!(
        divided > 30,
        "only {divided} of 80 fields had more than one zone"
    );
}

/// A layer that is told three times must not outweigh another; as components it counts once.
#[test]
fn twins_count_once_as_components() {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let field = field(outline(&mut random, 0), 3.0);
    let (one, other) = (
        waves(&mut random, &field.grid, 60.0),
        waves(&mut random, &field.grid, 60.0),
    );
    let scaled = |by: f32| -> Vec<f32> { one.iter().map(|value| value * by).collect() };
    let pair = surfaces(vec![
        drawn(Analyte::Ph, one.clone(), 0.6),
        drawn(Analyte::Clay, other.clone(), 0.6),
    ]);
    let thrice = surfaces(vec![
        drawn(Analyte::Ph, one.clone(), 0.6),
        drawn(Analyte::Sand, scaled(-3.0), 0.6),
        drawn(Analyte::Silt, scaled(2.0), 0.6),
        drawn(Analyte::Clay, other, 0.6),
    ]);
    let mut settings = settings(FixedOrAuto::Fixed(3), 600.0);
    let explained = |zones: &Zones, layer: &[f32]| {
        let labels: Vec<u8> = zones.of_cell.iter().map(|zone| *zone as u8).collect();
        variance_explained_by_layer(&Features::as_they_are(vec![layer.to_vec()]), &labels)[0]
    };
    let clay = |zones: &Zones| {
        let Map::Drawn { values, .. } = &pair
            .surfaces
            .iter()
            .find(|surface| surface.key.analyte == Analyte::Clay)
            .unwrap()
            .map
        else {
            panic!("a map")
        };
        explained(zones, values)
    };
    // Named layers count as they are named; those that nobody names share one say.
    let shared = delineate(&field, &thrice, &settings).unwrap();
    let all = [Analyte::Ph, Analyte::Sand, Analyte::Silt, Analyte::Clay];
    settings.zones.layers = Some(all.map(|analyte| (analyte, 1.0)).to_vec());
    let loud = delineate(&field, &thrice, &settings).unwrap();
    assert!(clay(&shared) > clay(&loud) + 0.1 && shared.remarks.is_empty());
    assert!(
        loud.components.is_empty()
            && loud
                .remarks
                .iter()
                .any(|remark| remark.code == "zone-layers-alike")
    );
    settings.zones.components = true;
    settings.zones.layers = None;
    let even = delineate(&field, &thrice, &settings).unwrap();
    assert_eq!(even.components.len(), 4);
    assert!(
        even.remarks
            .iter()
            .all(|remark| remark.code != "zone-layers-alike")
    );
    let kept: f64 = even
        .components
        .iter()
        .filter(|component| component.is_kept)
        .map(|component| component.share)
        .sum();
    assert!(kept > 0.99, "{:?}", even.components);
    assert!(
        clay(&even) > clay(&loud) + 0.1,
        "clay explains {} with components and {} without",
        clay(&even),
        clay(&loud)
    );
}

/// Every vertex on a common edge is a vertex of both: a directed edge of one zone is, turned round, an edge of another or lies on the
/// outline.
#[test]
fn neighbours_share_every_vertex_of_their_common_edge() {
    for number in 0..40 {
        let (field, surfaces, settings) = numbered(number);
        let zones = delineate(&field, &surfaces, &settings).unwrap();
        for shape in [
            |zone: &Zone| zone.shape.clone(),
            |zone: &Zone| zone.lonlat.clone(),
        ] {
            let edges = edges(&zones.zones.iter().map(shape).collect::<Vec<_>>());
            let all: BTreeSet<_> = edges.iter().map(|(from, to, _)| (*from, *to)).collect();
            assert_eq!(
                all.len(),
                edges.len(),
                "field {number}: an edge is used twice in one direction"
            );
            let lonely: Vec<_> = edges
                .iter()
                .filter(|(from, to, _)| !all.contains(&(*to, *from)))
                .collect();
            // Lonely edges run round the outline: each of their vertices is left as often as it is reached.
            let mut balance = BTreeMap::new();
            for (from, to, _) in &lonely {
                *balance.entry(*from).or_insert(0) += 1;
                *balance.entry(*to).or_insert(0) -= 1;
            }
            assert!(
                balance.values().all(|&sum| sum == 0),
                "field {number}: the outer edges do not close"
            );
        }
    }
}

#[test]
fn every_vertex_of_the_outline_survives_bit_for_bit() {
    for number in 0..40 {
        let (field, surfaces, settings) = numbered(number);
        let zones = delineate(&field, &surfaces, &settings).unwrap();
        let ours: BTreeSet<[u64; 2]> = zones
            .zones
            .iter()
            .flat_map(|zone| zone.shape.coords_iter())
            .map(bits)
            .collect();
        for coord in field.workable.coords_iter() {
            assert!(
                ours.contains(&bits(coord)),
                "field {number}: the vertex {coord:?} of the outline is gone"
            );
        }
    }
}

#[test]
fn rings_wind_as_rfc_7946_wants_and_start_at_their_least_vertex() {
    for number in 0..40 {
        let (field, surfaces, settings) = numbered(number);
        let zones = delineate(&field, &surfaces, &settings).unwrap();
        for shape in zones
            .zones
            .iter()
            .flat_map(|zone| [&zone.shape, &zone.lonlat])
        {
            for polygon in shape {
                assert!(polygon.exterior().is_ccw());
                assert!(polygon.interiors().iter().all(Winding::is_cw));
            }
        }
        for ring in zones
            .zones
            .iter()
            .flat_map(|zone| &zone.lonlat)
            .map(geo::Polygon::exterior)
        {
            assert!(
                ring.0
                    .iter()
                    .all(|c| (ring.0[0].x, ring.0[0].y) <= (c.x, c.y)),
                "field {number}"
            );
        }
    }
}

#[test]
fn degrees_have_eight_decimals_and_the_area_is_that_on_the_ellipsoid() {
    let (field, surfaces, settings) = numbered(2);
    let zones = delineate(&field, &surfaces, &settings).unwrap();
    for coord in zones
        .zones
        .iter()
        .flat_map(|zone| zone.lonlat.coords_iter())
    {
        assert_eq!(coord.x, format!("{:.8}", coord.x).parse::<f64>().unwrap());
        assert_eq!(coord.y, format!("{:.8}", coord.y).parse::<f64>().unwrap());
    }
    // The plane keeps areas to 0.000 001 %; vertices move by less than a millimetre.
    let sum: f64 = zones.zones.iter().map(|zone| zone.area_m2).sum();
    assert!((sum / field.workable.unsigned_area() - 1.0).abs() < 1e-5);
}

#[test]
fn the_same_zones_come_out_on_any_number_of_threads() {
    for number in 0..8 {
        let (field, surfaces, mut settings) = numbered(number);
        settings.zones.count = if number % 2 == 0 {
            FixedOrAuto::Auto
        } else {
            settings.zones.count
        };
        let on = |threads: usize| {
            // The debug form prints every number in full: the same text is the same bytes.
            on_threads(threads, || {
                format!("{:?}", delineate(&field, &surfaces, &settings))
            })
        };
        let one = on(1);
        assert!(one == on(2) && one == on(8), "field {number}");
    }
}

#[test]
fn the_order_of_layers_names_and_vertices_does_not_matter() {
    for number in 0..16 {
        let (mut field, mut surfaces, mut settings) = numbered(number);
        settings.zones.layers = Some(vec![
            (Analyte::Clay, 2.0),
            (Analyte::Ph, 1.0),
            (Analyte::Phosphorus, 0.5),
        ]);
        let before = format!("{:?}", delineate(&field, &surfaces, &settings));
        surfaces.surfaces.reverse();
        settings.zones.layers.as_mut().unwrap().rotate_left(1);
        let mut parts = field.workable.0.clone();
        parts.reverse();
        for polygon in &mut parts {
            polygon.exterior_mut(|ring| {
                ring.0.pop();
                ring.0.rotate_left(3);
                ring.close();
                ring.0.reverse();
            });
        }
        field.workable = MultiPolygon::new(parts);
        assert_eq!(
            before,
            format!("{:?}", delineate(&field, &surfaces, &settings)),
            "field {number}"
        );
    }
}

/// The zones of a large field after each value moved by a thousandth of its spread: nearly every cell keeps its zone's number.
#[test]
fn a_small_change_in_the_data_does_not_shuffle_the_zones() {
    for number in [0, 1, 2, 3, 5, 8, 9, 10, 11, 13] {
        let (field, surfaces, settings) = numbered(number);
        let before = delineate(&field, &surfaces, &settings).unwrap();
        let mut random = ChaCha8Rng::seed_from_u64(number);
        let mut moved = surfaces.clone();
        for surface in &mut moved.surfaces {
            if let Map::Drawn { values, .. } = &mut surface.map {
                for value in values {
                    *value += 0.001 * (unit(&mut random) as f32 - 0.5);
                }
            }
        }
        let after = delineate(&field, &moved, &settings).unwrap();
        let kept = before
            .of_cell
            .iter()
            .zip(&after.of_cell)
            .filter(|(a, b)| a == b)
            .count();
        assert!(
            kept as f64 > 0.97 * before.of_cell.len() as f64,
            "field {number}: {kept} of {} cells",
            before.of_cell.len()
        );
    }
}

#[test]
fn cells_have_the_zone_of_the_polygon_over_their_middle() {
    for number in 0..40 {
        let (field, surfaces, settings) = numbered(number);
        let zones = delineate(&field, &surfaces, &settings).unwrap();
        assert_eq!(zones.of_cell.len(), field.grid.cells.len());
        let mut astray = 0;
        for (&zone, &cell) in zones.of_cell.iter().zip(&field.grid.cells) {
            let middle = Point::from(field.grid.centre(cell));
            if field.workable.contains(&middle)
                && !zones.zones[zone as usize].shape.contains(&middle)
            {
                astray += 1;
                // Smoothing moves a line by half a cell and cuts corners: never farther than a cell from the middle.
                let off = Euclidean.distance(&middle, &zones.zones[zone as usize].shape);
                assert!(
                    off < 1.05 * field.grid.cell,
                    "field {number}: a cell lies {off} m from its zone"
                );
            }
        }
        // A border cell in twelve: the smallest fields are nearly all border.
        assert!(
            astray * 12 < zones.of_cell.len(),
            "field {number}: {astray} of {} cells",
            zones.of_cell.len()
        );
    }
}

#[test]
fn no_part_is_smaller_than_the_plan_allows_unless_it_stands_alone() {
    for number in 0..60 {
        let (field, surfaces, settings) = numbered(number);
        let zones = delineate(&field, &surfaces, &settings).unwrap();
        let alone: Vec<f64> = field.workable.iter().map(Area::unsigned_area).collect();
        for part in zones.zones.iter().flat_map(|zone| &zone.shape) {
            let area = part.unsigned_area();
            let is_whole = alone.iter().any(|whole| (whole - area).abs() < GAP);
            assert!(
                area >= settings.zones.smallest.square_metres() - GAP || is_whole,
                "field {number}: a part of {area} m²"
            );
        }
    }
}

/// Along the direction of travel a zone is two swaths long, but where the outline cuts it.
#[test]
fn hardly_any_pass_changes_its_rate_within_two_swaths() {
    let (mut short, mut all) = (0.0, 0.0);
    for number in [0, 1, 2, 5, 8, 9, 10, 13, 16, 17, 18, 21] {
        let (field, surfaces, mut settings) = numbered(number);
        settings.machine.heading = 90.0;
        let zones = delineate(&field, &surfaces, &settings).unwrap();
        let bounds = field.workable.bounding_rect().unwrap();
        let two_swaths = 2.0 * settings.machine.swath.metres();
        for line in 0..300 {
            let y = bounds.min().y + (f64::from(line) + 0.371) / 300.0 * bounds.height();
            let outline: Vec<f64> = stretches(&field.workable, y)
                .into_iter()
                .flat_map(|(from, to)| [from, to])
                .collect();
            let is_end = |x: f64| outline.iter().any(|end| (end - x).abs() < 1e-6);
            for (from, to) in zones
                .zones
                .iter()
                .flat_map(|zone| stretches(&zone.shape, y))
            {
                all += to - from;
                // Smoothing may move both ends by half a cell.
                if to - from < two_swaths - field.grid.cell && !is_end(from) && !is_end(to) {
                    short += to - from;
                }
            }
        }
    }
    assert!(short < 0.002 * all, "{short} m of {all} m");
}

#[test]
fn a_field_without_maps_is_one_zone_and_says_so() {
    let (field, mut surfaces, settings) = numbered(3);
    for surface in &mut surfaces.surfaces {
        surface.map = Map::Flat {
            value: 6.5,
            standard_error: 0.4,
            why: Flat::NoSkill,
        };
    }
    let zones = delineate(&field, &surfaces, &settings).unwrap();
    assert_eq!(zones.zones.len(), 1);
    assert!(zones.layers.is_empty() && zones.of_cell.iter().all(|&zone| zone == 0));
    assert_eq!(zones.remarks[0].code, "one-zone-for-want-of-maps");
    assert_eq!(zones.remarks[0].level, Level::Warning);
    assert!(untiled(&[&zones.zones[0].shape], &field.workable) < GAP);
}

#[test]
fn maps_that_predict_little_are_not_worth_dividing_a_field_for() {
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let field = field(outline(&mut random, 0), 3.0);
    let poor = surfaces(vec![drawn(
        Analyte::Ph,
        waves(&mut random, &field.grid, 100.0),
        0.05,
    )]);
    let zones = delineate(&field, &poor, &settings(FixedOrAuto::Auto, 600.0)).unwrap();
    assert_eq!(zones.zones.len(), 1);
    assert!(zones.why.starts_with("One zone: even "), "{}", zones.why);
    assert_eq!(
        zones.tried.iter().map(|row| row.count).collect::<Vec<_>>(),
        [2, 3, 4, 5, 6, 7, 8]
    );
}

#[test]
fn three_plain_levels_are_three_zones() {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let field = field(outline(&mut random, 0), 3.0);
    let level = |&cell: &u32| {
        let (x, _) = field.grid.centre(cell);
        (if x < -60.0 {
            5.2
        } else if x < 50.0 {
            6.1
        } else {
            7.3
        }) + 0.05 * (unit(&mut ChaCha8Rng::seed_from_u64(u64::from(cell))) as f32)
    };
    let layers = surfaces(vec![drawn(
        Analyte::Ph,
        field.grid.cells.iter().map(level).collect(),
        0.8,
    )]);
    let zones = delineate(&field, &layers, &settings(FixedOrAuto::Auto, 600.0)).unwrap();
    assert_eq!(zones.zones.len(), 3, "{} {:?}", zones.why, zones.tried);
    // Ordered from low to high.
    let west = |zone: &Zone| zone.shape.bounding_rect().unwrap().min().x;
    assert!(
        west(&zones.zones[0]) < west(&zones.zones[1])
            && west(&zones.zones[1]) < west(&zones.zones[2])
    );
}

#[test]
fn fuzzy_c_means_divides_as_well() {
    let (field, surfaces, mut settings) = numbered(1);
    settings.zones.method = ZoneMethod::FuzzyCMeans { exponent: 1.3 };
    settings.zones.count = FixedOrAuto::Fixed(3);
    let zones = delineate(&field, &surfaces, &settings).unwrap();
    assert_eq!(zones.zones.len(), 3);
    let shapes: Vec<&MultiPolygon<f64>> = zones.zones.iter().map(|zone| &zone.shape).collect();
    assert!(untiled(&shapes, &field.workable) < GAP);
}

#[test]
fn of_many_cone_layers_only_the_maximum_shapes_the_zones() {
    let (field, mut surfaces, settings) = numbered(1);
    let mut random = ChaCha8Rng::seed_from_u64(1);
    for method in ["profile", "profile-maximum"] {
        let mut layer = drawn(
            Analyte::ConeIndex,
            waves(&mut random, &field.grid, 80.0),
            0.5,
        );
        layer.key.method = Some(Method::new(method));
        surfaces.surfaces.push(layer);
    }
    let zones = delineate(&field, &surfaces, &settings).unwrap();
    let cone: Vec<_> = zones
        .layers
        .iter()
        .filter(|(key, _)| key.analyte == Analyte::ConeIndex)
        .collect();
    assert_eq!(cone.len(), 1);
    assert_eq!(cone[0].0.method.as_ref().unwrap().name(), "profile-maximum");
}

#[test]
fn layers_of_one_name_share_its_weight_and_absent_ones_are_remarked() {
    let (field, mut surfaces, mut settings) = numbered(1);
    let mut deeper = surfaces
        .get(&LayerKey::new(Analyte::Ph, None, None))
        .unwrap()
        .clone();
    deeper.key.depth = Some(DepthRange::parse("6-12 in", None).unwrap());
    surfaces.surfaces.push(deeper);
    settings.zones.layers = Some(vec![
        (Analyte::Ph, 2.0),
        (Analyte::Clay, 1.0),
        (Analyte::Boron, 1.0),
    ]);
    let zones = delineate(&field, &surfaces, &settings).unwrap();
    let weights: Vec<(String, f64)> = zones
        .layers
        .iter()
        .map(|(key, weight)| (key.analyte.name(), *weight))
        .collect();
    assert_eq!(
        weights,
        [
            ("ph".to_owned(), 1.0),
            ("ph".to_owned(), 1.0),
            ("clay".to_owned(), 1.0)
        ]
    );
    assert_eq!(
        zones
            .remarks
            .iter()
            .map(|remark| remark.code)
            .collect::<Vec<_>>(),
        ["zone-layer-missing", "zone-layers-alike"]
    );
}

#[test]
fn all_that_is_wrong_is_said_at_once() {
    let (field, mut surfaces, mut settings) = numbered(0);
    settings.zones.count = FixedOrAuto::Fixed(0);
    settings.zones.method = ZoneMethod::FuzzyCMeans { exponent: 1.0 };
    settings.zones.layers = Some(vec![(Analyte::Ph, -1.0)]);
    let Map::Drawn { values, .. } = &mut surfaces.surfaces[0].map else {
        panic!("a map")
    };
    values[17] = f32::NAN;
    let Map::Drawn { values, .. } = &mut surfaces.surfaces[1].map else {
        panic!("a map")
    };
    values.pop();
    let problems = delineate(&field, &surfaces, &settings).unwrap_err();
    let text: Vec<String> = problems.iter().map(ToString::to_string).collect();
    assert_eq!(problems.len(), 5, "{text:?}");
    assert!(
        text.iter()
            .any(|t| t.contains("zones.count is 0, allowed are 1 to 254")),
        "{text:?}"
    );
    assert!(
        text.iter().any(|t| t.contains("the first is cell 17")),
        "{text:?}"
    );
}

/// Outlines and settings that leave nothing to chance: edges along the lines of the grid, holes that touch the outline or each other in
/// a vertex, vertices a millimetre apart, noise instead of maps, no smallest patch, tolerances from none to many cells.
#[test]
fn awkward_outlines_noise_and_extreme_settings_tile_too() {
    for shape in [ZoneShape::Smooth, ZoneShape::AlongPasses] {
        let worst = (0..60)
            .into_par_iter()
            .map(|number| awkward(number, shape))
            .reduce(|| 0.0, f64::max);
        assert!(worst < GAP, "{shape:?}: {worst}");
    }
}

fn awkward(number: u64, shape: ZoneShape) -> f64 {
    let mut random = ChaCha8Rng::seed_from_u64(1000 + number);
    let workable = awkward_outline(number);
    assert!(
        workable.is_valid(),
        "{number}: {:?}",
        workable.validation_errors()
    );
    let field = field(workable, [2.0, 3.0, 5.0][(number % 3) as usize]);
    let values = |random: &mut ChaCha8Rng| -> Vec<f32> {
        if number.is_multiple_of(2) {
            waves(random, &field.grid, 15.0)
        } else {
            field
                .grid
                .cells
                .iter()
                .map(|_| unit(random) as f32)
                .collect()
        }
    };
    let layers = surfaces(vec![
        drawn(Analyte::Ph, values(&mut random), 0.5),
        drawn(Analyte::Clay, values(&mut random), 0.5),
    ]);
    let mut settings = settings(
        FixedOrAuto::Fixed(2 + (number % 6) as usize),
        [0.0, 20.0, 400.0][(number / 2 % 3) as usize],
    );
    settings.machine.swath =
        Length::from_metres([0.5, 6.0, 30.0, 500.0][(number / 3 % 4) as usize]);
    settings.machine.heading = 360.0 * unit(&mut random);
    settings.zones.shape = shape;
    settings.zones.tolerance = [None, Some(0.0), Some(0.3), Some(8.0), Some(40.0)]
        [(number % 5) as usize]
        .map(Length::from_metres);
    let zones = delineate(&field, &layers, &settings).unwrap_or_else(|e| panic!("{number}: {e:?}"));
    for zone in &zones.zones {
        assert!(
            zone.shape.is_valid(),
            "{number} in metres: {:?}",
            zone.shape.validation_errors()
        );
        assert!(
            zone.lonlat.is_valid(),
            "{number} in degrees: {:?}",
            zone.lonlat.validation_errors()
        );
    }
    let shapes: Vec<&MultiPolygon<f64>> = zones.zones.iter().map(|zone| &zone.shape).collect();
    untiled(&shapes, &field.workable)
}

fn awkward_outline(number: u64) -> MultiPolygon<f64> {
    let ring = |points: &[(f64, f64)]| {
        let mut line = geo::LineString::from(points.to_vec());
        line.close();
        line
    };
    let square =
        |x: f64, y: f64, side: f64| [(x, y), (x + side, y), (x + side, y + side), (x, y + side)];
    let one = |outer: &[(f64, f64)], holes: Vec<geo::LineString<f64>>| {
        geo::Polygon::new(ring(outer), holes)
    };
    match number % 6 {
        0 => MultiPolygon::new(vec![one(
            &square(-60.0, -60.0, 120.0),
            vec![ring(&square(-30.0, -30.0, 30.0))],
        )]),
        // A hole that touches the outline in a vertex, and one that touches the hole.
        1 => MultiPolygon::new(vec![one(
            &[
                (-90.0, -60.0),
                (90.0, -60.0),
                (90.0, 60.0),
                (0.0, 60.0),
                (-90.0, 60.0),
            ],
            vec![
                ring(&[(0.0, 60.0), (-20.0, 30.0), (20.0, 30.0)]),
                ring(&[(-20.0, 30.0), (-50.0, 10.0), (-10.0, 0.0)]),
            ],
        )]),
        // Two parts that touch in a vertex.
        2 => MultiPolygon::new(vec![
            one(&square(-60.0, -60.0, 60.0), vec![]),
            one(&square(0.0, 0.0, 60.0), vec![]),
        ]),
        // A round field of vertices some millimetres apart on one side.
        3 => {
            let fine = (0..400).map(|i| f64::from(i) * 1e-5);
            let angles = fine.chain((1..60).map(|i| 0.1 * f64::from(i)));
            MultiPolygon::new(vec![one(
                &angles
                    .map(|a| (200.0 * a.cos(), 200.0 * a.sin()))
                    .collect::<Vec<_>>(),
                vec![],
            )])
        }
        // A comb of strips thinner than a cell.
        4 => {
            let mut points = vec![(0.0, -40.0)];
            for tooth in 0..12 {
                let x = 10.0 * f64::from(tooth);
                points.extend([
                    (x + 8.5, -40.0),
                    (x + 8.5, 60.0),
                    (x + 10.0, 60.0),
                    (x + 10.0, -40.0),
                ]);
            }
            points.extend([(125.0, -40.0), (125.0, -80.0), (0.0, -80.0)]);
            MultiPolygon::new(vec![one(&points, vec![])])
        }
        // A waterway a fifth of a metre wide that cuts the field nearly in two.
        _ => MultiPolygon::new(vec![one(
            &square(-100.0, -100.0, 200.0),
            vec![ring(&[
                (-95.0, 3.0),
                (-20.0, 14.0),
                (40.0, -9.0),
                (98.0, 1.0),
                (98.0, 1.2),
                (40.0, -8.8),
                (-20.0, 14.2),
                (-95.0, 3.2),
            ])],
        )]),
    }
}

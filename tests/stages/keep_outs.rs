//! Keep-outs through the field stage's front door: what each takes, what is said where one misses the field, and speed.

use std::path::PathBuf;
use std::time::{Duration, Instant};

use geo::{
    Area as _, Contains, Distance, Euclidean, Geometry, LineString, MultiPoint, Point, line_string,
    polygon,
};
use lowstave::field::{Field, FieldError, lay_out};
use lowstave::intake::AreaShape;
use lowstave::plan::KeepOut;
use lowstave::provenance::Place;
use lowstave::remark::{Level, Remark};
use lowstave::units::{Length, UnitSystem};

use crate::made_surveys::{EAST_100, LAT, LON, NORTH_100, block, inside_points, settings, survey};

/// A place so many hundreds of metres east and north of the field's corner, in degrees.
fn at(east: f64, north: f64) -> (f64, f64) {
    (LON + east * EAST_100, LAT + north * NORTH_100)
}

fn laid(shape: impl Into<Geometry<f64>>, crs: &str, metres: f64) -> Result<Field, FieldError> {
    let mut settings = settings(5.0);
    settings.keep_outs.push(KeepOut {
        file: PathBuf::from("creek.geojson"),
        crs: None,
        distance: Length::from_metres(metres),
        why: "setback from the creek".into(),
        place: Place::file("plan.toml"),
    });
    let mut survey = survey(block(), &inside_points());
    survey.keep_outs.push(AreaShape {
        file: "creek.geojson".into(),
        shape: shape.into(),
        crs: crs.into(),
    });
    lay_out(survey, &settings).map_err(|mut errors| errors.remove(0))
}

fn creek(turn: fn(f64, f64) -> (f64, f64)) -> LineString<f64> {
    [at(5.5, -1.0), at(5.5, 6.0)]
        .into_iter()
        .map(|(x, y)| turn(x, y))
        .collect()
}

fn remark<'a>(field: &'a Field, code: &str) -> &'a Remark {
    let found = field.remarks.iter().find(|remark| remark.code == code);
    found.unwrap_or_else(|| panic!("no {code} in {:?}", field.remarks))
}

#[test]
fn a_keep_out_states_the_ground_that_it_takes_inside_the_field() {
    let field = laid(creek(|x, y| (x, y)), "EPSG:4326", 10.0).unwrap();
    // 500 m of the creek's 700 m lie inside, each 20 m wide.
    let kept = &field.kept_out[0];
    assert!((kept.inside_m2 - 10_000.0).abs() < 60.0, "{kept:?}");
    assert!((kept.covered_m2 - 14_314.0).abs() < 80.0, "{kept:?}");
    let said = remark(&field, "keep-out-ground");
    assert_eq!(said.level, Level::Info);
    assert_eq!(
        said.what,
        "\"setback from the creek\" (creek.geojson) takes 1 ha of 1.4 ha asked; the rest lies outside the field"
    );
}

#[test]
fn the_ground_follows_the_units_of_the_plan() {
    let pond = polygon![
        at(5.0, 1.0).into(),
        at(6.0, 1.0).into(),
        at(6.0, 2.0).into(),
        at(5.0, 2.0).into()
    ];
    let mut settings = settings(5.0);
    settings.units = UnitSystem::UnitedStates;
    settings.keep_outs.push(KeepOut {
        file: PathBuf::from("pond.geojson"),
        crs: None,
        distance: Length::ZERO,
        why: "pond".into(),
        place: Place::file("plan.toml"),
    });
    let mut survey = survey(block(), &inside_points());
    survey.keep_outs.push(AreaShape {
        file: "pond.geojson".into(),
        shape: pond.into(),
        crs: "EPSG:4326".into(),
    });
    let field = lay_out(survey, &settings).unwrap();
    assert_eq!(
        remark(&field, "keep-out-ground").what,
        "\"pond\" (pond.geojson) takes 2.5 ac of 2.5 ac asked"
    );
}

#[test]
fn a_keep_out_beside_the_field_that_takes_nothing_is_worth_a_look() {
    // 300 m east of the field's edge.
    let beside: LineString<f64> = [at(11.0, 0.0), at(11.0, 5.0)].into_iter().collect();
    let field = laid(beside, "EPSG:4326", 10.0).unwrap();
    let said = remark(&field, "keep-out-outside-field");
    assert_eq!(said.level, Level::Warning);
    assert!(said.what.contains("0 of 1 ha asked"), "{}", said.what);
    assert_eq!(field.kept_out[0].inside_m2, 0.0);
}

#[test]
fn a_keep_out_far_off_is_refused_with_the_slip_that_explains_it() {
    for (turn, words) in [
        (
            (|x, y| (-x, y)) as fn(f64, f64) -> (f64, f64),
            "minus sign of its west longitudes",
        ),
        (|x, y| (x, -y), "minus sign of its south latitudes"),
        (|x, y| (y, x), "x and y are swapped"),
        (
            |x, y| (y, -x),
            "x and y are swapped and the minus sign of west is lost",
        ),
    ] {
        let error = laid(creek(turn), "EPSG:4326", 10.0).unwrap_err();
        assert!(
            matches!(error, FieldError::KeepOutElsewhere { .. }),
            "{error}"
        );
        assert!(error.to_string().contains(words), "{error}");
    }
}

#[test]
fn the_zone_that_would_fit_is_named() {
    // The creek in zone 14, made with pyproj 3.7 (PROJ).
    let creek = line_string![(x: 710_178.565_56, y: 4_563_888.682_21), (x: 710_158.395_58, y: 4_564_588.156_23)];
    let right = laid(creek.clone(), "EPSG:32614", 10.0).unwrap();
    assert!((right.kept_out[0].inside_m2 - 10_000.0).abs() < 60.0);
    for wrong in ["EPSG:32613", "EPSG:32615", "EPSG:32617"] {
        let error = laid(creek.clone(), wrong, 10.0).unwrap_err().to_string();
        assert!(error.contains("write crs = \"EPSG:32614\""), "{error}");
    }
    let swapped: LineString<f64> = creek.coords().map(|at| (at.y, at.x)).collect();
    let error = laid(swapped, "EPSG:32614", 10.0).unwrap_err().to_string();
    assert!(error.contains("swapped"), "{error}");
}

#[test]
fn a_keep_out_of_another_field_is_refused_without_a_guess() {
    let error = laid(Point::from(at(40.0, 0.0)), "EPSG:4326", 10.0)
        .unwrap_err()
        .to_string();
    assert!(
        error.contains("no lost sign") && error.contains("to the east"),
        "{error}"
    );
}

#[test]
fn a_closed_line_keeps_its_inside_out() {
    let ring = line_string![
        at(5.0, 1.0).into(),
        at(7.0, 1.0).into(),
        at(7.0, 3.0).into(),
        at(5.0, 3.0).into(),
        at(5.0, 1.0).into()
    ];
    let field = laid(ring.clone(), "EPSG:4326", 10.0).unwrap();
    // 200 m x 200 m, 10 m wider on each side, with round corners.
    let wanted = 200.0 * 200.0 + 4.0 * 200.0 * 10.0 + std::f64::consts::PI * 100.0;
    assert!(
        (field.kept_out[0].inside_m2 / wanted - 1.0).abs() < 0.005,
        "{:?}",
        field.kept_out[0].inside_m2
    );
    assert_eq!(
        remark(&field, "keep-out-closed-line").level,
        Level::Assumption
    );
    let without = laid(ring, "EPSG:4326", 0.0).unwrap();
    assert!((without.kept_out[0].inside_m2 / 40_000.0 - 1.0).abs() < 0.005);
}

#[test]
fn both_loops_of_a_closed_line_that_crosses_itself_are_kept_out() {
    let eight = line_string![
        at(5.0, 1.0).into(),
        at(7.0, 3.0).into(),
        at(7.0, 1.0).into(),
        at(5.0, 3.0).into(),
        at(5.0, 1.0).into()
    ];
    let field = laid(eight, "EPSG:4326", 0.0).unwrap();
    assert!((field.kept_out[0].inside_m2 / 20_000.0 - 1.0).abs() < 0.005);
}

#[test]
fn a_distance_beyond_belief_is_refused() {
    for metres in [1e300, f64::MAX, 6_000.0] {
        let error = laid(creek(|x, y| (x, y)), "EPSG:4326", metres).unwrap_err();
        assert!(
            matches!(error, FieldError::DistanceTooWide { .. }),
            "{error}"
        );
        assert!(error.to_string().len() < 200, "{error}");
    }
}

/// A creek that wanders through the field in small steps; no sines, so that it is the same everywhere.
fn wandering(vertices: usize) -> LineString<f64> {
    let mut state = 12_345_u64;
    let mut random = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
    };
    let mut north = 2.5;
    (0..vertices)
        .map(|i| {
            north = (north + 0.04 * random()).clamp(0.5, 4.5);
            at(9.0 * i as f64 / vertices as f64 - 0.5, north)
        })
        .collect()
}

#[test]
fn a_creek_of_20_000_vertices_is_cut_out_exactly_and_soon() {
    let start = Instant::now();
    let field = laid(wandering(20_000), "EPSG:4326", 10.0).unwrap();
    assert!(
        start.elapsed() < Duration::from_secs(20),
        "{:?}",
        start.elapsed()
    );
    println!("creek of 20,000 vertices: {:?}", start.elapsed());
    let mut line: Vec<(f64, f64)> = wandering(20_000).coords().map(|c| (c.x, c.y)).collect();
    field.crs.project(&mut line).unwrap();
    holds_at_sample_places(&field, &LineString::from(line).into(), 10.0);
}

#[test]
fn a_keep_out_of_4_000_points_is_cut_out_exactly_and_soon() {
    let points: Vec<_> = wandering(4_000).coords().map(|c| (c.x, c.y)).collect();
    let start = Instant::now();
    let field = laid(MultiPoint::from(points.clone()), "EPSG:4326", 10.0).unwrap();
    assert!(
        start.elapsed() < Duration::from_secs(20),
        "{:?}",
        start.elapsed()
    );
    println!("4,000 points: {:?}", start.elapsed());
    let mut plane = points;
    field.crs.project(&mut plane).unwrap();
    holds_at_sample_places(&field, &MultiPoint::from(plane).into(), 10.0);
}

/// Places of the field nearer than the distance are kept out, others are not, by the plain distance to the shape.
fn holds_at_sample_places(field: &Field, shape: &Geometry<f64>, distance: f64) {
    let (mut inside, mut outside) = (0, 0);
    for i in 0..40 {
        for j in 0..25 {
            let place = Point::new(-395.0 + 20.0 * f64::from(i), -245.0 + 20.0 * f64::from(j));
            if !field.boundary.contains(&place) {
                continue;
            }
            let away = Euclidean.distance(&place, shape);
            // A round corner of 0.1 radians stands out by a thousandth of the distance.
            if away < distance {
                inside += 1;
                assert!(
                    !field.workable.contains(&place),
                    "{place:?} lies {away} m off"
                );
            } else if away > distance * 1.003 {
                outside += 1;
                assert!(
                    field.workable.contains(&place),
                    "{place:?} lies {away} m off"
                );
            }
        }
    }
    assert!(inside > 50 && outside > 50, "{inside} {outside}");
    assert!(field.workable.unsigned_area() > 0.0);
}

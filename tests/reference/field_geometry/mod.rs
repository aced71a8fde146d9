//! Areas, projected coordinates, points in polygons and buffers against pyproj, shapely, GDAL and R (see the README beside this file).

use std::path::PathBuf;

use geo::{Area as _, Geometry, LineString, MultiPolygon, Polygon};
use lowstave::analyte::{Analyte, LayerKey};
use lowstave::field::{Field, FieldError, WorkingCrs, lay_out};
use lowstave::intake::{AreaShape, LayerColumn, PointTable, Survey};
use lowstave::plan::{
    BelowDetection, BoundarySettings, FixedOrAuto, KeepOut, MachineSettings, PointKind, Settings,
    SurfaceSettings, ZoneMethod, ZoneSettings,
};
use lowstave::provenance::Place;
use lowstave::units::{Area, Length, Speed, UnitSystem, Volume, VolumeFlow};
use serde_json::Value;

fn values() -> Value {
    serde_json::from_str(include_str!("geo.json")).unwrap()
}

fn polygons() -> Value {
    serde_json::from_str(include_str!("geo_polygons.json")).unwrap()
}

fn shape(name: &str) -> MultiPolygon<f64> {
    let geometry: geojson::Geometry =
        serde_json::from_value(polygons()[name]["geometry"].clone()).unwrap();
    match Geometry::try_from(geometry).unwrap() {
        Geometry::Polygon(p) => p.into(),
        Geometry::MultiPolygon(m) => m,
        other => panic!("{other:?}"),
    }
}

fn settings() -> Settings {
    Settings {
        plan_file: PathBuf::from("plan.toml"),
        field: "Check".into(),
        season: 2027,
        crop: "corn".into(),
        units: UnitSystem::Metric,
        boundary: BoundarySettings {
            file: PathBuf::from("b"),
            crs: None,
            choose: None,
            layer: None,
            place: Place::file("plan.toml"),
        },
        keep_outs: Vec::new(),
        points: Vec::new(),
        cell: Length::from_metres(10.0),
        surface: SurfaceSettings::default(),
        zones: ZoneSettings {
            count: FixedOrAuto::Auto,
            layers: None,
            smallest: Area::from_square_metres(2_000.0),
            method: ZoneMethod::KMeans,
            seed: 1,
            tolerance: None,
            components: false,
            shape: lowstave::plan::ZoneShape::Smooth,
        },
        machine: MachineSettings {
            swath: Length::from_metres(12.0),
            row_spacing: Length::from_metres(0.762),
            heading: 0.0,
            speed: Speed::from_metres_per_second(2.2),
            tank: Volume::from_litres(1_500.0),
            flow_per_row: (
                VolumeFlow::from_litres_per_minute(0.1),
                VolumeFlow::from_litres_per_minute(1.1),
            ),
            liquid_step: None,
            dry_step: None,
        },
        rules: None,
        crop_price: None,
        strips: None,
        results: Vec::new(),
        past: Vec::new(),
        prices: Vec::new(),
        budget: None,
        overrides: Vec::new(),
        carbon_from_organic_matter: false,
        below_detection: BelowDetection::Half,
        bulk_density: None,
        people: lowstave::plan::People::default(),
        supply: lowstave::plan::Supply::default(),
        limits: lowstave::plan::WorkLimits::default(),
        farm: lowstave::plan::TakenFromFarm::default(),
    }
}

fn laid(
    boundary: MultiPolygon<f64>,
    points: &[(f64, f64)],
    crs: &str,
    keep_out: Option<(Geometry<f64>, f64)>,
) -> Result<Field, Vec<FieldError>> {
    let table = PointTable {
        file: "points.csv".into(),
        kind: PointKind::Cores,
        crs: crs.into(),
        x: points.iter().map(|p| p.0).collect(),
        y: points.iter().map(|p| p.1).collect(),
        row: (2..).take(points.len()).collect(),
        id: None,
        layers: vec![LayerColumn {
            key: LayerKey::new(Analyte::Ph, None, None),
            column: "pH".into(),
            unit: "".into(),
            values: vec![6.0; points.len()],
            qualified: Vec::new(),
            derived: false,
        }],
        cone: None,
    };
    let mut settings = settings();
    let mut keep_outs = Vec::new();
    if let Some((shape, distance)) = keep_out {
        settings.keep_outs.push(KeepOut {
            file: PathBuf::from("k"),
            crs: None,
            distance: Length::from_metres(distance),
            why: "check".into(),
            place: Place::file("plan.toml"),
        });
        keep_outs.push(AreaShape {
            file: "k".into(),
            shape,
            crs: "EPSG:4326".into(),
        });
    }
    let boundary = AreaShape {
        file: "b".into(),
        shape: boundary,
        crs: "EPSG:4326".into(),
    };
    lay_out(
        Survey {
            boundary,
            keep_outs,
            tables: vec![table],
            inputs: Vec::new(),
            remarks: Vec::new(),
        },
        &settings,
    )
}

/// A square of 0.01 degrees round a place, and three points in it.
fn square_round(longitude: f64, latitude: f64) -> (MultiPolygon<f64>, Vec<(f64, f64)>) {
    let h = 0.005;
    let ring = LineString::from(vec![
        (longitude - h, latitude - h),
        (longitude + h, latitude - h),
        (longitude + h, latitude + h),
        (longitude - h, latitude + h),
    ]);
    let points = vec![
        (longitude, latitude),
        (longitude + 0.001, latitude),
        (longitude, latitude + 0.001),
    ];
    (Polygon::new(ring, Vec::new()).into(), points)
}

#[test]
fn areas_agree_with_pyproj_geodesics_and_the_plane_keeps_them() {
    let values = values();
    let areas = values["areas"].as_object().unwrap();
    assert!(areas.len() >= 7, "a run that compares nothing fails");
    for (name, expected) in areas {
        let shape = shape(name);
        let middle = geo::InteriorPoint::interior_point(&shape).unwrap();
        let points: Vec<_> = (0..3)
            .map(|i| (middle.x() + f64::from(i) * 1e-6, middle.y()))
            .collect();
        let field = laid(shape, &points, "EPSG:4326", None).unwrap();
        let hectares = expected["geodesic_area_ha"].as_f64().unwrap();
        let relative = field.area_m2 / 1e4 / hectares - 1.0;
        // Straight in degrees against geodesic edges: 2 cm over 1 km, see the README.
        assert!(relative.abs() < 2e-5, "{name}: {relative:e}");
        let plane = field.boundary.unsigned_area() / field.area_m2 - 1.0;
        assert!(
            plane.abs() < 2e-7,
            "{name}: the contract is 1e-3, the field's own plane keeps {plane:e}"
        );
    }
}

#[test]
fn the_plane_is_a_transverse_mercator_as_pyproj_gdal_and_the_krueger_series_compute_it() {
    // UTM is the same projection with scale 0.9996, origin on the equator and 500 km added to the east.
    let mut compared = 0;
    for place in values()["projected"].as_array().unwrap() {
        let number = |key: &str| place[key].as_f64().unwrap();
        let epsg = place["epsg"].as_u64().unwrap();
        if !matches!(epsg / 100, 326 | 327) {
            continue;
        }
        let zone = (epsg % 100) as f64;
        let plane = WorkingCrs {
            longitude: zone * 6.0 - 183.0,
            latitude: 0.0,
        };
        let mut point = [(number("lon"), number("lat"))];
        plane.project(&mut point).unwrap();
        let north = if epsg / 100 == 327 { 10_000_000.0 } else { 0.0 };
        let (x, y) = (point[0].0 * 0.9996 + 500_000.0, point[0].1 * 0.9996 + north);
        // The reference's own tools agree to 2e-9 m.
        assert!(
            (x - number("x")).abs() < 1e-6 && (y - number("y")).abs() < 1e-6,
            "{}: {x} {y}",
            place["place"]
        );
        plane.unproject(&mut point).unwrap();
        assert!(
            (point[0].0 - number("lon")).abs() < 1e-9 && (point[0].1 - number("lat")).abs() < 1e-9
        );
        compared += 1;
    }
    assert!(compared >= 4);
}

#[test]
fn points_in_projected_systems_land_where_their_degrees_land() {
    for place in values()["projected"].as_array().unwrap() {
        let number = |key: &str| place[key].as_f64().unwrap();
        let (boundary, _) = square_round(number("lon"), number("lat"));
        let (x, y) = (number("x"), number("y"));
        let field = laid(
            boundary,
            &[(x, y), (x + 10.0, y), (x, y + 10.0)],
            &format!("EPSG:{}", place["epsg"]),
            None,
        )
        .unwrap();
        let mut expected = [(number("lon"), number("lat"))];
        field.crs.project(&mut expected).unwrap();
        // ETRS89 and WGS 84 ellipsoids differ by 0.1 mm in the projection.
        let off =
            (field.places[0].x[0] - expected[0].0).hypot(field.places[0].y[0] - expected[0].1);
        assert!(off < 5e-4, "{}: {off} m", place["place"]);
    }
}

#[test]
fn published_coordinates_of_a_transverse_mercator_are_met() {
    // PROJ documentation, page "utm": +proj=utm +zone=32 +ellps=GRS80, 56 N 12 E gives 687071.44, 6210141.33.
    // The ellipsoids GRS 80 and WGS 84 differ by 0.1 mm here.
    let plane = WorkingCrs {
        longitude: 9.0,
        latitude: 0.0,
    };
    let mut point = [(12.0, 56.0)];
    plane.project(&mut point).unwrap();
    let (x, y) = (point[0].0 * 0.9996 + 500_000.0, point[0].1 * 0.9996);
    assert!(
        (x - 687_071.44).abs() < 0.01 && (y - 6_210_141.33).abs() < 0.01,
        "{x} {y}"
    );
}

#[test]
fn points_stand_inside_or_outside_as_shapely_says() {
    let mut compared = 0;
    let values = values();
    let cases = values["point_in_polygon"].as_array().unwrap();
    let point = |case: &Value| (case["lon"].as_f64().unwrap(), case["lat"].as_f64().unwrap());
    for case in cases {
        let where_it_is = case["where"].as_str().unwrap();
        let surely_inside = point(
            cases
                .iter()
                .find(|c| c["polygon"] == case["polygon"] && c["where"] == "inside")
                .unwrap(),
        );
        let points = [point(case), surely_inside, surely_inside, surely_inside];
        let field = laid(
            shape(case["polygon"].as_str().unwrap()),
            &points,
            "EPSG:4326",
            None,
        )
        .unwrap();
        let is_out = field.places[0].outside.iter().any(|(at, _)| *at == 0);
        let is_near = field
            .remarks
            .iter()
            .any(|r| r.code == "points-near-boundary");
        match where_it_is {
            "inside" => assert!(!is_out && !is_near, "{case}"),
            "outside" => assert!(is_out || is_near, "{case}"),
            _ => continue,
        }
        compared += 1;
    }
    assert!(compared >= 4, "{compared}");
}

#[test]
fn a_setback_is_never_narrower_than_the_exact_buffer_and_hardly_wider() {
    // Reference: shapely with 64 segments per quarter circle on the plane box 400 m x 250 m less a creek with 33 ft on each side.
    let values = values();
    let expected = &values["buffers"]["field_less_creek"];
    let plane = WorkingCrs::centred_on(-96.5, 0.0);
    let degrees = |points: &[(f64, f64)]| {
        let mut points = points.to_vec();
        plane.unproject(&mut points).unwrap();
        LineString::from(points)
    };
    let creek: Vec<(f64, f64)> = expected["creek"]
        .as_array()
        .unwrap()
        .iter()
        .map(|p| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap()))
        .collect();
    let field = Polygon::new(
        degrees(&[(0.0, 0.0), (400.0, 0.0), (400.0, 250.0), (0.0, 250.0)]),
        Vec::new(),
    );
    let inside = degrees(&[(200.0, 240.0), (210.0, 240.0), (220.0, 240.0)]);
    let points: Vec<_> = inside.points().map(|p| (p.x(), p.y())).collect();
    let field = laid(
        field.into(),
        &points,
        "EPSG:4326",
        Some((degrees(&creek).into(), 10.0584)),
    )
    .unwrap();
    let workable = field.workable.unsigned_area();
    let reference = expected["workable_m2_quad_segs_64"].as_f64().unwrap();
    assert_eq!(
        field.workable.0.len() as u64,
        expected["parts"].as_u64().unwrap()
    );
    assert!(
        workable <= reference && workable > reference - 25.0,
        "{workable} against {reference}"
    );
}

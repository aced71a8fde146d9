//! Small surveys and settings made by hand (invented), for tests that go through the field stage.

use std::path::PathBuf;
use std::sync::Arc;

use geo::{MultiPolygon, Polygon, polygon};
use lowstave::analyte::{Analyte, LayerKey};
use lowstave::intake::{AreaShape, LayerColumn, PointTable, Survey};
use lowstave::plan::{
    BelowDetection, BoundarySettings, FixedOrAuto, MachineSettings, PointKind, Settings,
    SurfaceSettings, ZoneMethod, ZoneSettings,
};
use lowstave::provenance::Place;
use lowstave::units::{Area, Length, Speed, UnitSystem, Volume, VolumeFlow};

pub(crate) const LON: f64 = -96.5;
pub(crate) const LAT: f64 = 41.2;
/// Degrees of about 100 m here.
pub(crate) const EAST_100: f64 = 0.001_192;
pub(crate) const NORTH_100: f64 = 0.000_9;

pub(crate) fn settings(cell: f64) -> Settings {
    let place = Place::file("plan.toml");
    Settings {
        plan_file: PathBuf::from("plan.toml"),
        field: "Made Field".into(),
        season: 2027,
        crop: "corn".into(),
        units: UnitSystem::Metric,
        boundary: BoundarySettings {
            file: PathBuf::from("boundary.geojson"),
            crs: None,
            choose: None,
            layer: None,
            place,
        },
        keep_outs: Vec::new(),
        points: Vec::new(),
        cell: Length::from_metres(cell),
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

/// 800 m x 500 m with a pond of 100 m x 100 m.
pub(crate) fn block() -> Polygon<f64> {
    let at = |east: f64, north: f64| (LON + east * EAST_100, LAT + north * NORTH_100);
    polygon!(
        exterior: [at(0.0, 0.0).into(), at(8.0, 0.0).into(), at(8.0, 5.0).into(), at(0.0, 5.0).into()],
        interiors: [[at(3.0, 2.0).into(), at(3.0, 3.0).into(), at(4.0, 3.0).into(), at(4.0, 2.0).into()]]
    )
}

pub(crate) fn survey(shape: impl Into<MultiPolygon<f64>>, points: &[(f64, f64)]) -> Survey {
    Survey {
        boundary: AreaShape {
            file: "boundary.geojson".into(),
            shape: shape.into(),
            crs: "EPSG:4326".into(),
        },
        keep_outs: Vec::new(),
        tables: vec![table(points, "EPSG:4326")],
        inputs: Vec::new(),
        remarks: Vec::new(),
    }
}

pub(crate) fn table(points: &[(f64, f64)], crs: &str) -> PointTable {
    let values = (0..points.len()).map(|i| 6.0 + i as f64 / 10.0).collect();
    PointTable {
        file: "cores.csv".into(),
        kind: PointKind::Cores,
        crs: crs.into(),
        x: points.iter().map(|p| p.0).collect(),
        y: points.iter().map(|p| p.1).collect(),
        row: (0..points.len() as u32).map(|i| i + 2).collect(),
        id: None,
        layers: vec![LayerColumn {
            key: LayerKey::new(Analyte::Ph, None, None),
            column: Arc::from("pH"),
            unit: Arc::from(""),
            values,
            qualified: Vec::new(),
            derived: false,
        }],
        cone: None,
    }
}

pub(crate) fn inside_points() -> Vec<(f64, f64)> {
    [(1.0, 1.0), (6.0, 1.0), (6.0, 4.0), (1.0, 4.0), (5.0, 2.5)]
        .map(|(e, n)| (LON + e * EAST_100, LAT + n * NORTH_100))
        .to_vec()
}

//! Small surveys and settings made by hand (invented), for tests that go through the field stage.

use std::sync::Arc;

use geo::{MultiPolygon, Polygon, polygon};
use lowstave::analyte::{Analyte, LayerKey};
use lowstave::intake::{AreaShape, LayerColumn, PointTable, Survey};
use lowstave::plan::{PointKind, Settings};
use lowstave::units::Length;

use crate::made_settings;

pub(crate) const LON: f64 = -96.5;
pub(crate) const LAT: f64 = 41.2;
/// Degrees of about 100 m here.
pub(crate) const EAST_100: f64 = 0.001_192;
pub(crate) const NORTH_100: f64 = 0.000_9;

pub(crate) fn settings(cell: f64) -> Settings {
    Settings {
        cell: Length::from_metres(cell),
        ..made_settings::settings()
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

//! What the targets share: settings that name nothing, so that every column is guessed.

use std::path::PathBuf;

use lowstave::intake::{ReadingRules, points_from_bytes};
use lowstave::plan::{BelowDetection, Depths, PointKind, PointsSettings};
use lowstave::provenance::Place;

/// Reads bytes as a file of each kind of points.
pub fn read_all_kinds(bytes: &[u8], file: &str) {
    let rules = ReadingRules { below_detection: BelowDetection::Half, bulk_density: None, crop: "corn".to_owned(), season: Some(2027), units: lowstave::units::UnitSystem::Metric };
    for kind in [PointKind::Cores, PointKind::Cone, PointKind::Readings] {
        let settings = PointsSettings {
            file: PathBuf::from(file),
            kind,
            crs: None,
            x: None,
            y: None,
            id: None,
            depths: Depths::Unknown,
            columns: Vec::new(),
            ignore: Vec::new(),
            reading: lowstave::plan::FileForm::default(),
            cone: None,
            laboratory: None,
            sampled: None,
            place: Place::file("plan.toml"),
        };
        let _ = points_from_bytes(bytes, &settings, &rules);
    }
}

//! The settings of a made plan, from which a test takes what it does not care for: `Settings { cell, ..settings() }`.

use lowstave::plan::{
    BelowDetection, BoundarySettings, FixedOrAuto, MachineSettings, People, Settings, Supply,
    SurfaceSettings, TakenFromFarm, WorkLimits, ZoneMethod, ZoneSettings, ZoneShape,
};
use lowstave::provenance::Place;
use lowstave::units::{Area, Length, Speed, UnitSystem, Volume, VolumeFlow};

/// A metric plan of a field of corn without points, cells of 5 m, patches of 0.2 ha.
pub fn settings() -> Settings {
    Settings {
        plan_file: "plan.toml".into(),
        field: "Made Field".to_owned(),
        season: 2027,
        crop: "corn".to_owned(),
        crop_row: None,
        units: UnitSystem::Metric,
        boundary: boundary("boundary.geojson"),
        keep_outs: Vec::new(),
        points: Vec::new(),
        cell: Length::from_metres(5.0),
        surface: SurfaceSettings::default(),
        zones: zones(FixedOrAuto::Auto, 2_000.0),
        machine: machine(),
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
        people: People::default(),
        supply: Supply::default(),
        limits: WorkLimits::default(),
        farm: TakenFromFarm::default(),
    }
}

/// A boundary in a file that says its own coordinates.
pub fn boundary(file: impl Into<std::path::PathBuf>) -> BoundarySettings {
    BoundarySettings {
        file: file.into(),
        crs: None,
        choose: None,
        layer: None,
        place: Place::file("plan.toml"),
    }
}

/// How zones are found where the plan says nothing but their count and smallest patch, square metres.
pub fn zones(count: FixedOrAuto<usize>, smallest_m2: f64) -> ZoneSettings {
    ZoneSettings {
        count,
        layers: None,
        smallest: Area::from_square_metres(smallest_m2),
        method: ZoneMethod::KMeans,
        seed: 1,
        tolerance: None,
        components: false,
        shape: ZoneShape::Smooth,
    }
}

/// A planter with a swath of 12 m.
pub fn machine() -> MachineSettings {
    MachineSettings {
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
    }
}

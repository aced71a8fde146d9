//! An invented field with every value that the deliverables need: three zones, one with two holes (a pond and another zone's
//! island), two of two parts, a cut corner. Nothing here is measured; no number is a reference for anything.

#![allow(dead_code)]

#[path = "invented_rates.rs"]
mod invented_rates;
#[path = "invented_soil.rs"]
mod invented_soil;

use std::sync::Arc;

use geo::{Area as _, Contains, Coord, LineString, MapCoords, MultiPolygon, Point, Polygon};
use lowstave::choice::Worth;
use lowstave::deliver::{SeasonValues, StageValues};
use lowstave::diagnosis::Diagnosis;
use lowstave::field::{Field, Grid, KeptOut, WorkingCrs};
use lowstave::intake::InputFile;
use lowstave::plan::{BoundarySettings, KeepOut, MachineSettings, Settings};
use lowstave::provenance::Place;
use lowstave::rates::Prescription;
use lowstave::remark::Remark;
use lowstave::rulebook::Rulebook;
use lowstave::surface::Surfaces;
use lowstave::units::{
    Length, MassPerArea, Quantity, Speed, UnitSystem, Volume, VolumeFlow, VolumePerArea,
};
use lowstave::zones::{CountRow, Zone, Zones};

use crate::made_settings;

/// The values of all stages, owned, so that a test can change one of them.
pub struct Invented {
    pub settings: Settings,
    pub field: Field,
    pub inputs: Vec<InputFile>,
    pub surfaces: Surfaces,
    pub zones: Zones,
    pub diagnosis: Diagnosis,
    pub prescription: Prescription,
    pub worth: Worth,
    pub rulebook: Rulebook,
    pub past: SeasonValues,
    pub remarks: Vec<Remark>,
    pub timings: Vec<(&'static str, f64)>,
}

impl Invented {
    /// About 11 ha on cells of 5 m.
    pub fn small() -> Self {
        Self::sized(1.0, 5.0, UnitSystem::UnitedStates)
    }

    /// The same in metric units.
    pub fn metric() -> Self {
        Self::sized(1.0, 5.0, UnitSystem::Metric)
    }

    /// The same shapes `scale` times as long, on cells of `cell` metres.
    pub fn sized(scale: f64, cell: f64, units: UnitSystem) -> Self {
        let crs = WorkingCrs::centred_on(-97.1176, 41.2013);
        let outlines = outlines(scale);
        let workable = workable(scale);
        let grid = grid(scale, cell, &outlines);
        let zones = zones(&crs, &grid, &outlines);
        let areas: Vec<f64> = zones.zones.iter().map(|zone| zone.area_m2).collect();
        let mut field = field(crs, grid, workable, scale);
        let surfaces = invented_soil::soil(&mut field, scale);
        let diagnosis = invented_soil::diagnosis(&field, &surfaces, &zones);
        let prescription = invented_rates::prescription(&areas, units);
        let mut remarks = vec![
            Remark::warning(
                "points-outside-boundary",
                "2 cone pushes stand more than 20 m outside the boundary and are not used.",
            )
            .at(Place::file("cone.csv").at_row(17))
            .help("Check their coordinates, or delete the rows."),
            Remark::assumption(
                "column-guessed",
                "The column was taken for calcium saturation in %.",
            )
            .at(Place::file("cores.csv").in_column("Ca sat"))
            .help("Write it under [points.columns] to be sure."),
            Remark::info(
                "below-detection",
                "1 result below the detection limit of 2 ppm counts as half of it.",
            ),
        ];
        remarks.push(Remark::info(
            "edges-densified",
            "4 long edges of the boundary were given extra vertices.",
        ));
        Self {
            settings: settings(units, cell),
            field,
            inputs: inputs(),
            surfaces,
            zones,
            diagnosis,
            prescription,
            worth: Worth::default(),
            rulebook: Rulebook::built_in(),
            past: SeasonValues::default(),
            remarks,
            timings: vec![("surface", 0.0123)],
        }
    }

    /// The case that borrows it all.
    pub fn case(&self) -> StageValues<'_> {
        StageValues {
            settings: &self.settings,
            field: &self.field,
            inputs: &self.inputs,
            surfaces: &self.surfaces,
            zones: &self.zones,
            diagnosis: &self.diagnosis,
            prescription: &self.prescription,
            strips: NO_STRIPS,
            offer: None,
            rulebook: &self.rulebook,
            past: &self.past,
            worth: &self.worth,
            remarks: &self.remarks,
            timings: &self.timings,
        }
    }
}

/// No check strips.
const NO_STRIPS: &lowstave::trial::StripPlan = &lowstave::trial::StripPlan { sets: Vec::new() };

fn ring(points: &[(f64, f64)], scale: f64) -> LineString<f64> {
    points
        .iter()
        .map(|&(x, y)| Coord {
            x: x * scale,
            y: y * scale,
        })
        .collect()
}

fn rectangle(west: f64, south: f64, east: f64, north: f64) -> Vec<(f64, f64)> {
    vec![(west, south), (east, south), (east, north), (west, north)]
}

/// The pond with its setback: eight corners.
fn pond() -> Vec<(f64, f64)> {
    (0..8)
        .map(|k| f64::from(k) * std::f64::consts::FRAC_PI_4)
        .map(|a| (-100.0 + 30.0 * a.cos(), -20.0 + 30.0 * a.sin()))
        .collect()
}

/// The field without the pond; the zones' corners on its edge are its own.
fn workable(scale: f64) -> MultiPolygon<f64> {
    let outer = [
        (-200.0, -150.0),
        (0.0, -150.0),
        (200.0, -150.0),
        (200.0, -50.0),
        (200.0, 50.0),
        (200.0, 75.0),
        (125.0, 150.0),
        (0.0, 150.0),
        (-200.0, 150.0),
    ];
    MultiPolygon::new(vec![Polygon::new(
        ring(&outer, scale),
        vec![ring(&pond(), scale)],
    )])
}

/// The outlines in metres, in the order of the clustering.
fn outlines(scale: f64) -> Vec<MultiPolygon<f64>> {
    let polygon = |outer: &[(f64, f64)], holes: &[Vec<(f64, f64)>]| {
        Polygon::new(
            ring(outer, scale),
            holes.iter().map(|hole| ring(hole, scale)).collect(),
        )
    };
    let island = rectangle(-85.0, 65.0, -35.0, 115.0);
    let south_east = polygon(&rectangle(0.0, -150.0, 200.0, -50.0), &[]);
    let north_east = polygon(
        &[
            (0.0, 50.0),
            (200.0, 50.0),
            (200.0, 75.0),
            (125.0, 150.0),
            (0.0, 150.0),
        ],
        &[],
    );
    // The corners at (0, -50) and (0, 50) are also the neighbours'.
    let west = [
        (-200.0, -150.0),
        (0.0, -150.0),
        (0.0, -50.0),
        (0.0, 50.0),
        (0.0, 150.0),
        (-200.0, 150.0),
    ];
    let middle = polygon(&rectangle(0.0, -50.0, 200.0, 50.0), &[]);
    vec![
        MultiPolygon::new(vec![south_east, north_east]),
        MultiPolygon::new(vec![polygon(&west, &[pond(), island.clone()])]),
        MultiPolygon::new(vec![middle, polygon(&island, &[])]),
    ]
}

fn grid(scale: f64, cell: f64, outlines: &[MultiPolygon<f64>]) -> Grid {
    let (columns, rows) = (
        (400.0 * scale / cell).ceil() as usize,
        (300.0 * scale / cell).ceil() as usize,
    );
    let mut grid = Grid {
        west: -200.0 * scale,
        north: 150.0 * scale,
        cell,
        columns,
        rows,
        cells: Vec::new(),
        share: Vec::new(),
    };
    for cell in 0..(columns * rows) as u32 {
        if zone_at(grid.centre(cell), outlines).is_some() {
            grid.cells.push(cell);
            grid.share.push(1.0);
        }
    }
    grid
}

fn zone_at((x, y): (f64, f64), outlines: &[MultiPolygon<f64>]) -> Option<u16> {
    outlines
        .iter()
        .position(|outline| outline.contains(&Point::new(x, y)))
        .map(|zone| zone as u16)
}

fn zones(crs: &WorkingCrs, grid: &Grid, outlines: &[MultiPolygon<f64>]) -> Zones {
    let degrees = |shape: &MultiPolygon<f64>| {
        shape.map_coords(|c| {
            let mut point = [(c.x, c.y)];
            crs.unproject(&mut point)
                .expect("the place is near the origin");
            Coord {
                x: (point[0].0 * 1e8).round() / 1e8,
                y: (point[0].1 * 1e8).round() / 1e8,
            }
        })
    };
    let row = |count, explained, silhouette, fuzziness| CountRow {
        count,
        explained,
        silhouette: Some(silhouette),
        fuzziness_performance: Some(fuzziness),
        classification_entropy: None,
    };
    Zones {
        of_cell: grid.cells.iter().map(|&cell| zone_at(grid.centre(cell), outlines).expect("every cell has a zone")).collect(),
        zones: outlines.iter().map(|shape| Zone { shape: shape.clone(), lonlat: degrees(shape), area_m2: shape.unsigned_area() }).collect(),
        layers: vec![(invented_soil::ph(), 1.0), (invented_soil::carbon_nitrogen(), 1.0), (invented_soil::cone(), 0.5)],
        components: Vec::new(),
        drawn: Vec::new(),
        undrawn: Vec::new(),
        tried: vec![row(2, 0.44, 0.39, 0.31), row(3, 0.63, 0.46, 0.28), row(4, 0.68, 0.35, 0.35)],
        why: "3 zones explain 63 % of what varies; a fourth would add 5 % and its cells sit less clearly.".to_owned(),
        remarks: Vec::new(),
    }
}

fn field(crs: WorkingCrs, grid: Grid, workable: MultiPolygon<f64>, scale: f64) -> Field {
    let boundary = MultiPolygon::new(vec![Polygon::new(
        workable.0[0].exterior().clone(),
        Vec::new(),
    )]);
    let pond = MultiPolygon::new(vec![Polygon::new(ring(&pond(), scale), Vec::new())]);
    Field {
        crs,
        area_m2: boundary.unsigned_area(),
        workable_m2: workable.unsigned_area(),
        boundary,
        workable,
        kept_out: vec![KeptOut {
            covered_m2: pond.unsigned_area(),
            inside_m2: pond.unsigned_area(),
            shape: pond,
            why: "setback from the pond".to_owned(),
            file: Arc::from("pond.geojson"),
        }],
        grid,
        places: Vec::new(),
        layers: Vec::new(),
        cones: Vec::new(),
        remarks: Vec::new(),
    }
}

fn inputs() -> Vec<InputFile> {
    vec![
        InputFile {
            path: "invented.toml".to_owned(),
            sha256: "0".repeat(64),
            bytes: 1_234,
        },
        InputFile {
            path: "cores.csv".to_owned(),
            sha256: "1".repeat(64),
            bytes: 5_678,
        },
    ]
}

fn settings(units: UnitSystem, cell: f64) -> Settings {
    let place = |key: &str| Place::file("invented.toml").at_key(key);
    let flow = VolumeFlow::from_litres_per_minute;
    Settings {
        plan_file: "invented.toml".into(),
        field: "Invented Field".to_owned(),
        units,
        boundary: BoundarySettings {
            place: place("boundary"),
            ..made_settings::boundary("boundary.geojson")
        },
        keep_outs: vec![KeepOut {
            file: "pond.geojson".into(),
            crs: None,
            distance: Length::from_metres(10.0584),
            why: "setback from the pond".to_owned(),
            place: place("keep_out[0]"),
        }],
        cell: Length::from_metres(cell),
        machine: MachineSettings {
            swath: Length::from_metres(12.192),
            speed: <Speed as Quantity>::parse("5 mph").expect("a speed"),
            tank: <Volume as Quantity>::parse("120 gal").expect("a volume"),
            flow_per_row: (flow(0.1), flow(1.2)),
            liquid_step: Some(<VolumePerArea as Quantity>::parse("0.1 gal/ac").expect("a rate")),
            dry_step: Some(<MassPerArea as Quantity>::parse("10 lb/ac").expect("a rate")),
            ..made_settings::machine()
        },
        ..made_settings::settings()
    }
}

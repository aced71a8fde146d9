//! Invented fields for the zone stage: outlines of every awkward kind, a grid over them, and smooth maps. All from a seed.

#![allow(
    clippy::expect_used,
    reason = "an outline that cannot be made fails the test"
)]
#![allow(dead_code, reason = "tests and benches use different parts")]

use std::f64::consts::TAU;
use std::sync::Arc;

use geo::{Area as _, BoundingRect, Contains, Coord, LineString, MultiPolygon, Point, Polygon};
use lowstave::analyte::{Analyte, LayerKey};
use lowstave::field::{Field, Grid, WorkingCrs};
use lowstave::plan::{FixedOrAuto, MachineSettings, Settings};
use lowstave::surface::{Map, Skill, Surface, Surfaces};
use lowstave::units::Length;
use rand::Rng;
use rand::SeedableRng;
use rand_chacha::ChaCha8Rng;

use crate::made_settings;

/// A number from 0 to 1.
pub fn unit(random: &mut ChaCha8Rng) -> f64 {
    (random.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
}

fn between(random: &mut ChaCha8Rng, low: f64, high: f64) -> f64 {
    low + unit(random) * (high - low)
}

/// A ring round a centre with random radii: concave where they differ much.
fn star(
    random: &mut ChaCha8Rng,
    centre: (f64, f64),
    radius: f64,
    roughness: f64,
    corners: usize,
) -> Vec<(f64, f64)> {
    (0..corners)
        .map(|corner| {
            let angle = TAU * (corner as f64 + between(random, -0.3, 0.3)) / corners as f64;
            let reach = radius * between(random, 1.0 - roughness, 1.0);
            (
                centre.0 + reach * angle.cos(),
                centre.1 + reach * angle.sin(),
            )
        })
        .collect()
}

fn ring(points: &[(f64, f64)]) -> LineString<f64> {
    let mut line: Vec<Coord<f64>> = points.iter().map(|&(x, y)| Coord { x, y }).collect();
    line.push(line[0]);
    LineString::new(line)
}

fn turned(points: &[(f64, f64)], angle: f64) -> Vec<(f64, f64)> {
    points
        .iter()
        .map(|&(x, y)| {
            (
                x * angle.cos() - y * angle.sin(),
                x * angle.sin() + y * angle.cos(),
            )
        })
        .collect()
}

/// Kinds of outlines that `outline` makes, by number.
pub const KINDS: u64 = 8;

/// An outline of a kind: 0 convex, 1 concave, 2 with a hole, 3 with a hole and an island in it, 4 two fields with a neck, 5 in several
/// parts, 6 tiny (0.2 ha), 7 a long strip.
#[allow(
    clippy::too_many_lines,
    reason = "one field, made step by step; also built into a bench"
)]
pub fn outline(random: &mut ChaCha8Rng, kind: u64) -> MultiPolygon<f64> {
    let one = |outer: &[(f64, f64)]| Polygon::new(ring(outer), Vec::new());
    match kind % KINDS {
        0 => MultiPolygon::new(vec![one(&star(random, (0.0, 0.0), 170.0, 0.1, 14))]),
        1 => MultiPolygon::new(vec![one(&star(random, (0.0, 0.0), 200.0, 0.6, 17))]),
        2 => {
            let (outer, hole) = (
                star(random, (0.0, 0.0), 190.0, 0.3, 15),
                star(random, (20.0, -10.0), 45.0, 0.4, 9),
            );
            MultiPolygon::new(vec![Polygon::new(ring(&outer), vec![ring(&hole)])])
        }
        3 => {
            let (outer, hole) = (
                star(random, (0.0, 0.0), 200.0, 0.2, 20),
                star(random, (-10.0, 10.0), 90.0, 0.2, 12),
            );
            let island = star(random, (-10.0, 10.0), 50.0, 0.3, 8);
            MultiPolygon::new(vec![
                Polygon::new(ring(&outer), vec![ring(&hole)]),
                one(&island),
            ])
        }
        4 => {
            let (wide, neck) = (between(random, 50.0, 80.0), between(random, 2.0, 8.0));
            let shape = [
                (-150.0, -wide),
                (-30.0, -wide),
                (-30.0, -neck),
                (30.0, -neck),
                (30.0, -wide),
                (150.0, -wide),
                (150.0, wide),
                (30.0, wide),
                (30.0, neck),
                (-30.0, neck),
                (-30.0, wide),
                (-150.0, wide),
            ];
            MultiPolygon::new(vec![one(&turned(&shape, between(random, 0.0, TAU)))])
        }
        5 => {
            let parts = [(-130.0, 0.0), (110.0, 60.0), (60.0, -150.0)];
            MultiPolygon::new(
                parts
                    .iter()
                    .map(|&centre| one(&star(random, centre, 85.0, 0.3, 11)))
                    .collect(),
            )
        }
        6 => MultiPolygon::new(vec![one(&star(random, (0.0, 0.0), 30.0, 0.3, 9))]),
        _ => {
            let (length, width) = (between(random, 300.0, 600.0), between(random, 6.0, 15.0));
            let strip = [
                (-length, -width),
                (length, -width),
                (length, width),
                (-length, width),
            ];
            MultiPolygon::new(vec![one(&turned(&strip, between(random, 0.0, TAU)))])
        }
    }
}

/// The cells that touch an area, with the share that lies inside from 25 places each.
pub fn grid(workable: &MultiPolygon<f64>, cell: f64) -> Grid {
    let bounds = workable.bounding_rect().expect("an area");
    let (west, north) = (
        (bounds.min().x / cell).floor() * cell,
        (bounds.max().y / cell).ceil() * cell,
    );
    let columns = ((bounds.max().x - west) / cell).ceil() as usize;
    let rows = ((north - bounds.min().y) / cell).ceil() as usize;
    let mut touched = vec![false; columns * rows];
    for polygon in workable {
        for ring in std::iter::once(polygon.exterior()).chain(polygon.interiors()) {
            for line in ring.lines() {
                // Steps far below a cell; a corner that is missed has no area to speak of.
                let steps = ((line.dx().hypot(line.dy()) / cell) * 50.0).ceil().max(1.0);
                for step in 0..=steps as usize {
                    let part = step as f64 / steps;
                    let (x, y) = (
                        line.start.x + part * line.dx(),
                        line.start.y + part * line.dy(),
                    );
                    let column = (((x - west) / cell) as usize).min(columns - 1);
                    touched[(((north - y) / cell) as usize).min(rows - 1) * columns + column] =
                        true;
                }
            }
        }
    }
    let mut found = Grid {
        west,
        north,
        cell,
        columns,
        rows,
        cells: Vec::new(),
        share: Vec::new(),
    };
    for (index, &is_touched) in touched.iter().enumerate() {
        let (x, y) = found.centre(index as u32);
        let places = (0..25).map(|i| {
            (
                x + cell * (f64::from(i % 5) - 2.0) / 5.0,
                y + cell * (f64::from(i / 5) - 2.0) / 5.0,
            )
        });
        let share = if is_touched {
            places
                .filter(|&(x, y)| workable.contains(&Point::new(x, y)))
                .count() as f32
                / 25.0
        } else {
            f32::from(u8::from(workable.contains(&Point::new(x, y))))
        };
        if is_touched || share > 0.0 {
            found.cells.push(index as u32);
            found.share.push(share.max(0.001));
        }
    }
    found
}

/// A field with nothing but its outline and its grid.
pub fn field(workable: MultiPolygon<f64>, cell: f64) -> Field {
    let grid = grid(&workable, cell);
    let area = workable.unsigned_area();
    Field {
        crs: WorkingCrs::centred_on(-93.6, 42.0),
        boundary: workable.clone(),
        workable,
        kept_out: Vec::new(),
        area_m2: area,
        workable_m2: area,
        grid,
        places: Vec::new(),
        layers: Vec::new(),
        cones: Vec::new(),
        remarks: Vec::new(),
    }
}

/// A smooth map: a few waves of random direction, some tens to hundreds of metres long.
pub fn waves(random: &mut ChaCha8Rng, grid: &Grid, shortest: f64) -> Vec<f32> {
    let waves: Vec<[f64; 4]> = (0..6)
        .map(|_| {
            let (angle, length) = (
                between(random, 0.0, TAU),
                between(random, shortest, 6.0 * shortest),
            );
            [
                angle.cos() * TAU / length,
                angle.sin() * TAU / length,
                between(random, 0.0, TAU),
                between(random, 0.3, 1.0),
            ]
        })
        .collect();
    let value = |&cell: &u32| {
        let (x, y) = grid.centre(cell);
        waves
            .iter()
            .map(|[a, b, phase, height]| height * (a * x + b * y + phase).sin())
            .sum::<f64>() as f32
    };
    grid.cells.iter().map(value).collect()
}

/// A layer that is drawn.
pub fn drawn(analyte: Analyte, values: Vec<f32>, efficiency: f64) -> Surface {
    let standard_error = vec![0.1; values.len()];
    let skill = Skill {
        n: 60,
        rmse: 1.0,
        mean_error: 0.0,
        baseline_rmse: 2.0,
        efficiency,
        plain: lowstave::surface::PlainSkill {
            rmse: 0.0,
            mean_error: 0.0,
            efficiency: 0.0,
        },
        p_value: None,
        efficiency_interval: None,
        morans_i: None,
    };
    Surface {
        logs: None,
        mean_error: None,
        key: LayerKey::new(analyte, None, None),
        unit: Arc::from(""),
        method: lowstave::surface::Method::InverseDistance,
        power: 2.0,
        neighbours: Some(12),
        skill: Some(skill),
        map: Map::Drawn {
            values,
            standard_error,
        },
    }
}

/// Surfaces in the order of their keys.
pub fn surfaces(mut layers: Vec<Surface>) -> Surfaces {
    layers.sort_by(|a, b| a.key.cmp(&b.key));
    Surfaces {
        odd_cores: Vec::new(),
        surfaces: layers,
        remarks: Vec::new(),
    }
}

/// Three smooth layers.
pub fn three_layers(random: &mut ChaCha8Rng, field: &Field, shortest: f64) -> Surfaces {
    let analytes = [Analyte::Ph, Analyte::Clay, Analyte::Phosphorus];
    surfaces(
        analytes
            .into_iter()
            .map(|analyte| drawn(analyte, waves(random, &field.grid, shortest), 0.5))
            .collect(),
    )
}

/// Settings with nothing but what the zone stage reads.
pub fn settings(count: FixedOrAuto<usize>, smallest_m2: f64) -> Settings {
    Settings {
        cell: Length::from_metres(3.0),
        zones: made_settings::zones(count, smallest_m2),
        machine: MachineSettings {
            swath: Length::from_metres(9.0),
            ..made_settings::machine()
        },
        ..made_settings::settings()
    }
}

/// A large field of one part with a pond, about `hectares` large, with four smooth layers.
pub fn large(hectares: f64, cell: f64) -> (Field, Surfaces) {
    let mut random = ChaCha8Rng::seed_from_u64(65);
    // The mean squared radius of these stars is 0.96 of the largest.
    let radius = (hectares * 10_000.0 / (std::f64::consts::PI * 0.9)).sqrt();
    let outer = star(&mut random, (0.0, 0.0), radius, 0.1, 120);
    let pond = star(
        &mut random,
        (radius * 0.2, radius * 0.1),
        radius * 0.08,
        0.3,
        40,
    );
    let field = field(
        MultiPolygon::new(vec![Polygon::new(ring(&outer), vec![ring(&pond)])]),
        cell,
    );
    let analytes = [
        Analyte::Ph,
        Analyte::Clay,
        Analyte::Phosphorus,
        Analyte::OrganicCarbon,
    ];
    let layers = analytes
        .into_iter()
        .map(|analyte| drawn(analyte, waves(&mut random, &field.grid, radius / 3.0), 0.5))
        .collect();
    let surfaces = surfaces(layers);
    (field, surfaces)
}

/// The field, its maps and its settings for a number of the property test.
pub fn numbered(number: u64) -> (Field, Surfaces, Settings) {
    let mut random = ChaCha8Rng::seed_from_u64(number);
    let cell = [3.0, 2.0, 5.0][(number / KINDS % 3) as usize];
    let field = field(outline(&mut random, number), cell);
    let shortest = between(&mut random, 40.0, 120.0);
    let surfaces = three_layers(&mut random, &field, shortest);
    let count = 2 + (number / 3 % 5) as usize;
    let mut settings = settings(
        FixedOrAuto::Fixed(count),
        if number % KINDS == 6 { 150.0 } else { 600.0 },
    );
    settings.machine.heading = between(&mut random, 0.0, 180.0);
    (field, surfaces, settings)
}

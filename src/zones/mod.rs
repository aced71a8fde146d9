//! Stage 5: cells are clustered on standardised surfaces, small patches are given to a neighbour, and the zones
//! become polygons that tile the workable area without gap, overlap or sliver.
//!
//! The way of the data:
//!
//! ```text
//! layers -> standardise (-> components) -> count -> k_means | fuzzy_c_means -> tidy (patches, narrow) -> outline -> tiling (proof)
//! ```
//!
//! The parts of the clustering are public, so that outside checks can hold each of them.

mod cells;
pub mod components;
mod count;
mod coverage_check;
mod drawn_places;
mod error;
pub mod fuzzy_c_means;
mod halving;
pub mod indices;
mod joining;
pub mod k_means;
mod kmeans_plus_plus;
mod layers;
pub mod memberships;
mod merging;
mod minimum_width;
mod numbering;
mod outline;
mod partition;
mod passes;
mod patches;
mod raster;
mod sketch;
mod small_k_means;
pub mod standardise;
mod tidy;
mod tried_parts;
mod union_find;

use geo::GeodesicArea;

use crate::field::Field;
use crate::plan::{FixedOrAuto, Settings, ZoneMethod, ZoneShape};
use crate::remark::Remark;
use crate::surface::{Map, Surfaces};

pub use components::Component;
pub use drawn_places::{Redrawn, with_drawn_places};
pub use error::ZoneError;
pub use partition::{CountRow, DrawnPlace, Undrawn, Zone, Zones};
pub use sketch::Sketch;
pub use tried_parts::TriedParts;

use count::{Answer, Question};
use fuzzy_c_means::fuzzy_c_means;
use k_means::{Clusters, k_means, k_means_from_parts, nearest_centres};
use kmeans_plus_plus::spread_sample;
use layers::Chosen;
use outline::{Handover, Outline, Sheet};
use passes::Passes;
use patches::Tidy;
use raster::{Plane, Raster};
use standardise::Features;
use tidy::{Machine, tidy};

/// Most zones that a plan may ask for: task data of a controller number them in one byte, and one code stands for the outside.
const MOST_ZONES: usize = 254;

/// Cells on which maps are compared with each other.
const COMPARED: usize = 2048;

/// Divides the field into zones: with k-means into those of least squares, as the best of many seeded starts finds them.
///
/// # Errors
/// All problems of the settings and the maps at once; or the one that stops the drawing: nothing workable, an outline that touches
/// itself, a projection that fails.
pub fn delineate(
    field: &Field,
    surfaces: &Surfaces,
    settings: &Settings,
) -> Result<Zones, Vec<ZoneError>> {
    drawn(field, surfaces, settings, None)
}

/// Divides the field into the zones that were tried on some of its cells: with k-means into those that they lead to, which need not be those
/// of least squares.
///
/// # Errors
/// As [`delineate`].
pub fn delineate_tried(
    field: &Field,
    surfaces: &Surfaces,
    settings: &Settings,
    parts: &TriedParts,
) -> Result<Zones, Vec<ZoneError>> {
    drawn(field, surfaces, settings, Some(parts))
}

fn drawn(
    field: &Field,
    surfaces: &Surfaces,
    settings: &Settings,
    parts: Option<&TriedParts>,
) -> Result<Zones, Vec<ZoneError>> {
    let problems = problems(field, surfaces, settings);
    if !problems.is_empty() {
        return Err(problems);
    }
    let mut remarks = Vec::new();
    let layers = layers::choose(surfaces, &settings.zones, &mut remarks);
    let (features, components) = features(&layers, settings, &mut remarks);
    let answer = how_many(
        field,
        &Say::new(&layers, &components),
        &features,
        settings,
        &mut remarks,
    );
    let clusters = cluster(field, &features, (answer.count, parts), settings);
    if clusters.centres.len() < answer.count {
        remarks.push(fewer(
            answer.count,
            clusters.centres.len(),
            "the maps take too few different values",
        ));
    }
    let (outlines, of_cell) =
        draw(field, &features, &clusters, settings).map_err(|problem| vec![problem])?;
    if outlines.len() < clusters.centres.len() {
        remarks.push(fewer(
            clusters.centres.len(),
            outlines.len(),
            "the others lay in patches that were too small or too narrow to drive",
        ));
    }
    let zones = outlines.into_iter().map(zone).collect();
    let layers = layers
        .iter()
        .map(|layer| (layer.key.clone(), layer.weight))
        .collect();
    Ok(Zones {
        of_cell,
        zones,
        layers,
        components,
        drawn: Vec::new(),
        undrawn: Vec::new(),
        tried: answer.tried,
        why: answer.why,
        remarks,
    })
}

/// What the cells are clustered by: the standardised layers, or their principal components where the plan asks for them.
fn features(
    layers: &[Chosen<'_>],
    settings: &Settings,
    remarks: &mut Vec<Remark>,
) -> (Features, Vec<Component>) {
    let columns: Vec<(&[f32], f64)> = layers
        .iter()
        .map(|layer| (&*layer.values, layer.weight))
        .collect();
    let standardised = Features::standardised(&columns);
    if settings.zones.components {
        return components::principal(&standardised);
    }
    // Of layers that the plan does not name those that say the same share one say.
    if settings.zones.layers.is_some() {
        let compared = spread_sample(standardised.cells(), COMPARED, settings.zones.seed);
        layers::alike(layers, &standardised.sample(&compared), remarks);
    }
    (standardised, Vec::new())
}

fn zone(outline: Outline) -> Zone {
    let area_m2 = outline.lonlat.geodesic_area_unsigned();
    Zone {
        shape: outline.shape,
        lonlat: outline.lonlat,
        area_m2,
    }
}

/// Everything that is wrong with what comes in.
fn problems(field: &Field, surfaces: &Surfaces, settings: &Settings) -> Vec<ZoneError> {
    let mut found = Vec::new();
    if field.grid.cells.is_empty() || field.workable.0.is_empty() {
        found.push(ZoneError::NothingWorkable);
    }
    if let FixedOrAuto::Fixed(count) = settings.zones.count
        && !(1..=MOST_ZONES).contains(&count)
    {
        found.push(ZoneError::Count {
            found: count,
            most: MOST_ZONES,
        });
    }
    if let ZoneMethod::FuzzyCMeans { exponent } = settings.zones.method
        && !(exponent > 1.0 && exponent <= 10.0)
    {
        found.push(ZoneError::Exponent { found: exponent });
    }
    for (analyte, weight) in settings.zones.layers.iter().flatten() {
        if !(weight.is_finite() && *weight > 0.0) {
            found.push(ZoneError::Weight {
                layer: analyte.name(),
                found: *weight,
            });
        }
    }
    let cells = field.grid.cells.len();
    for surface in &surfaces.surfaces {
        let Map::Drawn { values, .. } = &surface.map else {
            continue;
        };
        let layer = surface.key.clone();
        if values.len() != cells {
            found.push(ZoneError::Shape {
                layer,
                found: values.len(),
                cells,
            });
        } else if let Some(first) = values.iter().position(|value| !value.is_finite()) {
            let holes = values.iter().filter(|value| !value.is_finite()).count();
            found.push(ZoneError::NotANumber {
                layer,
                found: holes,
                first,
            });
        }
    }
    found
}

/// What each column of the features has to say in the count: layers as they are, or the kept components.
struct Say {
    efficiencies: Vec<f64>,
    weights: Vec<f64>,
}

impl Say {
    fn new(layers: &[Chosen<'_>], components: &[Component]) -> Self {
        let efficiencies: Vec<f64> = layers.iter().map(|layer| layer.efficiency).collect();
        if components.is_empty() {
            return Self {
                efficiencies,
                weights: layers.iter().map(|layer| layer.weight).collect(),
            };
        }
        // The squares of the loadings add up to one: a mean of the layers' efficiencies.
        let kept = || components.iter().filter(|component| component.is_kept);
        let mean = |component: &Component| {
            component
                .loadings
                .iter()
                .zip(&efficiencies)
                .map(|(part, e)| part * part * e)
                .sum()
        };
        Self {
            efficiencies: kept().map(mean).collect(),
            weights: kept().map(|_| 1.0).collect(),
        }
    }
}

fn how_many(
    field: &Field,
    say: &Say,
    features: &Features,
    settings: &Settings,
    remarks: &mut Vec<Remark>,
) -> Answer {
    let fixed = |count: usize, why: String| Answer {
        count,
        tried: Vec::new(),
        why,
    };
    if say.weights.is_empty() {
        let what = "no map of a layer that may shape the zones has skill, so the field is one zone";
        remarks.push(
            Remark::warning("one-zone-for-want-of-maps", what)
                .help("take more samples, or name a layer that is mapped in zones.layers"),
        );
        return fixed(
            1,
            "One zone: no layer that may shape the zones could be mapped.".to_owned(),
        );
    }
    match settings.zones.count {
        FixedOrAuto::Fixed(1) => fixed(1, "One zone, as the plan says.".to_owned()),
        FixedOrAuto::Fixed(count) => fixed(count, format!("{count} zones, as the plan says.")),
        FixedOrAuto::Auto => {
            let exponent = match settings.zones.method {
                ZoneMethod::KMeans => None,
                ZoneMethod::FuzzyCMeans { exponent } => Some(exponent),
            };
            let smallest = settings
                .zones
                .smallest
                .square_metres()
                .max(field.grid.cell * field.grid.cell);
            let room = (field.workable_m2 / smallest).min(1e6) as usize;
            let seed = settings.zones.seed;
            count::decide(&Question {
                features,
                efficiencies: &say.efficiencies,
                weights: &say.weights,
                room,
                exponent,
                seed,
            })
        }
    }
}

fn cluster(
    field: &Field,
    features: &Features,
    (count, parts): (usize, Option<&TriedParts>),
    settings: &Settings,
) -> Clusters {
    if count < 2 || features.layers() == 0 {
        let cells = field.grid.cells.len();
        return Clusters {
            centres: vec![vec![0.0; features.layers()]],
            labels: vec![0; cells],
            sizes: vec![cells],
            inertia: features.total_inertia(),
        };
    }
    match settings.zones.method {
        ZoneMethod::KMeans => match parts {
            Some(parts) => k_means_from_parts(features, parts),
            None => k_means(features, count, settings.zones.seed),
        },
        ZoneMethod::FuzzyCMeans { exponent } => nearest_centres(
            features,
            &fuzzy_c_means(features, count, exponent, settings.zones.seed).centres,
        ),
    }
}

/// Tidies the cells, draws the outlines and proves that they tile.
fn draw(
    field: &Field,
    features: &Features,
    clusters: &Clusters,
    settings: &Settings,
) -> Result<(Vec<Outline>, Vec<u16>), ZoneError> {
    let DrawnZones {
        raster,
        outlines,
        handovers,
    } = match settings.zones.shape {
        ZoneShape::Smooth => smooth(field, features, clusters, settings)?,
        ZoneShape::AlongPasses => along_passes(field, features, clusters, settings)?,
    };
    check_tiling(field, &outlines)?;
    let of_cell = cells::settle(&raster, &field.grid, &outlines, &handovers);
    Ok((outlines, of_cell))
}

/// Zones as they were drawn, and the labels of the cells that they were drawn from.
struct DrawnZones {
    raster: Raster,
    outlines: Vec<Outline>,
    handovers: Vec<Handover>,
}

/// Zones with smooth edges.
fn smooth(
    field: &Field,
    features: &Features,
    clusters: &Clusters,
    settings: &Settings,
) -> Result<DrawnZones, ZoneError> {
    let grid = &field.grid;
    let smallest = settings.zones.smallest.square_metres();
    let swath = settings.machine.swath.metres();
    let machine = Machine::new(swath / grid.cell, settings.machine.heading);
    let mut raster = Raster::new(grid, &clusters.labels, outline::RIM.max(machine.rim()));
    if clusters.centres.len() > 1 {
        let how = Tidy {
            share: &grid.share,
            cell: grid.cell,
            smallest,
            features,
            centres: &clusters.centres,
        };
        tidy(&mut raster, &how, &machine);
    }
    let tolerance = settings
        .zones
        .tolerance
        .map_or(grid.cell / 2.0, |length| length.metres().max(0.0));
    let (outlines, handovers) = outline::draw(&Sheet {
        field,
        raster: &raster,
        plane: Plane::of_grid(grid, raster.rim),
        tolerance,
        smallest,
        centres: &clusters.centres,
    })?;
    Ok(DrawnZones {
        raster,
        outlines,
        handovers,
    })
}

/// Zones made of blocks along the passes of the machine.
fn along_passes(
    field: &Field,
    features: &Features,
    clusters: &Clusters,
    settings: &Settings,
) -> Result<DrawnZones, ZoneError> {
    let grid = &field.grid;
    let smallest = settings.zones.smallest.square_metres();
    let swath = settings.machine.swath.metres();
    let passes = Passes::over(grid, swath, settings.machine.heading);
    let blocks = passes.divide(grid, features, clusters, smallest);
    let raster = Raster::new(grid, &passes.labels_of_cells(&blocks), outline::RIM);
    let (outlines, handovers) = outline::draw(&Sheet {
        field,
        raster: &blocks,
        plane: passes.plane,
        tolerance: 0.0,
        smallest,
        centres: &clusters.centres,
    })?;
    Ok(DrawnZones {
        raster,
        outlines,
        handovers,
    })
}

/// Proves that the outlines tile, in metres and in degrees.
fn check_tiling(field: &Field, outlines: &[Outline]) -> Result<(), ZoneError> {
    let metres: Vec<_> = outlines.iter().map(|outline| &outline.shape).collect();
    let degrees: Vec<_> = outlines.iter().map(|outline| &outline.lonlat).collect();
    let (in_metres, in_degrees) = rayon::join(
        || coverage_check::prove(&metres, Some(&field.workable)),
        || coverage_check::prove(&degrees, None),
    );
    in_metres
        .and(in_degrees)
        .map_err(|what| ZoneError::NotTiled { what })
}

fn fewer(asked: usize, got: usize, why: &str) -> Remark {
    let what = format!("{got} of {asked} zones were drawn: {why}");
    Remark::info("fewer-zones", what).help("lower zones.smallest, or ask for fewer zones")
}

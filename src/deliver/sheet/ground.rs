use geo::{LineString, MultiPolygon};
use serde::Serialize;

use crate::deliver::overview::Overview;
use crate::deliver::report_html::MapFrame;
use crate::units::UnitSystem;

/// A ring of places, metres east and north.
type Ring = Vec<[f64; 2]>;

/// What is drawn: outlines on the field's plane.
#[derive(Debug, Clone, Serialize)]
pub struct Ground {
    /// West, south, east and north of all.
    pub bounds: [f64; 4],
    /// The boundary: rings, filled by the even-odd rule.
    pub boundary: Vec<Ring>,
    /// Where no product goes, each with the reason.
    pub kept_out: Vec<(String, Vec<Ring>)>,
    /// Rings of each zone, by rising number.
    pub zones: Vec<Vec<Ring>>,
    /// Zone, east, north and room of each place for a number.
    pub labels: Vec<(u32, f64, f64, f64)>,
    /// The check strips, each with its name.
    pub strips: Vec<(String, Ring)>,
    /// West, north, side, columns and rows of the grid.
    pub grid: (f64, f64, f64, usize, usize),
    /// Length of a foot in metres where lengths are printed in feet, else of a metre.
    pub scale: (&'static str, f64),
}

impl Ground {
    pub(super) fn new(overview: &Overview<'_>, frame: &MapFrame) -> Self {
        let field = overview.stages.field;
        let grid = &field.grid;
        let boundary = rings(&field.boundary);
        let labels = frame.labels.iter().filter_map(|label| {
            let zone = overview.zones.get(label.zone)?;
            Some((
                zone.number,
                round(label.x),
                round(label.y),
                round(label.room),
            ))
        });
        let strips = overview.stages.strips.strips();
        Self {
            bounds: bounds(&boundary),
            boundary,
            kept_out: field
                .kept_out
                .iter()
                .map(|kept| (kept.why.clone(), rings(&kept.shape)))
                .collect(),
            zones: overview
                .zones
                .iter()
                .map(|view| rings(&view.zone.shape))
                .collect(),
            labels: labels.collect(),
            strips: strips
                .map(|strip| {
                    let ring = strip.on_plane.iter().map(|&(x, y)| [round(x), round(y)]);
                    (strip.name.clone(), ring.collect())
                })
                .collect(),
            grid: (grid.west, grid.north, grid.cell, grid.columns, grid.rows),
            scale: match overview.units {
                UnitSystem::UnitedStates => ("ft", crate::units::METRES_PER_FOOT),
                UnitSystem::Metric => ("m", 1.0),
            },
        }
    }
}

fn rings(shape: &MultiPolygon<f64>) -> Vec<Ring> {
    let of_polygon = |polygon: &geo::Polygon<f64>| {
        let inner = polygon.interiors().iter().map(ring);
        std::iter::once(ring(polygon.exterior()))
            .chain(inner)
            .collect::<Vec<_>>()
    };
    shape.iter().flat_map(of_polygon).collect()
}

fn ring(line: &LineString<f64>) -> Ring {
    line.coords().map(|at| [round(at.x), round(at.y)]).collect()
}

/// To a centimetre.
fn round(metres: f64) -> f64 {
    (metres * 100.0).round() / 100.0
}

fn bounds(rings: &[Ring]) -> [f64; 4] {
    let mut bounds = [
        f64::INFINITY,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NEG_INFINITY,
    ];
    for [x, y] in rings.iter().flatten() {
        bounds = [
            bounds[0].min(*x),
            bounds[1].min(*y),
            bounds[2].max(*x),
            bounds[3].max(*y),
        ];
    }
    bounds
}

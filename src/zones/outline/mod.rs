//! From labelled cells to polygons that tile the workable area.
//!
//! 1. `arcs`: each line between two zones is extracted once, on the corners of the cells, and runs past the outline.
//! 2. `smoothing`: each line is smoothed and simplified once; its ends stay. Lines that would touch fall back to a milder form.
//! 3. `noding`: lines and outline are put on a fine integer lattice and cut where they meet.
//! 4. `clipping`, `drawing`, `faces`: what lies outside is dropped, faces are traced and named, small and thin ones are
//!    given to a neighbour.
//! 5. `rings`: edges that part nothing are dropped and the rest becomes polygons. An edge between two zones is one edge with two
//!    sides, so that both neighbours have the very same vertices.
//! 6. `degrees`: every vertex is brought to degrees and rounded once; where rounding made edges touch, steps 3 to 5 are done
//!    again on the lattice of the rounded degrees.

mod arcs;
mod clipping;
mod degrees;
mod drawing;
mod faces;
mod lattice;
mod noding;
mod rings;
mod smoothing;

use std::collections::BTreeMap;

use geo::{Coord, LineString, MultiPolygon, Polygon};
use rayon::prelude::*;

use super::error::ZoneError;
use super::raster::{NONE, Plane, Raster};
use crate::field::Field;
use drawing::{Drawing, INSIDE, OUT};
use faces::{Face, Faces, Limits};
use lattice::{Point, doubled_area};
use noding::Polyline;
use rings::Rings;
use smoothing::Frame;

/// Lattice units per metre: a power of two, so that a lattice point is a floating-point number and back. One unit is 15 nanometres:
/// a vertex put on a straight edge of 5 km moves it by less than 1 cm² of area.
const PER_METRE: f64 = 67_108_864.0;
/// A line that meets the outline nearer than this to one of its vertices, metres, meets it in the vertex (own: far below what
/// a machine can steer, far above the rounding of 8 decimals of a degree).
const SNAP: f64 = 0.02;
/// Cells that the lines run past the cells of the field before they are cut by the outline.
const OVERRUN: usize = 3;
/// The rim that this needs round the raster.
pub(super) const RIM: usize = OVERRUN + 1;
/// A face with a mean width under this share of a cell is a sliver (own).
const THINNEST: f64 = 0.5;

/// What the drawing is made from.
pub(super) struct Sheet<'a> {
    pub field: &'a Field,
    pub raster: &'a Raster,
    /// Where the cells of the raster lie.
    pub plane: Plane,
    /// Farthest a line may move, metres.
    pub tolerance: f64,
    /// Least area of a connected part, square metres.
    pub smallest: f64,
    /// Centre of each label in the features.
    pub centres: &'a [Vec<f64>],
}

/// The polygons of one zone.
pub(super) struct Outline {
    pub label: u8,
    pub shape: MultiPolygon<f64>,
    pub lonlat: MultiPolygon<f64>,
}

/// A piece that the outline of the field cut so small that it was given to a neighbour.
pub(super) struct Handover {
    pub from: u8,
    pub to: u8,
    pub shape: MultiPolygon<f64>,
}

/// The polygons of all labels that have some area, by rising label, and what changed hands.
pub(super) fn draw(sheet: &Sheet<'_>) -> Result<(Vec<Outline>, Vec<Handover>), ZoneError> {
    let workable = Originals::new(&sheet.field.workable);
    let mut polylines = lines(sheet);
    polylines.extend(workable.polylines());
    if !noding::node(&mut polylines, (SNAP * PER_METRE) as i64) {
        return Err(ZoneError::NotNoded);
    }
    let mut drawing = Drawing::new(&clipping::clip(polylines));
    let cycles = drawing.cycles();
    let mut faces = faces::find(&drawing, &cycles);
    name_the_rest(&mut faces, sheet);
    let limits = Limits {
        smallest: sheet.smallest * PER_METRE * PER_METRE,
        thinnest: THINNEST * sheet.field.grid.cell * PER_METRE,
        centres: sheet.centres,
    };
    let labels = faces.merged(&drawing, &cycles, &limits);
    faces.write(&labels, &mut drawing, &cycles);
    drawing.drop_idle(|point| workable.place(point).is_some());
    let shapes = rings::polygons(&drawing);
    let lonlat = degrees::draw(&drawing, |point| workable.metres(point), sheet.field)?;
    let outlines = shapes
        .iter()
        .map(|(&label, polygons)| Outline {
            label,
            shape: geometry(polygons, |point| workable.metres(point)),
            lonlat: lonlat
                .get(&label)
                .cloned()
                .unwrap_or_else(|| MultiPolygon::new(Vec::new())),
        })
        .collect();
    Ok((outlines, handovers(&faces, &labels)))
}

/// The smoothed lines between zones; a line that would touch another is drawn with more care.
fn lines(sheet: &Sheet<'_>) -> Vec<Polyline> {
    let raster = sheet.raster;
    let frame = Frame {
        plane: sheet.plane,
        cell: sheet.field.grid.cell,
        tolerance: sheet.tolerance,
    };
    let arcs = arcs::extract(&raster.grown(OVERRUN), raster.width, raster.height);
    let polyline = |arc: &arcs::Arc, level: u8| {
        let arc = smoothing::draw(arc, &frame, level);
        let mut points: Vec<Point> = arc
            .points
            .iter()
            .map(|&(x, y)| Point::nearest(x, y, PER_METRE))
            .collect();
        points.dedup();
        Polyline {
            points,
            left: arc.left,
            right: arc.right,
            is_outline: false,
        }
    };
    let mut levels = vec![0_u8; arcs.len()];
    let mut polylines: Vec<Polyline> = arcs.par_iter().map(|arc| polyline(arc, 0)).collect();
    loop {
        let touching: Vec<usize> = noding::in_conflict(&polylines)
            .into_iter()
            .filter(|&line| levels[line] < 2)
            .collect();
        if touching.is_empty() {
            return polylines;
        }
        for line in touching {
            levels[line] += 1;
            polylines[line] = polyline(&arcs[line], levels[line]);
        }
    }
}

/// Faces that no line between zones touches take the label of the cell under a place inside them.
fn name_the_rest(faces: &mut Faces, sheet: &Sheet<'_>) {
    let raster = sheet.raster;
    let grown = raster.grown(OVERRUN);
    for face in faces.faces.iter_mut().filter(|face| face.label == INSIDE) {
        let (x, y) = face.inner_place();
        let (column, row) = sheet.plane.position((x / PER_METRE, y / PER_METRE));
        let (column, row) = (column.floor(), row.floor());
        let is_inside = column >= 0.0
            && row >= 0.0
            && (column as usize) < raster.width
            && (row as usize) < raster.height;
        let label = if is_inside {
            grown[row as usize * raster.width + column as usize]
        } else {
            NONE
        };
        face.label = if label == NONE {
            nearest_label(raster, column, row)
        } else {
            label
        };
    }
}

fn nearest_label(raster: &Raster, column: f64, row: f64) -> u8 {
    // Row and column are whole numbers, so that their squares compare as the distances would.
    let distance = |cell: u32| {
        let (down, across) = (cell as usize / raster.width, cell as usize % raster.width);
        (down as f64 - row).powi(2) + (across as f64 - column).powi(2)
    };
    let nearest = raster
        .cells
        .iter()
        .copied()
        .min_by(|&a, &b| distance(a).total_cmp(&distance(b)));
    nearest.map_or(0, |cell| raster.labels[cell as usize])
}

fn handovers(faces: &Faces, labels: &[u8]) -> Vec<Handover> {
    let changed = |(face, &to): (&Face, &u8)| {
        (face.label != to && face.label != OUT).then(|| {
            let polygon: Rings = face.rings.clone();
            Handover {
                from: face.label,
                to,
                shape: geometry(&[polygon], |point| point.place(PER_METRE)),
            }
        })
    };
    faces.faces.iter().zip(labels).filter_map(changed).collect()
}

/// Polygons of lattice points as polygons of places.
fn geometry(polygons: &[Rings], place: impl Fn(Point) -> (f64, f64)) -> MultiPolygon<f64> {
    let line = |ring: &Vec<Point>| {
        let around = ring.iter().chain(ring.first());
        LineString::new(
            around
                .map(|&point| place(point))
                .map(|(x, y)| Coord { x, y })
                .collect(),
        )
    };
    let polygon = |rings: &Rings| {
        Polygon::new(
            rings
                .first()
                .map_or_else(|| LineString::new(Vec::new()), line),
            rings[1..].iter().map(line).collect(),
        )
    };
    MultiPolygon::new(polygons.iter().map(polygon).collect())
}

/// The outline of the workable area on the lattice, and the exact place that each of its vertices came from.
struct Originals {
    rings: Vec<Vec<Point>>,
    places: BTreeMap<Point, (f64, f64)>,
}

impl Originals {
    fn new(workable: &MultiPolygon<f64>) -> Self {
        let mut found = Self {
            rings: Vec::new(),
            places: BTreeMap::new(),
        };
        for polygon in workable {
            found.add(polygon.exterior(), true);
            for hole in polygon.interiors() {
                found.add(hole, false);
            }
        }
        found
    }

    /// Outer rings counter-clockwise, holes clockwise: the workable area is always on the left.
    fn add(&mut self, ring: &LineString<f64>, is_outer: bool) {
        let mut points = Vec::with_capacity(ring.0.len());
        for coord in &ring.0 {
            let point = Point::nearest(coord.x, coord.y, PER_METRE);
            self.places.entry(point).or_insert((coord.x, coord.y));
            points.push(point);
        }
        points.dedup();
        if points.first() == points.last() {
            points.pop();
        }
        let area = doubled_area(&points);
        if area == 0 {
            return;
        }
        if (area > 0) != is_outer {
            points.reverse();
        }
        points.extend(points.first().copied());
        self.rings.push(points);
    }

    fn polylines(&self) -> impl Iterator<Item = Polyline> {
        self.rings.iter().map(|ring| Polyline {
            points: ring.clone(),
            left: INSIDE,
            right: OUT,
            is_outline: true,
        })
    }

    fn place(&self, point: Point) -> Option<(f64, f64)> {
        self.places.get(&point).copied()
    }

    fn metres(&self, point: Point) -> (f64, f64) {
        self.place(point).unwrap_or_else(|| point.place(PER_METRE))
    }
}

//! Fields made by hand: a rectangle of cells, tables of points, layers of values. Invented, for tests only.
#![allow(dead_code)]

use std::sync::Arc;

use geo::{MultiPolygon, Rect};
use lowstave::analyte::{Analyte, DepthRange, LayerKey};
use lowstave::field::{Field, FieldLayer, Grid, Places, WorkingCrs};
use lowstave::plan::{FixedOrAuto, PointKind, SurfaceSettings};
use lowstave::units::Length;

/// A grid of whole cells with its south-west corner at a place.
pub fn grid(west: f64, south: f64, columns: usize, rows: usize, cell: f64) -> Grid {
    let cells: Vec<u32> = (0..(columns * rows) as u32).collect();
    let share = vec![1.0; cells.len()];
    Grid {
        west,
        north: south + rows as f64 * cell,
        cell,
        columns,
        rows,
        cells,
        share,
    }
}

/// A field that is a rectangle of whole cells and has no points yet.
pub fn field(grid: Grid) -> Field {
    let (width, height) = (
        grid.columns as f64 * grid.cell,
        grid.rows as f64 * grid.cell,
    );
    let outline = Rect::new(
        (grid.west, grid.north - height),
        (grid.west + width, grid.north),
    )
    .to_polygon();
    let shape = MultiPolygon::new(vec![outline]);
    Field {
        crs: WorkingCrs {
            longitude: -95.0,
            latitude: 41.0,
        },
        boundary: shape.clone(),
        workable: shape,
        kept_out: Vec::new(),
        area_m2: width * height,
        workable_m2: width * height,
        grid,
        places: Vec::new(),
        layers: Vec::new(),
        cones: Vec::new(),
        remarks: Vec::new(),
    }
}

/// Adds a table of points; rows count from 2, as in a file with a header. Gives the table's number.
pub fn add_table(field: &mut Field, file: &str, points: &[(f64, f64)]) -> usize {
    field.places.push(Places {
        file: Arc::from(file),
        kind: PointKind::Cores,
        x: points.iter().map(|p| p.0).collect(),
        y: points.iter().map(|p| p.1).collect(),
        row: (2..).take(points.len()).collect(),
        id: None,
        outside: Vec::new(),
    });
    field.cones.push(None);
    field.places.len() - 1
}

/// Adds a layer at the points of a table.
pub fn add_layer(field: &mut Field, table: usize, key: &LayerKey, values: &[f64]) {
    assert_eq!(
        field.places[table].x.len(),
        values.len(),
        "one value per point"
    );
    field.layers.push(FieldLayer {
        key: key.clone(),
        places: table,
        column: Arc::from(key.analyte.name()),
        unit: Arc::from("unit"),
        values: values.to_vec(),
        qualified: Vec::new(),
        derived: false,
    });
}

/// A field with one table and one layer.
pub fn one_layer(grid: Grid, points: &[(f64, f64)], values: &[f64]) -> Field {
    let mut made = field(grid);
    let table = add_table(&mut made, "cores.csv", points);
    add_layer(&mut made, table, &key(Analyte::Ph), values);
    made
}

/// A key at 0-6 in without a method.
pub fn key(analyte: Analyte) -> LayerKey {
    let depth = DepthRange::new(Length::from_metres(0.0), Length::from_metres(0.1524));
    LayerKey::new(analyte, None, depth)
}

/// Settings with a fixed power and count.
pub fn fixed(power: f64, neighbours: usize) -> SurfaceSettings {
    SurfaceSettings {
        power: FixedOrAuto::Fixed(power),
        neighbours: FixedOrAuto::Fixed(neighbours),
    }
}

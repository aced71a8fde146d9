//! The field in small: a few hundred cells that stand for all, and the cores as a field of one cell each. Both go through diagnosis
//! and rates as the field itself does.

use geo::{Contains, Coord, MultiPolygon};

use crate::field::{Field, FieldLayer, Grid, Places};
use crate::intake::ConeProfiles;
use crate::surface::{Map, Surface, Surfaces};
use crate::zones::{Zone, Zones};

/// Cells that stand for the field (own).
const CELLS: f64 = 330.0;
/// A cell of the field's own grid with at least this share is workable in every point.
const WHOLE: f32 = 1.0 - 1e-6;
/// Longest table of pushes that is taken along.
const LONGEST_TABLE: usize = 2_000;

/// A coarser grid over the field, with the position of each of its cells' middle in the field's own grid. It is laid from the middle of the
/// cores and no edge of the field's own cells: a field that lies a metre away, or whose outline does, is tried on the same ground.
pub(super) fn coarse(field: &Field, cores: &[(f64, f64)]) -> (Grid, Vec<usize>) {
    let own = &field.grid;
    let mut side = (field.workable_m2 / CELLS).sqrt();
    while side > own.cell {
        let (grid, slots) = laid_from(middle(cores), side, field);
        // A strip that is narrower than the cells asks for smaller ones.
        if slots.len() as f64 >= CELLS / 2.0 {
            return (grid, slots);
        }
        side /= 2.0;
    }
    (own.clone(), (0..own.cells.len()).collect())
}

fn middle(cores: &[(f64, f64)]) -> (f64, f64) {
    let count = cores.len().max(1) as f64;
    let mean = |of: fn(&(f64, f64)) -> f64| cores.iter().map(of).sum::<f64>() / count;
    (mean(|core| core.0), mean(|core| core.1))
}

/// Cells of a side, one of which has its corner at a place; those whose middle is workable.
fn laid_from(corner: (f64, f64), side: f64, field: &Field) -> (Grid, Vec<usize>) {
    let own = &field.grid;
    let (width, height) = (own.columns as f64 * own.cell, own.rows as f64 * own.cell);
    let west = corner.0 - ((corner.0 - own.west) / side).ceil() * side;
    let north = corner.1 + ((own.north - corner.1) / side).ceil() * side;
    let columns = ((own.west + width - west) / side).ceil().max(1.0) as usize;
    let rows = ((north - own.north + height) / side).ceil().max(1.0) as usize;
    let mut grid = Grid {
        west,
        north,
        cell: side,
        columns,
        rows,
        cells: Vec::new(),
        share: Vec::new(),
    };
    let mut slots = Vec::new();
    for cell in 0..(columns * rows) as u32 {
        let (x, y) = grid.centre(cell);
        if let Some(slot) = own.cell_at(x, y).and_then(|cell| own.slot(cell))
            && (own.share[slot] >= WHOLE || field.workable.contains(&Coord { x, y }))
        {
            grid.cells.push(cell);
            grid.share.push(1.0);
            slots.push(slot);
        }
    }
    (grid, slots)
}

/// A field on another grid with its pushes, without its samples.
pub(super) fn on_grid(field: &Field, grid: Grid) -> Field {
    let is_short = |places: &&(&Places, &Option<ConeProfiles>)| places.0.x.len() <= LONGEST_TABLE;
    let tables: Vec<_> = field
        .places
        .iter()
        .zip(&field.cones)
        .filter(|(_, cones)| cones.is_some())
        .filter(|table| is_short(&table))
        .collect();
    bare(
        field,
        grid,
        tables.iter().map(|(places, _)| (*places).clone()).collect(),
        tables.iter().map(|(_, cones)| (*cones).clone()).collect(),
    )
}

fn bare(field: &Field, grid: Grid, places: Vec<Places>, cones: Vec<Option<ConeProfiles>>) -> Field {
    Field {
        crs: field.crs,
        boundary: MultiPolygon(Vec::new()),
        workable: MultiPolygon(Vec::new()),
        kept_out: Vec::new(),
        area_m2: field.area_m2,
        workable_m2: field.workable_m2,
        grid,
        places,
        layers: Vec::new(),
        cones,
        remarks: Vec::new(),
    }
}

/// Zones of a small field; their areas are their share of the cells.
pub(super) fn zones(of_cell: Vec<u16>, count: usize, field: &Field) -> Zones {
    let mut parts = vec![0.0; count];
    for (zone, share) in of_cell.iter().zip(&field.grid.share) {
        parts[usize::from(*zone)] += f64::from(*share);
    }
    let all: f64 = parts.iter().sum();
    let zone = |part: &f64| Zone {
        shape: MultiPolygon(Vec::new()),
        lonlat: MultiPolygon(Vec::new()),
        area_m2: part / all.max(f64::MIN_POSITIVE) * field.workable_m2,
    };
    Zones {
        of_cell,
        zones: parts.iter().map(zone).collect(),
        layers: Vec::new(),
        components: Vec::new(),
        drawn: Vec::new(),
        undrawn: Vec::new(),
        tried: Vec::new(),
        why: String::new(),
        remarks: Vec::new(),
    }
}

/// Each core as a field cell of its own, with its own values; what was not measured there is that of the nearest place where it was.
pub(super) fn of_cores(
    field: &Field,
    surfaces: &Surfaces,
    cores: &[(f64, f64)],
) -> (Field, Surfaces, Zones) {
    let n = cores.len();
    let grid = Grid {
        west: 0.0,
        north: 1.0,
        cell: 1.0,
        columns: n,
        rows: 1,
        cells: (0..n as u32).collect(),
        share: vec![1.0; n],
    };
    let (mut places, mut cones) = (Vec::new(), Vec::new());
    for (table, pushes) in field.places.iter().zip(&field.cones) {
        if let Some(pushes) = pushes.as_ref().filter(|_| table.x.len() <= LONGEST_TABLE) {
            let (near, own) = pushes_of(table, pushes, cores);
            places.push(near);
            cones.push(Some(own));
        }
    }
    let small = bare(field, grid, places, cones);
    let own = |surface: &Surface| {
        surface.with_map(Map::Drawn {
            values: own_values(field, surface, cores),
            standard_error: vec![0.0; n],
        })
    };
    let surfaces = Surfaces {
        surfaces: surfaces.surfaces.iter().map(own).collect(),
        odd_cores: Vec::new(),
        remarks: Vec::new(),
    };
    let zones = zones((0..n as u16).collect(), n, &small);
    (small, surfaces, zones)
}

fn squared(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)
}

fn own_values(field: &Field, surface: &Surface, cores: &[(f64, f64)]) -> Vec<f32> {
    let parts: Vec<&FieldLayer> = field
        .layers
        .iter()
        .filter(|l| l.key == surface.key)
        .collect();
    let length: usize = parts.iter().map(|part| part.values.len()).sum();
    let from_map = |at: (f64, f64)| match &surface.map {
        Map::Flat { value, .. } => *value,
        Map::Drawn { values, .. } => field
            .grid
            .cell_at(at.0, at.1)
            .and_then(|cell| field.grid.slot(cell))
            .map_or(f64::NAN, |slot| f64::from(values[slot])),
    };
    let nearest = |at: (f64, f64)| {
        let mut best = (f64::INFINITY, f64::NAN);
        for part in &parts {
            let table = &field.places[part.places];
            for ((x, y), value) in table.x.iter().zip(&table.y).zip(&part.values) {
                let off = squared((*x, *y), at);
                if value.is_finite() && off < best.0 {
                    best = (off, *value);
                }
            }
        }
        best.1
    };
    let is_long = length > LONGEST_TABLE;
    let own = |at: &(f64, f64)| if is_long { from_map(*at) } else { nearest(*at) };
    cores.iter().map(|at| own(at) as f32).collect()
}

/// The nearest push of each core.
fn pushes_of(
    table: &Places,
    pushes: &ConeProfiles,
    cores: &[(f64, f64)],
) -> (Places, ConeProfiles) {
    let marks = pushes.depths.len().max(1);
    let is_inside = |at: &usize| {
        let outside = table
            .outside
            .binary_search_by_key(&(*at as u32), |(o, _)| *o);
        outside.is_err()
    };
    let nearest = |core: &(f64, f64)| {
        (0..table.x.len()).filter(is_inside).min_by(|&a, &b| {
            let off = |i: usize| squared((table.x[i], table.y[i]), *core);
            off(a).total_cmp(&off(b))
        })
    };
    let near: Vec<usize> = cores.iter().filter_map(nearest).collect();
    let readings = |&at: &usize| pushes.kilopascals[at * marks..(at + 1) * marks].to_vec();
    let own = ConeProfiles {
        depths: pushes.depths.clone(),
        kilopascals: near.iter().flat_map(readings).collect(),
        refused: near
            .iter()
            .map(|&at| pushes.refused.get(at).copied().flatten())
            .collect(),
        moisture: pushes.moisture.clone(),
    };
    let places = Places {
        file: table.file.clone(),
        kind: table.kind,
        x: (0..near.len()).map(|at| at as f64 + 0.5).collect(),
        y: vec![0.5; near.len()],
        row: vec![0; near.len()],
        id: None,
        outside: Vec::new(),
    };
    (places, own)
}

//! How much of each cell an area covers, exactly, by summing signed areas under the edges row by row.

use geo::{Coord, MultiPolygon};
use rayon::prelude::*;

/// Rows that one task works on.
const BAND: usize = 64;

/// A rectangle of cells: north-west corner, side, columns and rows.
#[derive(Debug, Clone, Copy)]
pub(super) struct Frame {
    pub(super) west: f64,
    pub(super) north: f64,
    pub(super) cell: f64,
    pub(super) columns: usize,
    pub(super) rows: usize,
}

/// Row-major cells with a share above `least`, rising, with the share. Rings must be oriented (holes the other way round).
pub(super) fn covered(area: &MultiPolygon<f64>, frame: Frame, least: f64) -> (Vec<u32>, Vec<f32>) {
    let edges = edges_in_cells(area, frame);
    let bands: Vec<(Vec<u32>, Vec<f32>)> = (0..frame.rows.div_ceil(BAND))
        .into_par_iter()
        .map(|band| {
            let rows = band * BAND..((band + 1) * BAND).min(frame.rows);
            covered_rows(&edges, frame.columns, rows, least)
        })
        .collect();
    let mut cells = Vec::with_capacity(bands.iter().map(|b| b.0.len()).sum());
    let mut shares = Vec::with_capacity(cells.capacity());
    for (band_cells, band_shares) in bands {
        cells.extend(band_cells);
        shares.extend(band_shares);
    }
    (cells, shares)
}

/// Edges in units of cells, x from the west edge, y downward from the north edge.
fn edges_in_cells(area: &MultiPolygon<f64>, frame: Frame) -> Vec<(Coord<f64>, Coord<f64>)> {
    let scaled = |c: Coord<f64>| Coord {
        x: (c.x - frame.west) / frame.cell,
        y: (frame.north - c.y) / frame.cell,
    };
    area.iter()
        .flat_map(|part| std::iter::once(part.exterior()).chain(part.interiors()))
        .flat_map(geo::LineString::lines)
        .map(|line| (scaled(line.start), scaled(line.end)))
        .filter(|(a, b)| a.y != b.y)
        .collect()
}

fn covered_rows(
    edges: &[(Coord<f64>, Coord<f64>)],
    columns: usize,
    rows: std::ops::Range<usize>,
    least: f64,
) -> (Vec<u32>, Vec<f32>) {
    let (top, bottom) = (rows.start as f64, rows.end as f64);
    // One column more than the frame has, for what the last column passes on.
    let width = columns + 2;
    let mut sums = vec![0.0_f64; rows.len() * width];
    for &(a, b) in edges {
        if a.y.max(b.y) > top && a.y.min(b.y) < bottom {
            add_edge(&mut sums, width, &rows, a, b);
        }
    }
    let (mut cells, mut shares) = (Vec::new(), Vec::new());
    for (line, row) in sums.chunks_exact(width).zip(rows) {
        let mut running = 0.0;
        for (column, sum) in line.iter().take(columns).enumerate() {
            running += sum;
            let share = running.abs();
            if share > least {
                cells.push((row * columns + column) as u32);
                shares.push(share.min(1.0) as f32);
            }
        }
    }
    (cells, shares)
}

/// Adds what an edge covers to its right: within each row, the piece's height times the part of the cell right of it,
/// the rest of the height to the next cell, which the running sum passes on to all further ones.
fn add_edge(
    sums: &mut [f64],
    width: usize,
    rows: &std::ops::Range<usize>,
    a: Coord<f64>,
    b: Coord<f64>,
) {
    let (sign, up, down) = if a.y < b.y { (1.0, a, b) } else { (-1.0, b, a) };
    let slope = (down.x - up.x) / (down.y - up.y);
    let first = (up.y.max(rows.start as f64)).floor() as usize;
    let last = (down.y.min(rows.end as f64)).ceil() as usize;
    for row in first..last.min(rows.end) {
        let y0 = up.y.max(row as f64);
        let y1 = down.y.min(row as f64 + 1.0);
        if y1 <= y0 {
            continue;
        }
        let at = |y: f64| (up.x + (y - up.y) * slope).clamp(0.0, (width - 2) as f64);
        let line = &mut sums[(row - rows.start) * width..(row - rows.start + 1) * width];
        add_piece(line, sign * (y1 - y0), at(y0), at(y1));
    }
}

/// A piece of an edge within one row, from `x0` to `x1`, of signed height.
fn add_piece(line: &mut [f64], height: f64, x0: f64, x1: f64) {
    let (left, right) = if x0 < x1 { (x0, x1) } else { (x1, x0) };
    let (first, last) = (left.floor() as usize, right.floor() as usize);
    let spread = right - left;
    for column in first..=last {
        let from = left.max(column as f64);
        let to = right.min(column as f64 + 1.0);
        let part = if spread > 0.0 {
            height * (to - from) / spread
        } else {
            height
        };
        let beside = 1.0 - (f64::midpoint(from, to) - column as f64);
        line[column] += part * beside;
        line[column + 1] += part * (1.0 - beside);
        if spread == 0.0 {
            break;
        }
    }
}

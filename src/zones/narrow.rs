//! Places where a zone is too narrow to be driven are given to the neighbour they resemble most.
//!
//! A place stays where it is when a shape that the machine needs, laid over it somewhere, lies wholly in its zone: a disc as wide as the
//! swath, and a stretch two swaths long along the direction of travel (an opening, in the language of mathematical morphology: Serra
//! 1982, "Image analysis and mathematical morphology", chapter 2). The shape may stick out of the field, but not with its middle: a zone
//! that the edge of the field cuts needs half of it.

use super::patches::Tidy;
use super::raster::{NONE, Raster};

/// Cells that a shape may reach from its middle; a swath wider than this many cells is treated as this wide.
const FARTHEST: i32 = 60;
/// Ways to a neighbour that a pair of cells of a shape can be joined by.
const STEPS: [(i32, i32); 4] = [(1, 0), (0, 1), (1, 1), (1, -1)];

/// Cells (column, row) round a middle, that must all be of one zone.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Footprint {
    cells: Vec<(i32, i32)>,
    /// For each of `STEPS`, the cells whose neighbour that way is joined to them. All cells hang together by these.
    joined: [Vec<(i32, i32)>; 4],
}

impl Footprint {
    /// A disc of a diameter in cells.
    pub fn disc(diameter: f64) -> Self {
        let across = whole(diameter).min(2 * FARTHEST);
        let middle = f64::from(across - 1) / 2.0;
        let is_in = |column: i32, row: i32| {
            let (x, y) = (f64::from(column) - middle, f64::from(row) - middle);
            (0..across).contains(&column) && (0..across).contains(&row) && x * x + y * y <= f64::from(across * across) / 4.0
        };
        let shift = (across - 1) / 2;
        let mut found = Self { cells: Vec::new(), joined: Default::default() };
        for row in 0..across {
            for column in (0..across).filter(|&column| is_in(column, row)) {
                let place = (column - shift, row - shift);
                found.cells.push(place);
                for (step, joined) in STEPS.iter().zip(&mut found.joined).take(2) {
                    if is_in(column + step.0, row + step.1) {
                        joined.push(place);
                    }
                }
            }
        }
        found
    }

    /// A stretch of a length in cells along a heading in degrees clockwise from north.
    pub fn stretch(length: f64, heading: f64) -> Self {
        let count = whole(length).min(2 * FARTHEST);
        let (east, north) = heading.to_radians().sin_cos();
        let place = |index: i32| {
            let along = f64::from(index - (count - 1) / 2);
            ((along * east).round() as i32, (-along * north).round() as i32)
        };
        let mut cells: Vec<(i32, i32)> = (0..count).map(place).collect();
        cells.dedup();
        let mut joined: [Vec<(i32, i32)>; 4] = Default::default();
        for pair in cells.windows(2) {
            let step = (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
            let back = (-step.0, -step.1);
            if let Some(way) = STEPS.iter().position(|&s| s == step) {
                joined[way].push(pair[0]);
            } else if let Some(way) = STEPS.iter().position(|&s| s == back) {
                joined[way].push(pair[1]);
            }
        }
        Self { cells, joined }
    }

    /// Farthest cell from the middle, in columns or rows.
    pub fn reach(&self) -> usize {
        self.cells.iter().map(|(column, row)| column.abs().max(row.abs())).max().unwrap_or(0) as usize
    }
}

/// Whole cells that cover a length; a hair over a whole number does not count.
fn whole(cells: f64) -> i32 {
    (cells - 1e-6).ceil().clamp(1.0, 1e6) as i32
}

/// How often a cell may change hands. Some corners suit neither side; without an end they would go to and fro.
const CHANGES: u8 = 2;

/// Gives the cells that no footprint covers to the neighbour they resemble most; how many cells changed. `changes` counts, cell by cell
/// of the raster, how often they did.
pub(super) fn widen(raster: &mut Raster, how: &Tidy<'_>, footprint: &Footprint, changes: &mut [u8]) -> usize {
    if footprint.cells.len() < 2 {
        return 0;
    }
    let covered = covered(raster, footprint);
    let narrow: Vec<bool> = raster.labels.iter().zip(&covered).map(|(&label, &covered)| label != NONE && !covered).collect();
    reassign(raster, how, &narrow, changes)
}

/// Cells over which the footprint can be laid within one zone.
fn covered(raster: &Raster, footprint: &Footprint) -> Vec<bool> {
    let width = raster.width as isize;
    let offset = |&(column, row): &(i32, i32)| row as isize * width + column as isize;
    let blocked = blocked(raster, footprint);
    let is_free = |cell: usize| raster.labels[cell] != NONE && !blocked[cell];
    let offsets: Vec<isize> = footprint.cells.iter().map(offset).collect();
    let mut covered = vec![false; raster.labels.len()];
    for &cell in raster.cells.iter().filter(|&&cell| is_free(cell as usize)) {
        let cell = cell as usize;
        covered[cell] = true;
        // Well inside, the neighbours cover themselves.
        if [cell - 1, cell + 1, cell - raster.width, cell + raster.width].into_iter().all(is_free) {
            continue;
        }
        for &by in &offsets {
            covered[cell.saturating_add_signed(by)] = true;
        }
    }
    covered
}

/// Middles at which the footprint would lie over two zones.
fn blocked(raster: &Raster, footprint: &Footprint) -> Vec<bool> {
    let labels = raster.grown(footprint.reach());
    let width = raster.width as isize;
    let offset = |&(column, row): &(i32, i32)| row as isize * width + column as isize;
    let mut blocked = vec![false; labels.len()];
    for (step, joined) in STEPS.iter().zip(&footprint.joined).filter(|(_, joined)| !joined.is_empty()) {
        let by = offset(step);
        let back: Vec<isize> = joined.iter().map(|place| -offset(place)).collect();
        let (from, to) = (raster.width, labels.len() - raster.width - 1);
        for cell in from..to {
            let (here, there) = (labels[cell], labels[cell.saturating_add_signed(by)]);
            if here != there && here != NONE && there != NONE {
                for &middle in &back {
                    if let Some(place) = cell.checked_add_signed(middle).and_then(|at| blocked.get_mut(at)) {
                        *place = true;
                    }
                }
            }
        }
    }
    blocked
}

/// Each connected piece of narrow cells of one zone goes to the bordering zone whose centre is nearest to its mean.
fn reassign(raster: &mut Raster, how: &Tidy<'_>, narrow: &[bool], changes: &mut [u8]) -> usize {
    let mut position = vec![u32::MAX; raster.labels.len()];
    for (index, &cell) in raster.cells.iter().enumerate() {
        if narrow[cell as usize] {
            position[cell as usize] = index as u32;
        }
    }
    let before = raster.labels.clone();
    let mut is_seen = vec![false; raster.labels.len()];
    let mut changed = 0;
    for start in raster.cells.clone() {
        if !narrow[start as usize] || is_seen[start as usize] {
            continue;
        }
        let (piece, borders) = flood(raster, &before, narrow, &mut is_seen, start as usize);
        if piece.iter().any(|&cell| changes[cell] >= CHANGES) {
            continue;
        }
        let Some(label) = most_alike(how, &piece, &position, &borders) else { continue };
        changed += piece.len();
        for cell in piece {
            raster.labels[cell] = label;
            changes[cell] += 1;
        }
    }
    changed
}

/// A connected piece of narrow cells of one label and the labels that border it: those of cells that stay, or of any where there are
/// none.
fn flood(raster: &Raster, labels: &[u8], narrow: &[bool], is_seen: &mut [bool], start: usize) -> (Vec<usize>, Vec<u8>) {
    let own = labels[start];
    let (mut firm, mut loose) = (Vec::new(), Vec::new());
    let mut piece = vec![start];
    is_seen[start] = true;
    let mut next = 0;
    while next < piece.len() {
        for neighbour in raster.neighbours(piece[next]).into_iter().flatten() {
            let label = labels[neighbour];
            if label == own && narrow[neighbour] && !is_seen[neighbour] {
                is_seen[neighbour] = true;
                piece.push(neighbour);
            } else if label != own && label != NONE {
                if narrow[neighbour] { loose.push(label) } else { firm.push(label) }
            }
        }
        next += 1;
    }
    let mut borders = if firm.is_empty() { loose } else { firm };
    borders.sort_unstable();
    borders.dedup();
    (piece, borders)
}

fn most_alike(how: &Tidy<'_>, piece: &[usize], position: &[u32], borders: &[u8]) -> Option<u8> {
    if borders.len() < 2 {
        return borders.first().copied();
    }
    let layers = how.features.layers();
    let mut mean = vec![0.0; layers];
    for &cell in piece {
        for (layer, sum) in mean.iter_mut().enumerate() {
            *sum += f64::from(how.features.column(layer)[position[cell] as usize]) / piece.len() as f64;
        }
    }
    let distance = |label: u8| -> f64 {
        how.centres.get(label as usize).map_or(f64::INFINITY, |centre| centre.iter().zip(&mean).map(|(a, b)| (a - b) * (a - b)).sum())
    };
    borders.iter().copied().min_by(|&a, &b| distance(a).total_cmp(&distance(b)).then(a.cmp(&b)))
}

#[cfg(test)]
#[path = "narrow_tests.rs"]
mod narrow_tests;

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
            (0..across).contains(&column)
                && (0..across).contains(&row)
                && x * x + y * y <= f64::from(across * across) / 4.0
        };
        let shift = (across - 1) / 2;
        let mut found = Self {
            cells: Vec::new(),
            joined: Default::default(),
        };
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

    /// A segment of a length in cells along a heading in degrees clockwise from north.
    pub fn stretch(length: f64, heading: f64) -> Self {
        let count = whole(length).min(2 * FARTHEST);
        let (east, north) = heading.to_radians().sin_cos();
        let place = |index: i32| {
            let along = f64::from(index - (count - 1) / 2);
            (
                (along * east).round() as i32,
                (-along * north).round() as i32,
            )
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
        self.cells
            .iter()
            .map(|(column, row)| column.abs().max(row.abs()))
            .max()
            .unwrap_or(0) as usize
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
pub(super) fn widen(
    raster: &mut Raster,
    how: &Tidy<'_>,
    footprint: &Footprint,
    changes: &mut [u8],
) -> usize {
    if footprint.cells.len() < 2 {
        return 0;
    }
    let narrow = uncovered(raster, footprint);
    reassign(raster, how, &narrow, changes)
}

/// Cells of the field over which the footprint cannot be laid within one zone, rising.
fn uncovered(raster: &Raster, footprint: &Footprint) -> Vec<u32> {
    let blocked = blocked(raster, footprint);
    let is_free = |cell: usize| raster.labels[cell] != NONE && !blocked[cell];
    let offsets = offsets(&footprint.cells, raster.width);
    let uncertain = uncertain(raster, &blocked);
    let mut covered = vec![false; raster.labels.len()];
    for &cell in &uncertain {
        let cell = cell as usize;
        // Laid over the free cells next to blocked ones, the footprint reaches nearly all that it can reach at all.
        for middle in [cell - 1, cell + 1, cell - raster.width, cell + raster.width]
            .into_iter()
            .filter(|&middle| is_free(middle))
        {
            if !std::mem::replace(&mut covered[middle], true) {
                for &by in &offsets {
                    covered[middle.saturating_add_signed(by)] = true;
                }
            }
        }
    }
    let is_reached = |cell: usize| {
        offsets
            .iter()
            .any(|&by| cell.checked_add_signed(-by).is_some_and(&is_free))
    };
    uncertain
        .into_iter()
        .filter(|&cell| !covered[cell as usize] && !is_reached(cell as usize))
        .collect()
}

/// Cells of the field that are blocked, rising. Most stretches hold none.
fn uncertain(raster: &Raster, blocked: &[bool]) -> Vec<u32> {
    let mut found = Vec::new();
    for (stretch, places) in blocked
        .chunks(STRETCH)
        .enumerate()
        .filter(|(_, places)| **places != [false; STRETCH][..places.len()])
    {
        let of_field = |at: &usize| blocked[*at] && raster.labels[*at] != NONE;
        let from = stretch * STRETCH;
        found.extend(
            (from..from + places.len())
                .filter(of_field)
                .map(|at| at as u32),
        );
    }
    found
}

fn offsets(cells: &[(i32, i32)], width: usize) -> Vec<isize> {
    cells
        .iter()
        .map(|&(column, row)| row as isize * width as isize + column as isize)
        .collect()
}

/// Cells compared at once in the search for the lines between zones.
const STRETCH: usize = 64;

/// Middles at which the footprint would lie over two zones.
fn blocked(raster: &Raster, footprint: &Footprint) -> Vec<bool> {
    let labels = raster.grown(footprint.reach());
    let mut blocked = vec![false; labels.len()];
    for (&step, joined) in STEPS
        .iter()
        .zip(&footprint.joined)
        .filter(|(_, joined)| !joined.is_empty())
    {
        let by = offsets(&[step], raster.width)[0];
        let middles = offsets(joined, raster.width);
        // The rim keeps the first and the last row empty.
        let (from, to) = (raster.width, labels.len() - raster.width - 1);
        for start in (from..to).step_by(STRETCH) {
            let (here, end) = (start, (start + STRETCH).min(to));
            let there = here.saturating_add_signed(by);
            let (these, those) = (&labels[here..end], &labels[there..there + end - here]);
            if these != those {
                block(&mut blocked, (these, those), start, &middles);
            }
        }
    }
    blocked
}

/// Blocks the middles whose footprint holds a pair of neighbours of two zones.
fn block(blocked: &mut [bool], (these, those): (&[u8], &[u8]), start: usize, middles: &[isize]) {
    for (offset, (&here, &there)) in these.iter().zip(those).enumerate() {
        if here != there && here != NONE && there != NONE {
            for &by in middles {
                if let Some(place) = (start + offset)
                    .checked_add_signed(-by)
                    .and_then(|at| blocked.get_mut(at))
                {
                    *place = true;
                }
            }
        }
    }
}

/// Each connected piece of narrow cells of one zone goes to the bordering zone whose centre is nearest to its mean.
fn reassign(raster: &mut Raster, how: &Tidy<'_>, narrow: &[u32], changes: &mut [u8]) -> usize {
    if narrow.is_empty() {
        return 0;
    }
    let mut waits = vec![false; raster.labels.len()];
    for &cell in narrow {
        waits[cell as usize] = true;
    }
    let before = raster.labels.clone();
    let is_narrow = waits.clone();
    let mut changed = 0;
    for &start in narrow {
        if !waits[start as usize] {
            continue;
        }
        let (piece, borders) = flood(raster, &before, &is_narrow, &mut waits, start as usize);
        if piece.iter().any(|&cell| changes[cell] >= CHANGES) {
            continue;
        }
        let Some(label) = most_alike(raster, how, &piece, &borders) else {
            continue;
        };
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
fn flood(
    raster: &Raster,
    labels: &[u8],
    narrow: &[bool],
    waits: &mut [bool],
    start: usize,
) -> (Vec<usize>, Vec<u8>) {
    let own = labels[start];
    let (mut firm, mut loose) = (Vec::new(), Vec::new());
    let mut piece = vec![start];
    waits[start] = false;
    let mut next = 0;
    while next < piece.len() {
        for neighbour in raster.neighbours(piece[next]).into_iter().flatten() {
            let label = labels[neighbour];
            if label == own && waits[neighbour] {
                waits[neighbour] = false;
                piece.push(neighbour);
            } else if label != own && label != NONE {
                if narrow[neighbour] {
                    loose.push(label);
                } else {
                    firm.push(label);
                }
            }
        }
        next += 1;
    }
    let mut borders = if firm.is_empty() { loose } else { firm };
    borders.sort_unstable();
    borders.dedup();
    (piece, borders)
}

fn most_alike(raster: &Raster, how: &Tidy<'_>, piece: &[usize], borders: &[u8]) -> Option<u8> {
    if borders.len() < 2 {
        return borders.first().copied();
    }
    let layers = how.features.layers();
    let mut mean = vec![0.0; layers];
    for &cell in piece {
        let Ok(place) = raster.cells.binary_search(&(cell as u32)) else {
            continue;
        };
        for (layer, sum) in mean.iter_mut().enumerate() {
            *sum += f64::from(how.features.column(layer)[place]) / piece.len() as f64;
        }
    }
    let distance = |label: u8| -> f64 {
        how.centres
            .get(label as usize)
            .map_or(f64::INFINITY, |centre| {
                centre
                    .iter()
                    .zip(&mean)
                    .map(|(a, b)| (a - b) * (a - b))
                    .sum()
            })
    };
    borders
        .iter()
        .copied()
        .min_by(|&a, &b| distance(a).total_cmp(&distance(b)).then(a.cmp(&b)))
}

#[cfg(test)]
#[path = "minimum_width_tests.rs"]
mod minimum_width_tests;

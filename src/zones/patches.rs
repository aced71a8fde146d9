//! Connected patches of cells and what they touch.
//!
//! Everything is worked out on runs of cells of one label in one row: there are far fewer of them than cells.

use std::collections::BTreeMap;

use super::merging::{Merging, Patch};
use super::raster::{NONE, Raster};
use super::standardise::Features;
use super::union_find::UnionFind;

/// What the tidying of cells needs to know.
pub(super) struct Tidy<'a> {
    /// Share of each of the grid's cells that is workable.
    pub share: &'a [f32],
    /// Side of a cell, metres.
    pub cell: f64,
    /// Least area of a patch, square metres.
    pub smallest: f64,
    pub features: &'a Features,
    /// Centre of each label in the features.
    pub centres: &'a [Vec<f64>],
}

/// Gives every patch below the smallest area to the neighbour it resembles most; how many cells changed.
pub(super) fn merge_small(raster: &mut Raster, how: &Tidy<'_>) -> usize {
    let mut mosaic = Mosaic::new(raster);
    let count = mosaic.connect();
    let patches = describe(&mosaic, how, count);
    if patches.iter().all(|patch| patch.area >= how.smallest) {
        return 0;
    }
    let mut merging = Merging::run(patches, how.smallest, how.centres);
    let mut changed = 0;
    for run in &mosaic.runs {
        let label = merging.label_of(run.patch);
        if label != run.label {
            raster.labels[run.start as usize..run.end as usize].fill(label);
            changed += run.len();
        }
    }
    changed
}

/// Cells side by side in a row that have one label.
struct Run {
    /// Position of the first cell in the raster.
    start: u32,
    /// Position behind the last one.
    end: u32,
    /// The first cell's place among the grid's cells.
    first: u32,
    label: u8,
    patch: u32,
}

impl Run {
    fn len(&self) -> usize {
        (self.end - self.start) as usize
    }

    /// Places of its cells among the grid's cells.
    fn cells(&self) -> std::ops::Range<usize> {
        self.first as usize..self.first as usize + self.len()
    }
}

/// Two runs that touch, and along how many cells.
type Contact = (u32, u32, u32);

/// All runs, row by row, and where runs of different labels touch.
struct Mosaic {
    runs: Vec<Run>,
    /// Mosaic of one label that touch.
    alike: Vec<(u32, u32)>,
    /// Mosaic of two labels that touch.
    contacts: Vec<Contact>,
}

impl Mosaic {
    fn new(raster: &Raster) -> Self {
        let mut runs: Vec<Run> = Vec::new();
        for (first, &cell) in raster.cells.iter().enumerate() {
            let label = raster.labels[cell as usize];
            match runs.last_mut() {
                // The rim parts the end of a row from the start of the next.
                Some(run) if run.end == cell && run.label == label => run.end += 1,
                _ => runs.push(Run {
                    start: cell,
                    end: cell + 1,
                    first: first as u32,
                    label,
                    patch: 0,
                }),
            }
        }
        let mut found = Self {
            runs,
            alike: Vec::new(),
            contacts: Vec::new(),
        };
        found.touch(raster.width as u32);
        found
    }

    /// Finds the runs that touch those before them and those above them.
    fn touch(&mut self, width: u32) {
        let mut above = 0;
        for (index, run) in self.runs.iter().enumerate() {
            if let Some(before) = index
                .checked_sub(1)
                .filter(|&before| self.runs[before].end == run.start)
            {
                self.contacts.push((before as u32, index as u32, 1));
            }
            while self.runs[above].end + width <= run.start {
                above += 1;
            }
            for (other, upper) in self
                .runs
                .iter()
                .enumerate()
                .skip(above)
                .take_while(|(_, upper)| upper.start + width < run.end)
            {
                if upper.label == run.label {
                    self.alike.push((other as u32, index as u32));
                } else {
                    let shared =
                        run.end.min(upper.end + width) - run.start.max(upper.start + width);
                    self.contacts.push((other as u32, index as u32, shared));
                }
            }
        }
    }

    /// Numbers the patches (cells joined by a side, not by a corner) in row-major order of their first cells; how many there are.
    fn connect(&mut self) -> usize {
        let mut groups = UnionFind::new(self.runs.len());
        for &(one, other) in &self.alike {
            groups.unite(one, other);
        }
        let mut number = vec![u32::MAX; self.runs.len()];
        let mut count = 0;
        for (index, run) in self.runs.iter_mut().enumerate() {
            let root = groups.root(index as u32) as usize;
            if number[root] == u32::MAX {
                number[root] = count;
                count += 1;
            }
            run.patch = number[root];
        }
        count as usize
    }

    /// Patches that touch, each pair once, and along how many cells.
    fn borders(&self) -> Vec<Contact> {
        let patch = |run: u32| self.runs[run as usize].patch;
        let pair = |&(one, other, shared): &Contact| {
            let (one, other) = (patch(one), patch(other));
            (one.min(other), one.max(other), shared)
        };
        let mut pairs: Vec<Contact> = self.contacts.iter().map(pair).collect();
        pairs.sort_unstable();
        pairs
            .chunk_by(|a, b| (a.0, a.1) == (b.0, b.1))
            .map(|same| (same[0].0, same[0].1, same.iter().map(|c| c.2).sum()))
            .collect()
    }
}

fn describe(mosaic: &Mosaic, how: &Tidy<'_>, count: usize) -> Vec<Patch> {
    let layers = how.features.layers();
    let empty = Patch {
        label: NONE,
        area: 0.0,
        profile: vec![0.0; layers],
        is_sliver: false,
        borders: BTreeMap::new(),
    };
    let mut patches = vec![empty; count];
    for run in &mosaic.runs {
        let here = &mut patches[run.patch as usize];
        here.label = run.label;
        let cells = how.share[run.cells()]
            .iter()
            .map(|&share| f64::from(share) * how.cell * how.cell);
        here.area = cells.fold(here.area, |area, cell| area + cell);
    }
    for (one, other, shared) in mosaic.borders() {
        let length = f64::from(shared) * how.cell;
        patches[one as usize].borders.insert(other, length);
        patches[other as usize].borders.insert(one, length);
    }
    fill_profiles(&mut patches, mosaic, how);
    patches
}

/// Only small patches are ever compared, so only theirs are summed.
fn fill_profiles(patches: &mut [Patch], mosaic: &Mosaic, how: &Tidy<'_>) {
    for patch in patches
        .iter_mut()
        .filter(|patch| patch.area >= how.smallest)
    {
        if let Some(centre) = how.centres.get(patch.label as usize) {
            patch.profile.clone_from(centre);
        }
    }
    let mut cells_of = vec![0; patches.len()];
    for run in &mosaic.runs {
        let patch = &mut patches[run.patch as usize];
        if patch.area < how.smallest {
            cells_of[run.patch as usize] += run.len();
            for (layer, sum) in patch.profile.iter_mut().enumerate() {
                *sum = how.features.column(layer)[run.cells()]
                    .iter()
                    .fold(*sum, |sum, &value| sum + f64::from(value));
            }
        }
    }
    for (patch, cells) in patches
        .iter_mut()
        .zip(cells_of)
        .filter(|(_, cells)| *cells > 0)
    {
        patch
            .profile
            .iter_mut()
            .for_each(|sum| *sum /= cells as f64);
    }
}

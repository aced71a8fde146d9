//! Connected patches of cells and what they touch.

use std::collections::BTreeMap;

use super::merging::{Merging, Patch};
use super::raster::{NONE, Raster};
use super::standardise::Features;

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
    let (patch_of, count) = connected(raster);
    let patches = describe(raster, how, &patch_of, count);
    if patches.iter().all(|patch| patch.area >= how.smallest) {
        return 0;
    }
    let mut merging = Merging::run(patches, how.smallest, how.centres);
    let label_of: Vec<u8> = (0..count as u32).map(|patch| merging.label_of(patch)).collect();
    let mut changed = 0;
    for &cell in &raster.cells {
        let (label, new) = (&mut raster.labels[cell as usize], label_of[patch_of[cell as usize] as usize]);
        changed += usize::from(*label != new);
        *label = new;
    }
    changed
}

/// Patch number of each cell (cells joined by a side, not by a corner) and the number of patches, in row-major order of
/// each patch's first cell.
pub(super) fn connected(raster: &Raster) -> (Vec<u32>, usize) {
    let mut parent: Vec<u32> = Vec::new();
    let mut patch_of = vec![u32::MAX; raster.labels.len()];
    for &cell in &raster.cells {
        let cell = cell as usize;
        let label = raster.labels[cell];
        // The rim keeps both neighbours inside the rectangle.
        let alike = |other: usize| (raster.labels[other] == label).then(|| patch_of[other]);
        patch_of[cell] = match (alike(cell - 1), alike(cell - raster.width)) {
            (Some(west), Some(north)) => unite(&mut parent, west, north),
            (Some(one), None) | (None, Some(one)) => one,
            (None, None) => {
                parent.push(parent.len() as u32);
                parent.len() as u32 - 1
            }
        };
    }
    let mut number = vec![u32::MAX; parent.len()];
    let mut count = 0;
    for &cell in &raster.cells {
        let root = root(&mut parent, patch_of[cell as usize]) as usize;
        if number[root] == u32::MAX {
            number[root] = count;
            count += 1;
        }
        patch_of[cell as usize] = number[root];
    }
    (patch_of, count as usize)
}

fn root(parent: &mut [u32], mut patch: u32) -> u32 {
    while parent[patch as usize] != patch {
        parent[patch as usize] = parent[parent[patch as usize] as usize];
        patch = parent[patch as usize];
    }
    patch
}

fn unite(parent: &mut [u32], a: u32, b: u32) -> u32 {
    let (a, b) = (root(parent, a), root(parent, b));
    let (low, high) = (a.min(b), a.max(b));
    parent[high as usize] = low;
    low
}

fn describe(raster: &Raster, how: &Tidy<'_>, patch_of: &[u32], count: usize) -> Vec<Patch> {
    let layers = how.features.layers();
    let empty = Patch { label: NONE, area: 0.0, profile: vec![0.0; layers], is_sliver: false, borders: BTreeMap::new() };
    let mut patches = vec![empty; count];
    let mut borders: Vec<(u32, u32)> = Vec::new();
    for (&cell, &share) in raster.cells.iter().zip(how.share) {
        let patch = patch_of[cell as usize];
        let here = &mut patches[patch as usize];
        here.label = raster.labels[cell as usize];
        here.area += f64::from(share) * how.cell * how.cell;
        for other in [cell as usize + 1, cell as usize + raster.width] {
            let other = patch_of[other];
            if other != u32::MAX && other != patch {
                borders.push((patch, other));
            }
        }
    }
    for (a, b) in borders {
        *patches[a as usize].borders.entry(b).or_default() += how.cell;
        *patches[b as usize].borders.entry(a).or_default() += how.cell;
    }
    fill_profiles(&mut patches, raster, how, patch_of);
    patches
}

/// Only small patches are ever compared, so only theirs are summed.
fn fill_profiles(patches: &mut [Patch], raster: &Raster, how: &Tidy<'_>, patch_of: &[u32]) {
    for patch in patches.iter_mut().filter(|patch| patch.area >= how.smallest) {
        if let Some(centre) = how.centres.get(patch.label as usize) {
            patch.profile.clone_from(centre);
        }
    }
    let mut cells_of = vec![0_u32; patches.len()];
    for (index, &cell) in raster.cells.iter().enumerate() {
        let patch = patch_of[cell as usize] as usize;
        if patches[patch].area < how.smallest {
            cells_of[patch] += 1;
            for layer in 0..how.features.layers() {
                patches[patch].profile[layer] += f64::from(how.features.column(layer)[index]);
            }
        }
    }
    for (patch, cells) in patches.iter_mut().zip(cells_of).filter(|(_, cells)| *cells > 0) {
        patch.profile.iter_mut().for_each(|sum| *sum /= f64::from(cells));
    }
}

//! Zones as rectangles along the passes of the machine: blocks one swath wide and two swaths long, each wholly in one zone.

use super::k_means::Clusters;
use super::outline::RIM;
use super::patches::{Tidy, merge_small};
use super::raster::{NONE, Plane, Raster};
use super::standardise::Features;
use crate::field::Grid;

/// Length of a block in swaths: a controller needs some way before a new rate has settled.
const LENGTH: f64 = 2.0;

/// The blocks over a field. Columns are passes, counted from the field's edge on the left of the way of travel; rows run
/// against the way of travel.
pub(super) struct Passes {
    pub plane: Plane,
    columns: usize,
    rows: usize,
    /// Position in the raster of blocks of each of the grid's cells.
    block_of: Vec<u32>,
    /// Area of a whole block, square metres.
    area: f64,
}

impl Passes {
    /// The blocks that hold a middle of a cell. The first pass begins at the outermost cell.
    ///
    /// # Units
    /// Swath in metres, heading in degrees clockwise from north.
    pub fn over(grid: &Grid, swath: f64, heading: f64) -> Self {
        // A block under the size of a cell would be decided by no cell.
        let (width, length) = (swath.max(grid.cell), (LENGTH * swath).max(grid.cell));
        let (east, north) = heading.to_radians().sin_cos();
        let column = (north * width, -east * width);
        let row = (-east * length, -north * length);
        let from_here = Plane {
            origin: (0.0, 0.0),
            column,
            row,
        };
        let positions: Vec<(f64, f64)> = grid
            .cells
            .iter()
            .map(|&cell| from_here.position(grid.centre(cell)))
            .collect();
        // Half a cell's diagonal from the middles to the corners.
        let (across, along) = (0.5 * grid.cell / width, 0.5 * grid.cell / length);
        let bounds = |value: fn(&(f64, f64)) -> f64| {
            positions
                .iter()
                .map(value)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
                    (low.min(v), high.max(v))
                })
        };
        let ((left, right), (top, bottom)) = (bounds(|p| p.0), bounds(|p| p.1));
        let (left, top) = (left - across, top - along);
        let blocks = |low: f64, high: f64| (high - low).floor() as usize + 1 + 2 * RIM;
        let (columns, rows) = (blocks(left, right), blocks(top, bottom));
        let rim = RIM as f64;
        let plane = Plane {
            origin: from_here.place(left - rim, top - rim),
            column,
            row,
        };
        let block = |&(x, y): &(f64, f64)| {
            ((y - top).floor() as usize + RIM) * columns + (x - left).floor() as usize + RIM
        };
        let block_of = positions
            .iter()
            .map(|position| block(position) as u32)
            .collect();
        Self {
            plane,
            columns,
            rows,
            block_of,
            area: width * length,
        }
    }

    /// Each block in the cluster that holds most of its workable area; patches of blocks under the smallest area are given to a neighbour.
    pub fn divide(
        &self,
        grid: &Grid,
        features: &Features,
        clusters: &Clusters,
        smallest: f64,
    ) -> Raster {
        let clusters_count = clusters.centres.len();
        let mut held = vec![0.0_f64; self.columns * self.rows * clusters_count];
        for ((&block, &label), &share) in
            self.block_of.iter().zip(&clusters.labels).zip(&grid.share)
        {
            held[block as usize * clusters_count + usize::from(label)] += f64::from(share);
        }
        let mut labels = vec![NONE; self.columns * self.rows];
        let mut cells = Vec::new();
        let mut shares = Vec::new();
        for (block, held) in held.chunks(clusters_count.max(1)).enumerate() {
            let all: f64 = held.iter().sum();
            if all <= 0.0 {
                continue;
            }
            // Of equals the first.
            let most = (0..held.len())
                .rev()
                .max_by(|&a, &b| held[a].total_cmp(&held[b]))
                .unwrap_or(0);
            labels[block] = most as u8;
            cells.push(block as u32);
            shares.push((all * grid.cell * grid.cell / self.area) as f32);
        }
        let mut raster = Raster::from_labels(labels, (self.columns, self.rows), RIM, cells);
        if clusters_count > 1 {
            let features = self.means(grid, features, &raster.cells);
            let how = Tidy {
                share: &shares,
                cell: self.area.sqrt(),
                smallest,
                features: &features,
                centres: &clusters.centres,
            };
            merge_small(&mut raster, &how);
        }
        raster
    }

    /// The label of the block that each of the grid's cells lies in.
    pub fn labels_of_cells(&self, blocks: &Raster) -> Vec<u8> {
        self.block_of
            .iter()
            .map(|&block| blocks.labels[block as usize])
            .collect()
    }

    /// Means of the features over some blocks.
    fn means(&self, grid: &Grid, features: &Features, blocks: &[u32]) -> Features {
        let mut slot = vec![usize::MAX; self.columns * self.rows];
        for (at, &block) in blocks.iter().enumerate() {
            slot[block as usize] = at;
        }
        let mean = |layer: usize| {
            let mut sums = vec![(0.0_f64, 0.0_f64); blocks.len()];
            for ((&block, &value), &share) in self
                .block_of
                .iter()
                .zip(features.column(layer))
                .zip(&grid.share)
            {
                let sum = &mut sums[slot[block as usize]];
                *sum = (
                    sum.0 + f64::from(share) * f64::from(value),
                    sum.1 + f64::from(share),
                );
            }
            sums.iter()
                .map(|(sum, weight)| (sum / weight.max(f64::MIN_POSITIVE)) as f32)
                .collect()
        };
        Features::as_they_are((0..features.layers()).map(mean).collect())
    }
}

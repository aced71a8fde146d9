//! k-means of a few hundred cells from given centres, many times over: cell by cell, with several centres side by side. A cell remembers
//! how far the centres may move before it could change hands and is passed over until then; the clusters are those of the plain way.
//!
//! Bounds cell by cell: Hamerly, G. 2010. Making k-means even faster. Proc. SIAM International Conference on Data Mining, 130-140 (from
//! memory).

use super::standardise::Features;

/// Passes at most; smooth maps settle in 10 to 60.
const PASSES: usize = 300;
/// Share of two distances that their difference must exceed before it counts: many times what single precision rounds off them.
const ROUNDING: f32 = 1e-4;
/// A place so far off that no cell is near it.
const NOWHERE_NEAR: f32 = 1e16;
/// No cluster yet.
const NONE: u8 = u8::MAX;

/// A small table.
pub(super) struct SmallTable {
    /// Cell by cell.
    rows: Vec<f32>,
    cells: usize,
    layers: usize,
}

impl SmallTable {
    /// Of features.
    pub fn new(features: &Features) -> Self {
        let (cells, layers) = (features.cells(), features.layers());
        let mut rows = vec![0.0; cells * layers];
        for layer in 0..layers {
            for (cell, value) in features.column(layer).iter().enumerate() {
                rows[cell * layers + layer] = *value;
            }
        }
        Self {
            rows,
            cells,
            layers,
        }
    }

    /// The cluster of each cell that given centres (row-major, 254 at most) lead to, in the order of the centres; `None` where one of
    /// them loses all its cells.
    pub fn settled(&self, start: &[f32]) -> Option<Vec<u8>> {
        if start.len() > 4 * self.layers {
            Clustering::<8>::new(self, start).settled()
        } else {
            Clustering::<4>::new(self, start).settled()
        }
    }

    /// The given centre (254 at most) that each cell is nearest to.
    pub fn nearest(&self, centres: &[f32]) -> Vec<u8> {
        let mut clustering = Clustering::<8>::new(self, centres);
        clustering.pass();
        clustering.labels
    }

    fn row(&self, cell: usize) -> &[f32] {
        &self.rows[cell * self.layers..(cell + 1) * self.layers]
    }
}

/// So many centres side by side.
struct Clustering<'t, const LANES: usize> {
    table: &'t SmallTable,
    /// Block of centres by layer.
    centres: Vec<[f32; LANES]>,
    labels: Vec<u8>,
    /// How much farther its own centre may move off and another come near before a cell changes hands.
    slack: Vec<f32>,
    /// Cluster by layer.
    sums: Vec<f64>,
    sizes: Vec<usize>,
}

impl<'t, const LANES: usize> Clustering<'t, LANES> {
    fn new(table: &'t SmallTable, start: &[f32]) -> Self {
        let layers = table.layers.max(1);
        let count = start.len() / layers;
        let mut centres = vec![[NOWHERE_NEAR; LANES]; count.div_ceil(LANES) * layers];
        for (cluster, centre) in start.chunks_exact(layers).enumerate() {
            for (layer, value) in centre.iter().enumerate() {
                centres[cluster / LANES * layers + layer][cluster % LANES] = *value;
            }
        }
        Self {
            table,
            centres,
            labels: vec![NONE; table.cells],
            slack: vec![f32::NEG_INFINITY; table.cells],
            sums: vec![0.0; start.len()],
            sizes: vec![0; count],
        }
    }

    fn settled(mut self) -> Option<Vec<u8>> {
        for _ in 0..PASSES {
            if !self.pass() {
                break;
            }
            self.move_centres();
        }
        self.sizes
            .iter()
            .all(|size| *size > 0)
            .then_some(self.labels)
    }

    /// Puts each cell into its nearest cluster; whether any moved.
    fn pass(&mut self) -> bool {
        let mut has_moved = false;
        for cell in 0..self.table.cells {
            if self.slack[cell] > 0.0 {
                continue;
            }
            let (nearest, slack) = self.nearest(self.table.row(cell));
            self.slack[cell] = slack;
            let before = std::mem::replace(&mut self.labels[cell], nearest);
            if before != nearest {
                has_moved = true;
                self.count(cell, before, -1.0);
                self.count(cell, nearest, 1.0);
            }
        }
        has_moved
    }

    /// The nearest centre, the first of equally near ones, and the slack.
    #[inline]
    fn nearest(&self, row: &[f32]) -> (u8, f32) {
        let (mut cluster, mut least, mut second) = (0, f32::INFINITY, f32::INFINITY);
        for (block, centres) in self.centres.chunks_exact(row.len().max(1)).enumerate() {
            let mut squared = [0.0_f32; LANES];
            for (value, middles) in row.iter().zip(centres) {
                for (sum, middle) in squared.iter_mut().zip(middles) {
                    *sum += (value - middle) * (value - middle);
                }
            }
            for (lane, here) in squared.into_iter().enumerate() {
                if here < least {
                    second = least;
                    (cluster, least) = ((block * LANES + lane) as u8, here);
                } else if here < second {
                    second = here;
                }
            }
        }
        let slack = second.sqrt() * (1.0 - ROUNDING) - least.sqrt() * (1.0 + ROUNDING);
        (cluster, slack)
    }

    fn count(&mut self, cell: usize, cluster: u8, by: f64) {
        if cluster == NONE {
            return;
        }
        let (cluster, layers) = (usize::from(cluster), self.table.layers);
        self.sizes[cluster] = self.sizes[cluster].saturating_add_signed(by as isize);
        let sums = &mut self.sums[cluster * layers..(cluster + 1) * layers];
        for (sum, value) in sums.iter_mut().zip(self.table.row(cell)) {
            *sum += by * f64::from(*value);
        }
    }

    /// A cluster that lost all its cells stays where it is.
    fn move_centres(&mut self) {
        let layers = self.table.layers;
        let mut ways = vec![0.0_f32; self.sizes.len()];
        for (cluster, size) in self.sizes.iter().enumerate().filter(|(_, size)| **size > 0) {
            let mut squared = 0.0;
            for layer in 0..layers {
                let centre = (self.sums[cluster * layers + layer] / *size as f64) as f32;
                let at = &mut self.centres[cluster / LANES * layers + layer][cluster % LANES];
                squared += (f64::from(centre) - f64::from(*at)).powi(2);
                *at = centre;
            }
            // Rounded up.
            ways[cluster] = (squared.sqrt() * 1.000_001) as f32;
        }
        let farthest = ways.iter().copied().fold(0.0, f32::max);
        for (slack, label) in self.slack.iter_mut().zip(&self.labels) {
            *slack -= (ways[usize::from(*label)] + farthest) * 1.000_001;
        }
    }
}

#[cfg(test)]
#[path = "small_k_means_tests.rs"]
mod tests;

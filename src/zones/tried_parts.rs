use super::standardise::Features;

/// A zoning that was tried on some of the grid's cells.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TriedParts {
    /// Positions of the cells in the order of `Grid::cells`.
    pub cells: Vec<usize>,
    /// The zone of each.
    pub labels: Vec<u8>,
    /// How many zones; each has a cell at least.
    pub count: usize,
}

/// The means of some cells by their zone, row-major.
pub(super) fn centres(
    features: &Features,
    cells: impl Iterator<Item = (usize, u8)>,
    count: usize,
) -> Vec<f32> {
    let layers = features.layers();
    let mut sums = vec![0.0_f64; count * layers];
    let mut sizes = vec![0.0_f64; count];
    for (cell, zone) in cells {
        let zone = usize::from(zone);
        sizes[zone] += 1.0;
        for layer in 0..layers {
            sums[zone * layers + layer] += f64::from(features.column(layer)[cell]);
        }
    }
    let mean = |(at, sum): (usize, &f64)| (sum / sizes[at / layers.max(1)].max(1.0)) as f32;
    sums.iter().enumerate().map(mean).collect()
}

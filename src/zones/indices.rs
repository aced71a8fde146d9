//! Numbers that say how well cells fall into groups.

use super::k_means::Clusters;
use super::kmeans_plus_plus::spread_sample;
use super::memberships::Memberships;
use super::standardise::Features;

/// Cells up to which the silhouette is exact; of more, so many are taken, spread over the field and seeded (own: the mean
/// of a thousand widths is good to about 0.01).
const SILHOUETTE_CELLS: usize = 1000;

/// Fuzziness performance index, `FPI = 1 - (c F - 1) / (c - 1)`; `None` for one class.
///
/// # Range
/// 0 (crisp) to 1 (formless); smaller is better. A form in circulation, 1 - c (1 - F) / (c - 1), is 1 - FPI.
///
/// # Source
/// Odeh, McBratney and Chittleborough 1992, "Soil pattern recognition with fuzzy-c-means", Soil Science Society of America
/// Journal 56:505 (formula by way of open code that cites it).
#[expect(clippy::doc_markdown, reason = "McBratney is a name")]
#[must_use]
pub fn fuzziness_performance_index(memberships: &Memberships) -> Option<f64> {
    let classes = memberships.classes() as f64;
    (memberships.classes() > 1)
        .then(|| 1.0 - (classes * memberships.partition_coefficient() - 1.0) / (classes - 1.0))
}

/// Classification entropy over its greatest value, H / ln c; `None` for one class. Also called modified partition entropy. It is
/// comparable between numbers of classes, so it is the one that the count of zones is weighed by.
///
/// # Range
/// 0 (crisp) to 1 (formless).
///
/// # Source
/// Boydell and McBratney 2002, "Identifying potential within-field management zones from cotton-yield estimates", Precision
/// Agriculture 3:9 (formula from memory).
#[expect(clippy::doc_markdown, reason = "McBratney is a name")]
#[must_use]
pub fn classification_entropy_by_classes(memberships: &Memberships) -> Option<f64> {
    (memberships.classes() > 1).then(|| memberships.entropy() / (memberships.classes() as f64).ln())
}

/// Classification entropy normalised by the number of cells, H / (1 - c / n); `None` unless there are at least twice
/// as many cells as classes. It grows with ln c and so leans to few classes.
///
/// # Source
/// Dunn's normalisation as met in Bezdek 1981, chapter 4 (from memory).
#[must_use]
pub fn classification_entropy_by_cells(memberships: &Memberships) -> Option<f64> {
    let (classes, cells) = (memberships.classes(), memberships.cells());
    (classes > 1 && cells >= 2 * classes)
        .then(|| memberships.entropy() / (1.0 - classes as f64 / cells as f64))
}

/// Share of the variance of the features that the clusters explain, 1 - W / T with population variances; 0 where nothing varies.
///
/// # Range
/// 0 to 1.
#[must_use]
pub fn variance_explained(features: &Features, clusters: &Clusters) -> f64 {
    let total = features.total_inertia();
    if total > 0.0 {
        (1.0 - clusters.inertia / total).clamp(0.0, 1.0)
    } else {
        0.0
    }
}

/// The same, layer by layer.
#[must_use]
pub fn variance_explained_by_layer(features: &Features, labels: &[u8]) -> Vec<f64> {
    (0..features.layers())
        .map(|layer| explained(features.column(layer), labels))
        .collect()
}

fn explained(column: &[f32], labels: &[u8]) -> f64 {
    let mut groups = [(0.0_f64, 0.0_f64, 0.0_f64); 256];
    for (&value, &label) in column.iter().zip(labels) {
        let (group, value) = (&mut groups[label as usize], f64::from(value));
        *group = (group.0 + 1.0, group.1 + value, group.2 + value * value);
    }
    let spread = |(n, sum, squares): (f64, f64, f64)| {
        if n > 0.0 {
            squares - sum * sum / n
        } else {
            0.0
        }
    };
    let within: f64 = groups.iter().map(|&group| spread(group)).sum();
    let whole = spread(
        groups
            .iter()
            .fold((0.0, 0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1, a.2 + b.2)),
    );
    if whole > 0.0 {
        (1.0 - within / whole).clamp(0.0, 1.0)
    } else {
        0.0
    }
}

/// Mean silhouette width, s = (b - a) / max(a, b) with a the mean distance to the cell's own cluster and b that to the nearest
/// other one; 0 for a cluster of one. `None` unless there are 2 to n - 1 clusters. Above 1,000 cells a seeded sample stands for all.
///
/// # Range
/// -1 to 1.
///
/// # Source
/// Rousseeuw 1987, "Silhouettes: a graphical aid to the interpretation and validation of cluster analysis", Journal of
/// Computational and Applied Mathematics 20:53.
#[must_use]
pub fn silhouette(features: &Features, labels: &[u8], seed: u64) -> Option<f64> {
    let cells = spread_sample(features.cells().min(labels.len()), SILHOUETTE_CELLS, seed);
    let sample = features.sample(&cells);
    let labels: Vec<usize> = cells
        .iter()
        .map(|&cell| labels[cell as usize] as usize)
        .collect();
    let clusters = labels.iter().max().map_or(0, |&most| most + 1);
    let mut sizes = vec![0_usize; clusters];
    for &label in &labels {
        sizes[label] += 1;
    }
    let filled = sizes.iter().filter(|&&size| size > 0).count();
    if filled < 2 || filled >= labels.len() {
        return None;
    }
    let sums = distance_sums(&sample, &labels, clusters);
    let width = |(cell, &own): (usize, &usize)| {
        if sizes[own] < 2 {
            return 0.0;
        }
        let row = &sums[cell * clusters..(cell + 1) * clusters];
        let inner = row[own] / (sizes[own] - 1) as f64;
        let others = (0..clusters).filter(|&other| other != own && sizes[other] > 0);
        let outer = others
            .map(|other| row[other] / sizes[other] as f64)
            .fold(f64::INFINITY, f64::min);
        if inner.max(outer) > 0.0 {
            (outer - inner) / inner.max(outer)
        } else {
            0.0
        }
    };
    Some(labels.iter().enumerate().map(width).sum::<f64>() / labels.len() as f64)
}

/// Sum of the distances from each cell to all cells of each cluster; row-major, cell x cluster.
fn distance_sums(sample: &Features, labels: &[usize], clusters: usize) -> Vec<f64> {
    let cells = labels.len();
    let mut sums = vec![0.0; cells * clusters];
    let mut squares = vec![0.0_f64; cells];
    for cell in 1..cells {
        squares[..cell].fill(0.0);
        for layer in 0..sample.layers() {
            let column = sample.column(layer);
            let here = f64::from(column[cell]);
            squares
                .iter_mut()
                .zip(&column[..cell])
                .for_each(|(square, &there)| *square += (f64::from(there) - here).powi(2));
        }
        for (other, square) in squares[..cell].iter().enumerate() {
            let distance = square.sqrt();
            sums[cell * clusters + labels[other]] += distance;
            sums[other * clusters + labels[cell]] += distance;
        }
    }
    sums
}

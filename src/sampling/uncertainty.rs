use rayon::prelude::*;

use super::sites::{Ground, MARGIN_M, SamplingError, Site, check_count, in_walking_order};
use crate::field::Field;
use crate::surface::{Map, Surfaces};

/// Cells of the coarse grid on which the uncertainty is weighed: enough for a choice that no walker could better.
const MOST_CANDIDATES: usize = 2_500;

/// The `count` places where another core cuts the uncertainty of the maps most, in walking order.
///
/// Each layer's uncertainty is taken relative to its mean, and the layers are averaged, so that units do not matter. A core
/// is taken to cut the uncertainty at distance d by exp(-(d/h)²), where h is half the mean distance between cores
/// (own: the uncertainty of these maps grows with the distance to the cores on that scale). Places are chosen one by one, each where what is left is
/// shrunk most; for such a sum that is within 1 - 1/e of the best choice of all.
///
/// # Errors
/// Where the count makes no sense, no layer has a map, or the field is too narrow.
///
/// # Source
/// Greedy choice for a submodular sum: Nemhauser, Wolsey and Fisher (1978), Mathematical Programming 14:265-294 (from memory).
pub fn more_cores(
    field: &Field,
    surfaces: &Surfaces,
    count: usize,
) -> Result<Vec<Site>, SamplingError> {
    check_count(count)?;
    let standard_error =
        relative_uncertainty(surfaces, field.grid.cells.len()).ok_or(SamplingError::NoMap)?;
    let mut candidates = coarse(field, &standard_error);
    let ground = Ground::new(&field.workable);
    let good: Vec<bool> = candidates
        .iter()
        .map(|c| ground.is_good(c.x, c.y))
        .collect();
    if !good.contains(&true) {
        return Err(SamplingError::TooNarrow { margin_m: MARGIN_M });
    }
    let cores: usize = field
        .places
        .iter()
        .map(|p| p.x.len() - p.outside.len())
        .max()
        .unwrap_or(1)
        .max(1);
    let reach = (field.workable_m2 / cores as f64).sqrt() / 2.0;
    let mut places = Vec::new();
    for _ in 0..count {
        let gains: Vec<f64> = (0..candidates.len())
            .into_par_iter()
            .map(|at| {
                if good[at] {
                    gain(&candidates, at, reach)
                } else {
                    0.0
                }
            })
            .collect();
        let Some((best, most)) = gains
            .iter()
            .copied()
            .enumerate()
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
        else {
            break;
        };
        if most <= 0.0 {
            break;
        }
        let (x, y) = (candidates[best].x, candidates[best].y);
        let share = 100.0 * most / candidates.iter().map(|c| c.standard_error).sum::<f64>();
        for candidate in &mut candidates {
            candidate.standard_error *= 1.0 - shrink(candidate.x - x, candidate.y - y, reach);
        }
        places.push((
            (x, y),
            format!("cuts the uncertainty of the maps by {share:.1} %"),
        ));
    }
    in_walking_order(field, &places)
}

/// A coarse cell with the uncertainty that is left in it.
struct Candidate {
    x: f64,
    y: f64,
    standard_error: f64,
}

fn shrink(east: f64, north: f64, reach: f64) -> f64 {
    (-(east * east + north * north) / (reach * reach)).exp()
}

fn gain(candidates: &[Candidate], at: usize, reach: f64) -> f64 {
    let here = &candidates[at];
    candidates
        .iter()
        .map(|c| c.standard_error * shrink(c.x - here.x, c.y - here.y, reach))
        .sum()
}

/// Mean over the drawn layers of uncertainty over its mean, per cell.
fn relative_uncertainty(surfaces: &Surfaces, cells: usize) -> Option<Vec<f64>> {
    let mut sum = vec![0.0; cells];
    let mut layers = 0;
    for surface in &surfaces.surfaces {
        if let Map::Drawn { standard_error, .. } = &surface.map {
            let mean = standard_error.iter().map(|d| f64::from(*d)).sum::<f64>() / cells as f64;
            if mean > 0.0 {
                sum.iter_mut()
                    .zip(standard_error)
                    .for_each(|(s, d)| *s += f64::from(*d) / mean);
                layers += 1;
            }
        }
    }
    (layers > 0).then(|| sum.into_iter().map(|s| s / f64::from(layers)).collect())
}

/// Blocks of cells: the centre cell's place, the workable share times the uncertainty summed up.
fn coarse(field: &Field, standard_error: &[f64]) -> Vec<Candidate> {
    let grid = &field.grid;
    let step = ((grid.cells.len() as f64 / MOST_CANDIDATES as f64)
        .sqrt()
        .ceil() as usize)
        .max(1);
    let across = grid.columns.div_ceil(step);
    let mut sums = vec![(0.0, 0.0, 0.0, 0.0); across * grid.rows.div_ceil(step)];
    for (slot, &cell) in grid.cells.iter().enumerate() {
        let (row, column) = (cell as usize / grid.columns, cell as usize % grid.columns);
        let (x, y) = grid.centre(cell);
        let share = f64::from(grid.share[slot]);
        let sum = &mut sums[row / step * across + column / step];
        *sum = (
            sum.0 + share,
            sum.1 + share * x,
            sum.2 + share * y,
            sum.3 + share * standard_error[slot],
        );
    }
    sums.into_iter()
        .filter(|s| s.0 > 0.0)
        .map(|s| Candidate {
            x: s.1 / s.0,
            y: s.2 / s.0,
            standard_error: s.3,
        })
        .collect()
}

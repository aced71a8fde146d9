use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use super::sites::{Ground, MARGIN_M, SamplingError, Site, check_count, in_walking_order};
use crate::field::Field;
use crate::zones::Zones;

/// The pattern of a first layout.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// Squares with a random start.
    Regular,
    /// Equilateral triangles with a random start: the same worst distance with a quarter fewer cores.
    Triangular,
}

/// Height of an equilateral triangle of side 1.
const TRIANGLE_HEIGHT: f64 = 0.866_025_403_784_438_6;
/// Steps of the search for the spacing that gives the count.
const SEARCH_STEPS: usize = 40;

/// A layout of about `count` sites (the pattern decides within a few) over the workable area, with a random start,
/// so that no row of the pattern is bound to a tramline.
///
/// # Errors
/// Where the count makes no sense or the field is too narrow.
///
/// # Source
/// Systematic sampling with a random start: D. J. Brus, J. J. de Gruijter and others, standard texts of soil sampling (from memory).
pub fn first_layout(
    field: &Field,
    layout: Layout,
    count: usize,
    seed: u64,
) -> Result<Vec<Site>, SamplingError> {
    check_count(count)?;
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let start: (f64, f64) = (random.random(), random.random());
    let ground = Ground::new(&field.workable);
    let area = field.workable_m2;
    let (mut low, mut high) = (
        (area / count as f64).sqrt() / 4.0,
        (area / count as f64).sqrt() * 4.0,
    );
    let mut best: Vec<(f64, f64)> = Vec::new();
    for _ in 0..SEARCH_STEPS {
        let spacing = f64::midpoint(low, high);
        let sites = pattern(field, &ground, layout, spacing, start);
        let is_nearer = sites.len().abs_diff(count) < best.len().abs_diff(count);
        if sites.len() >= count {
            low = spacing;
        } else {
            high = spacing;
        }
        if is_nearer {
            best = sites;
        }
        if best.len() == count {
            break;
        }
    }
    if best.is_empty() {
        return Err(SamplingError::TooNarrow { margin_m: MARGIN_M });
    }
    let why = match layout {
        Layout::Regular => "regular grid",
        Layout::Triangular => "triangular grid",
    };
    let places: Vec<_> = best.into_iter().map(|p| (p, why.to_owned())).collect();
    in_walking_order(field, &places)
}

fn pattern(
    field: &Field,
    ground: &Ground<'_>,
    layout: Layout,
    spacing: f64,
    start: (f64, f64),
) -> Vec<(f64, f64)> {
    let grid = &field.grid;
    let height = if layout == Layout::Triangular {
        spacing * TRIANGLE_HEIGHT
    } else {
        spacing
    };
    let (width_m, height_m) = (
        grid.columns as f64 * grid.cell,
        grid.rows as f64 * grid.cell,
    );
    let mut sites = Vec::new();
    for row in 0..=(height_m / height) as usize + 1 {
        let y = grid.north - (row as f64 + start.1 - 0.5) * height;
        let shift = if layout == Layout::Triangular && row % 2 == 1 {
            0.5
        } else {
            0.0
        };
        for column in 0..=(width_m / spacing) as usize + 1 {
            let x = grid.west + (column as f64 + start.0 - 0.5 + shift) * spacing;
            if ground.is_good(x, y) {
                sites.push((x, y));
            }
        }
    }
    sites
}

/// Random sites in each zone, in proportion to its area, at least two a zone: what a check of the zones needs.
///
/// # Errors
/// Where the count makes no sense or the field is too narrow.
pub fn per_zone(
    field: &Field,
    zones: &Zones,
    count: usize,
    seed: u64,
) -> Result<Vec<Site>, SamplingError> {
    check_count(count)?;
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let ground = Ground::new(&field.workable);
    let total: f64 = zones.zones.iter().map(|z| z.area_m2).sum();
    let mut sites = Vec::new();
    for (index, zone) in zones.zones.iter().enumerate() {
        let mut cells: Vec<u32> = (0..zones.of_cell.len())
            .filter(|&slot| usize::from(zones.of_cell[slot]) == index)
            .map(|slot| field.grid.cells[slot])
            .filter(|&cell| {
                let (x, y) = field.grid.centre(cell);
                ground.is_good(x, y)
            })
            .collect();
        let share = (count as f64 * zone.area_m2 / total).round().max(2.0) as usize;
        for taken in 0..share.min(cells.len()) {
            let other = taken + (random.next_u64() % (cells.len() - taken) as u64) as usize;
            cells.swap(taken, other);
            sites.push((
                field.grid.centre(cells[taken]),
                "stratified by zone".to_owned(),
            ));
        }
    }
    if sites.is_empty() {
        return Err(SamplingError::TooNarrow { margin_m: MARGIN_M });
    }
    in_walking_order(field, &sites)
}

//! Stage 4: one surface per layer by inverse distance, with the skill that leave-one-out measures.
//!
//! Layers of one key are joined over all tables (`joined`). Their observations are put in an order of their own
//! (`sites`), so that no result hangs on the order of rows. Each place is predicted from the others
//! (`leave_one_out`); power and neighbours are tuned on that (`tuning`), and a map whose skill is not clearly above
//! nothing (`bootstrap`) is not drawn. The others are (`drawing`), with a doubt for every cell (`doubt`).

mod bootstrap;
mod cell_by_cell;
mod drawing;
mod error;
mod fit;
mod grid_index;
mod inverse_distance;
mod joined;
mod leave_one_out;
mod morans_i;
mod neighbours;
mod nonnegative_fit;
mod one_cell;
mod outliers;
mod remarks;
mod sites;
mod standard_error;
mod surfaces;
mod tiled;
mod tuning;
mod variogram;

pub use error::SurfaceError;
pub use inverse_distance::{Neighbourhood, inverse_distance};
pub use morans_i::{MoransI, morans_i};
pub use surfaces::{Flat, Map, OddCore, Skill, Surface, Surfaces};

use crate::field::Field;
use crate::plan::{Choice, SurfaceSettings};

use joined::{Group, join};

/// Most neighbours that a plan may ask for.
pub const MOST_NEIGHBOURS: usize = 1_000;
/// Fewer places than this never make a map: with so few, leave-one-out cannot tell skill from luck. Own; 20 to 30 are
/// commonly asked for before cross-validation is trusted (common practice).
pub const FEWEST_FOR_A_MAP: usize = 8;
/// Highest power that a plan may ask for; from about 10 on the map is that of the nearest core alone.
pub const HIGHEST_POWER: f64 = 100.0;
/// Code of the remark that a layer's observations do not support a map.
pub const NO_MAP: &str = "no-map";

/// Makes a surface of every layer of the field that has a usable observation.
///
/// A layer has a map where leave-one-out finds it clearly better than the field mean, and one value for the whole field
/// otherwise; the remarks say which and why. The same field gives the same bytes whatever the order of its rows and
/// the number of threads.
///
/// # Errors
/// All at once: a power or a number of neighbours that cannot be used; no layer with three usable points.
///
/// # Source
/// Inverse distance: see [`inverse_distance`]. Prediction efficiency and its use as a measure of soil maps: Mueller, T.G. et
/// al. 2001. Soil Science Society of America Journal 65:1547 (definition from memory).
pub fn interpolate(field: &Field, how: &SurfaceSettings) -> Result<Surfaces, Vec<SurfaceError>> {
    let groups = join(field);
    check(&groups, how)?;
    let mut made = Surfaces {
        surfaces: Vec::new(),
        odd_cores: Vec::new(),
        remarks: Vec::new(),
    };
    let mut suspects = Vec::new();
    for group in &groups {
        fit::surfaces_of(field, group, how, &mut made, &mut suspects);
    }
    made.odd_cores = suspects
        .iter()
        .map(|suspect| suspect.core.clone())
        .collect();
    made.remarks.extend(outliers::by_core(suspects));
    made.surfaces.sort_by(|a, b| a.key.cmp(&b.key));
    Ok(made)
}

fn check(groups: &[Group<'_>], how: &SurfaceSettings) -> Result<(), Vec<SurfaceError>> {
    let mut errors = Vec::new();
    if let Choice::Fixed(found) = how.power
        && !(found > 0.0 && found <= HIGHEST_POWER)
    {
        errors.push(SurfaceError::Power { found });
    }
    if let Choice::Fixed(found) = how.neighbours
        && !(1..=MOST_NEIGHBOURS).contains(&found)
    {
        errors.push(SurfaceError::Neighbours { found });
    }
    let usable = |group: &Group<'_>| {
        (0..group.x.len())
            .filter(|&i| group.is_usable(i))
            .take(3)
            .count()
    };
    let most = groups.iter().map(usable).max().unwrap_or(0);
    if most < 3 {
        errors.push(SurfaceError::TooFewPoints {
            layers: groups.iter().map(|g| g.layers.len()).sum(),
            most,
        });
    }
    if errors.is_empty() {
        Ok(())
    } else {
        Err(errors)
    }
}

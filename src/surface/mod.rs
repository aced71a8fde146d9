//! Stage 4: one surface per layer by inverse distance, with the skill that leave-one-out measures.
//!
//! Layers of one key are joined over all tables (`joined`). Their observations are put in an order of their own
//! (`sites`), so that no result hangs on the order of rows. Each place is predicted from the others
//! (`leave_one_out`); power and neighbours are tuned on that (`tuning`), and a map whose skill is not clearly above
//! chance (`permutation`) is not drawn. The others are (`drawing`), with a standard error for every cell (`standard_error`).

mod back_from_logs;
mod blocks;
mod bootstrap;
mod cell_by_cell;
mod covariance;
mod draw;
mod drawing;
mod error;
mod estimate;
mod exchanged;
mod fit;
mod flat;
mod grid_index;
mod inverse_distance;
mod joined;
mod leave_one_out;
mod left_out;
mod logs;
mod matching;
mod mean_error;
mod method;
mod morans_i;
mod neighbours;
mod nonnegative_fit;
mod one_cell;
mod outliers;
mod permutation;
mod plane;
mod redrawing;
mod remarks;
mod scale;
mod sites;
mod smoother;
mod standard_error;
mod standard_error_curve;
mod surfaces;
mod tiled;
mod tuning;
mod tuning_table;
mod variogram;

#[cfg(test)]
mod left_out_numbers_tests;

#[cfg(test)]
mod drawn_cells_tests;

#[cfg(test)]
mod by_hand_tests;

pub use error::SurfaceError;
pub use inverse_distance::{Neighbourhood, inverse_distance};
pub use logs::Logs;
pub use mean_error::MeanError;
pub use method::Method;
pub use morans_i::{MoransI, morans_i};
pub use redrawing::{LeftOutFold, Redrawing};
pub use surfaces::{Flat, Map, OddCore, PlainSkill, Skill, Surface, Surfaces};

use crate::field::Field;
use crate::plan::{FixedOrAuto, SurfaceSettings};

use joined::{Group, join};
use neighbours::Neighbours;
use sites::Sites;
use tuning_table::Table;

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
    let prepared: Vec<(&Group<'_>, Table, Sites)> = groups
        .iter()
        .filter_map(|group| prepare(group, how))
        .collect();
    let neighbours: Vec<Neighbours<'_>> = prepared
        .iter()
        .map(|(_, _, sites)| Neighbours::new(sites))
        .collect();
    let tested = prepared
        .iter()
        .filter(|(_, _, sites)| sites.places() >= FEWEST_FOR_A_MAP)
        .map(|(group, _, _)| group.layers.len())
        .sum();
    let mut made = Surfaces {
        surfaces: Vec::new(),
        odd_cores: Vec::new(),
        remarks: Vec::new(),
    };
    let (mut studied, mut suspects) = (Vec::new(), Vec::new());
    for ((group, table, sites), neighbours) in prepared.iter().zip(&neighbours) {
        let mut found = fit::study(field, group, neighbours, table, tested);
        suspects.append(&mut found.suspects);
        made.remarks.append(&mut found.remarks);
        made.remarks
            .extend(remarks::coincident(field, group, sites));
        studied.push(found.layers);
    }
    correct(&mut studied);
    for (layers, neighbours) in studied.into_iter().zip(&neighbours) {
        let sites = neighbours.sites();
        let flats: Vec<Option<Map>> = layers
            .iter()
            .map(|layer| flat::flat(sites, &layer.values, layer.skill.as_ref()))
            .collect();
        for (layer, flat) in layers.iter().zip(&flats) {
            let skill = layer.skill.as_ref();
            made.remarks
                .extend(remarks::of_layer(layer.layer, flat.as_ref(), skill, sites));
        }
        made.surfaces
            .extend(fit::surfaces(&field.grid, neighbours, layers, flats));
    }
    made.odd_cores = suspects
        .iter()
        .map(|suspect| suspect.core.clone())
        .collect();
    made.remarks.extend(outliers::by_core(suspects));
    made.surfaces.sort_by(|a, b| a.key.cmp(&b.key));
    Ok(made)
}

/// A group with its sites in order; `None` without a usable observation.
fn prepare<'g, 'f>(
    group: &'g Group<'f>,
    how: &SurfaceSettings,
) -> Option<(&'g Group<'f>, Table, Sites)> {
    let used = group.used();
    if used.is_empty() {
        return None;
    }
    let table = Table::new(how, used.len());
    let sites = Sites::new(group, used, table.most());
    Some((group, table, sites))
}

/// Corrects the p values for the number of layers that were tested.
fn correct(studied: &mut [Vec<fit::Studied<'_>>]) {
    let found: Vec<f64> = studied
        .iter()
        .flatten()
        .filter_map(|layer| layer.p_value)
        .collect();
    let mut corrected = permutation::holm(&found).into_iter();
    for layer in studied.iter_mut().flatten() {
        if layer.p_value.is_some()
            && let Some(skill) = &mut layer.skill
        {
            skill.p_value = corrected.next();
        }
    }
}

fn check(groups: &[Group<'_>], how: &SurfaceSettings) -> Result<(), Vec<SurfaceError>> {
    let mut errors = Vec::new();
    if let FixedOrAuto::Fixed(found) = how.power
        && !(found > 0.0 && found <= HIGHEST_POWER)
    {
        errors.push(SurfaceError::Power { found });
    }
    if let FixedOrAuto::Fixed(found) = how.neighbours
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

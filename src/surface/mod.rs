//! Stage 4: one surface per layer by inverse distance, with the skill that leave-one-out measures.

mod drawing;
mod error;
mod inverse_distance;
mod joined;
mod leave_one_out;
mod neighbours;
mod sites;
mod surfaces;

pub use error::SurfaceError;
pub use inverse_distance::{Neighbourhood, inverse_distance};
pub use surfaces::{Flat, Map, Skill, Surface, Surfaces};

use crate::field::{Field, Grid};
use crate::plan::{Choice, SurfaceSettings};
use crate::remark::Remark;

use drawing::{Drawing, draw};
use inverse_distance::Power;
use joined::{Group, Joined, join};
use leave_one_out::{LeftOut, Prediction};
use neighbours::Neighbours;
use sites::Sites;

/// Most neighbours that a plan may ask for.
pub const MOST_NEIGHBOURS: usize = 1_000;
/// Fewer observations than this never make a map.
pub const FEWEST_FOR_A_MAP: usize = 8;

/// Makes a surface of every layer of the field.
///
/// # Errors
/// Where a setting cannot be used, or no layer has three usable points.
pub fn interpolate(field: &Field, how: &SurfaceSettings) -> Result<Surfaces, Vec<SurfaceError>> {
    let groups = join(field);
    check(&groups, how)?;
    let mut made = Surfaces { surfaces: Vec::new(), remarks: Vec::new() };
    for group in &groups {
        let most_votes = match how.neighbours {
            Choice::Fixed(count) => count,
            Choice::Auto => 16,
        };
        let sites = Sites::of(group, most_votes);
        if sites.len() > 0 {
            surfaces_of(group, &sites, &field.grid, how, &mut made);
        }
    }
    made.surfaces.sort_by(|a, b| a.key.cmp(&b.key));
    Ok(made)
}

fn check(groups: &[Group<'_>], how: &SurfaceSettings) -> Result<(), Vec<SurfaceError>> {
    let mut errors = Vec::new();
    if let Choice::Fixed(found) = how.power
        && !(found > 0.0 && found <= 100.0)
    {
        errors.push(SurfaceError::Power { found });
    }
    if let Choice::Fixed(found) = how.neighbours
        && !(1..=MOST_NEIGHBOURS).contains(&found)
    {
        errors.push(SurfaceError::Neighbours { found });
    }
    let usable = |group: &Group<'_>| (0..group.x.len()).filter(|&i| group.is_usable(i)).take(3).count();
    let most = groups.iter().map(usable).max().unwrap_or(0);
    if most < 3 {
        errors.push(SurfaceError::TooFewPoints { layers: groups.iter().map(|g| g.layers.len()).sum(), most });
    }
    if errors.is_empty() { Ok(()) } else { Err(errors) }
}

fn surfaces_of(group: &Group<'_>, sites: &Sites, grid: &Grid, how: &SurfaceSettings, made: &mut Surfaces) {
    let neighbours = Neighbours::of(sites);
    let power = match how.power {
        Choice::Fixed(power) => power,
        Choice::Auto => 2.0,
    };
    let count = match how.neighbours {
        Choice::Fixed(count) => count,
        Choice::Auto => 12,
    };
    let left_out = LeftOut::of(&neighbours, count);
    for layer in &group.layers {
        let values = sites.averaged(&layer.values);
        let skill = (sites.places() >= 3).then(|| Prediction::of(&left_out, &sites.source, &values, Power(power), count).skill());
        let map = flat(sites, &values, skill).unwrap_or_else(|| {
            let drawing = Drawing { power: Power(power), count, values: vec![&values] };
            let values = draw(&neighbours, grid, &drawing).remove(0);
            let doubt = vec![skill.map_or(f32::INFINITY, |s| s.rmse as f32); values.len()];
            Map::Drawn { values, doubt }
        });
        if let Map::Flat { why: Flat::NoSkill, .. } = map {
            made.remarks.push(no_skill(layer, sites.places()));
        }
        let neighbours = (count < sites.len()).then_some(count);
        made.surfaces.push(Surface { key: layer.key.clone(), unit: layer.parts[0].unit.clone(), power, neighbours, skill, map });
    }
}

fn flat(sites: &Sites, values: &[f64], skill: Option<Skill>) -> Option<Map> {
    let seen: Vec<f64> = (0..sites.places()).map(|n| values[sites.source[sites.place(n)] as usize]).collect();
    let n = seen.len() as f64;
    let value = seen.iter().sum::<f64>() / n;
    let doubt = (seen.iter().map(|v| (v - value).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let why = if seen.iter().all(|v| *v == seen[0]) {
        Flat::Constant
    } else if seen.len() < FEWEST_FOR_A_MAP {
        Flat::TooFew
    } else if skill.is_none_or(|skill| skill.efficiency <= 0.0) {
        Flat::NoSkill
    } else {
        return None;
    };
    Some(Map::Flat { value, doubt: if doubt.is_finite() { doubt } else { f64::INFINITY }, why })
}

fn no_skill(layer: &Joined<'_>, places: usize) -> Remark {
    Remark::look("no-map", format!("these {places} cores do not support a map of {}", layer.key))
}

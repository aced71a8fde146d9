//! Maps at some places without some of the observations: what a zoning would have been without them. Power, neighbours and plane
//! are those that the whole field was tuned to.

use super::inverse_distance::Power;
use super::joined::{Group, join};
use super::method::Method;
use super::neighbours::Neighbour;
use super::plane::Plane;
use super::surfaces::{Map, Surface, Surfaces};
use crate::field::Field;

/// With more observations than this the map hardly hangs on a few of them and is taken as it is.
const MANY: usize = 2_000;
/// Neighbours that are kept for each place; those beyond them weigh next to nothing.
const KEPT: usize = 512;

/// The observations of all layers, ready to be left out.
pub struct Redrawing<'s> {
    surfaces: &'s Surfaces,
    targets: Vec<(f64, f64)>,
    groups: Vec<Near>,
    /// Layers with many observations: the map's own values at the targets.
    as_it_is: Vec<(usize, Vec<f32>)>,
}

/// Layers that share their places, with the places near each target.
struct Near {
    places: Vec<(f64, f64)>,
    /// By target, by rising distance.
    by_target: Vec<Vec<Neighbour>>,
    /// Index of the surface, and its values by place.
    layers: Vec<(usize, Vec<f64>)>,
}

impl Surfaces {
    /// Prepares maps at some places (metres) without some of the observations.
    #[must_use]
    pub fn redrawing(&self, field: &Field, targets: Vec<(f64, f64)>) -> Redrawing<'_> {
        let mut made = Redrawing {
            surfaces: self,
            targets,
            groups: Vec::new(),
            as_it_is: Vec::new(),
        };
        for group in join(field) {
            let used = group.used();
            let layers = self.of_group(&group, &used);
            if used.len() > MANY {
                for (at, _) in layers {
                    let values = self.surfaces[at].at_places(field, &made.targets);
                    made.as_it_is.push((at, values));
                }
            } else if !used.is_empty() {
                let places: Vec<(f64, f64)> = used
                    .iter()
                    .map(|&i| (group.x[i as usize], group.y[i as usize]))
                    .collect();
                let near = made.targets.iter().map(|at| nearest(&places, *at));
                made.groups.push(Near {
                    by_target: near.collect(),
                    places,
                    layers,
                });
            }
        }
        made
    }

    fn of_group(&self, group: &Group<'_>, used: &[u32]) -> Vec<(usize, Vec<f64>)> {
        let layers = group.layers.iter();
        layers
            .filter_map(|layer| {
                let at = self.surfaces.iter().position(|s| s.key == *layer.key)?;
                let values = used.iter().map(|&i| layer.values[i as usize]).collect();
                Some((at, values))
            })
            .collect()
    }
}

impl Surface {
    /// Value of the map in the cells that hold some places; NaN outside the workable area.
    fn at_places(&self, field: &Field, places: &[(f64, f64)]) -> Vec<f32> {
        let at = |&(x, y): &(f64, f64)| match &self.map {
            Map::Flat { value, .. } => *value as f32,
            Map::Drawn { values, .. } => field
                .grid
                .cell_at(x, y)
                .and_then(|cell| field.grid.slot(cell))
                .map_or(f32::NAN, |slot| values[slot]),
        };
        places.iter().map(at).collect()
    }
}

fn nearest(places: &[(f64, f64)], at: (f64, f64)) -> Vec<Neighbour> {
    let mut near: Vec<Neighbour> = (0..)
        .zip(places)
        .map(|(site, (x, y))| Neighbour {
            site,
            squared: (x - at.0).powi(2) + (y - at.1).powi(2),
        })
        .collect();
    let order =
        |a: &Neighbour, b: &Neighbour| a.squared.total_cmp(&b.squared).then(a.site.cmp(&b.site));
    if near.len() > KEPT {
        near.select_nth_unstable_by(KEPT, order);
        near.truncate(KEPT);
    }
    near.sort_unstable_by(order);
    near
}

impl Redrawing<'_> {
    /// All layers at the targets, made without the observations at places for which `is_left_out` holds. A layer with one value
    /// for the whole field is the mean of what is left.
    #[must_use]
    pub fn without(&self, is_left_out: &dyn Fn((f64, f64)) -> bool) -> Surfaces {
        let mut maps: Vec<Option<Map>> = vec![None; self.surfaces.surfaces.len()];
        for (at, values) in &self.as_it_is {
            maps[*at] = Some(self.map(*at, values.clone()));
        }
        for group in &self.groups {
            let is_kept: Vec<bool> = group.places.iter().map(|at| !is_left_out(*at)).collect();
            for (at, values) in &group.layers {
                maps[*at] = Some(self.layer(*at, group, values, &is_kept));
            }
        }
        let surfaces = self.surfaces.surfaces.iter().zip(maps);
        Surfaces {
            surfaces: surfaces
                .map(|(surface, map)| surface.with_map(map.unwrap_or_else(|| surface.map.clone())))
                .collect(),
            odd_cores: Vec::new(),
            remarks: Vec::new(),
        }
    }

    fn map(&self, at: usize, values: Vec<f32>) -> Map {
        let surface = &self.surfaces.surfaces[at];
        let error = surface.skill.map_or(0.0, |skill| skill.rmse) as f32;
        Map::Drawn {
            standard_error: vec![error; values.len()],
            values,
        }
    }

    fn layer(&self, at: usize, group: &Near, values: &[f64], is_kept: &[bool]) -> Map {
        let surface = &self.surfaces.surfaces[at];
        let kept = || (0..values.len()).filter(|&i| is_kept[i]);
        if let Map::Flat {
            standard_error,
            why,
            value,
        } = &surface.map
        {
            let count = kept().count();
            let mean = kept().map(|i| values[i]).sum::<f64>() / count as f64;
            return Map::Flat {
                value: if count > 0 { mean } else { *value },
                standard_error: *standard_error,
                why: *why,
            };
        }
        let points = || kept().map(|i| (group.places[i], values[i]));
        let plane = (surface.method == Method::PlaneAndInverseDistance)
            .then(|| Plane::through(points()))
            .flatten();
        let left: Vec<f64> = match plane {
            Some(plane) => (values.iter().zip(&group.places))
                .map(|(value, (x, y))| value - plane.at(*x, *y))
                .collect(),
            None => values.to_vec(),
        };
        let count = surface.neighbours.unwrap_or(usize::MAX);
        let (mut near, mut weights) = (Vec::new(), Vec::new());
        let of_target = |((x, y), all): (&(f64, f64), &Vec<Neighbour>)| {
            near.clear();
            near.extend(all.iter().filter(|n| is_kept[n.site as usize]).copied());
            Power(surface.power).weigh(&near, count, &mut weights);
            let (mut sum, mut total) = (0.0, 0.0);
            for (weight, neighbour) in weights.iter().zip(&near) {
                sum += weight * left[neighbour.site as usize];
                total += weight;
            }
            let mean = sum / total;
            plane.map_or(mean, |plane| plane.added_to(mean, *x, *y)) as f32
        };
        let drawn = self
            .targets
            .iter()
            .zip(&group.by_target)
            .map(of_target)
            .collect();
        self.map(at, drawn)
    }
}

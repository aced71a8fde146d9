//! Maps at some places without some of the observations: what a zoning would have been without them. Power, neighbours and plane
//! are those that the whole field was tuned to.
//!
//! The observations may be parted in several ways, each into folds of its own. A fold of neighbouring observations has a say in a part of the
//! places only; elsewhere its map is that of the whole field. A plane that is put back moves everywhere, but what inverse distance makes of a plane is the plane at the weighted middle of the neighbours.

use rayon::prelude::*;

use super::inverse_distance::Power;
use super::joined::{Group, join};
use super::logs::Logs;
use super::method::Method;
use super::neighbours::Neighbour;
use super::plane::Plane;
use super::standard_error::harmonic_squared;
use super::surfaces::{Map, Surface, Surfaces};
use crate::field::Field;

/// With more observations than this the map hardly hangs on a few of them and is taken as it is.
const MANY: usize = 2_000;
/// Squared distances that differ by no more than this count as a tie when neighbours are gathered; who ties in truth is decided where they are weighed.
const TIED: f64 = 1.0 + 1e-6;
/// Neighbours that are kept for each place; those beyond them weigh next to nothing.
const KEPT: usize = 512;

/// The observations of all layers, ready to be left out fold by fold.
pub struct Redrawing<'s> {
    surfaces: &'s Surfaces,
    targets: Vec<(f64, f64)>,
    groups: Vec<Near>,
    /// Layers with many observations: the map's own values at the targets.
    as_it_is: Vec<(usize, Vec<f32>)>,
}

/// Layers that share their places, with the places near each target.
struct Near {
    places: Places,
    /// By target, by rising distance.
    by_target: Vec<Vec<Neighbour>>,
    /// Layers with one value for the whole field: index of the surface, and values by place.
    flat: Vec<(usize, Vec<f64>)>,
    drawn: Vec<Weighing>,
}

struct Places {
    at: Vec<(f64, f64)>,
    /// By parting, by place.
    folds: Vec<Vec<usize>>,
}

/// A fold of one of the partings.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeftOutFold {
    /// Which parting.
    pub parting: usize,
    /// Which of its folds.
    pub fold: usize,
}

impl Places {
    /// By place, whether it is kept.
    fn kept(&self, left_out: Option<LeftOutFold>) -> Vec<bool> {
        let Some(left_out) = left_out else {
            return vec![true; self.at.len()];
        };
        let parting = self.folds[left_out.parting].iter();
        parting.map(|fold| *fold != left_out.fold).collect()
    }
}

/// Drawn layers that weigh their neighbours alike.
struct Weighing {
    power: Power,
    count: usize,
    layers: Vec<Layer>,
    /// By place and layer.
    values: Vec<f64>,
    /// By target, with nothing left out.
    whole: Vec<Mean>,
}

/// A drawn layer.
struct Layer {
    /// Index of its surface.
    at: usize,
    /// Whether a plane is taken out.
    is_tilted: bool,
    /// The way back, where it is worked in logarithms.
    logs: Option<Logs>,
}

/// What the neighbours of a target come to.
struct Mean {
    /// By layer.
    values: Vec<f64>,
    /// The weighted middle of the neighbours.
    middle: (f64, f64),
    /// The square of the harmonic mean distance to them, m².
    harmonic_squared: f64,
    /// By parting, the folds that have a say: bit `fold % 64`.
    folds: Vec<u64>,
}

impl Surfaces {
    /// Prepares maps at some places (metres) without one of the folds that the observations fall into. `folds` tells for a place (metres) its fold
    /// in each parting.
    #[must_use]
    pub fn redrawing(
        &self,
        field: &Field,
        targets: Vec<(f64, f64)>,
        folds: &dyn Fn((f64, f64)) -> Vec<usize>,
    ) -> Redrawing<'_> {
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
                let at = |i: &u32| (group.x[*i as usize], group.y[*i as usize]);
                let at: Vec<(f64, f64)> = used.iter().map(at).collect();
                let by_place: Vec<Vec<usize>> = at.iter().map(|place| folds(*place)).collect();
                let partings = by_place.first().map_or(0, Vec::len);
                let parting = |n: usize| by_place.iter().map(|folds| folds[n]).collect();
                let folds = (0..partings).map(parting).collect();
                let near = Near::new(self, Places { at, folds }, layers, &made.targets);
                made.groups.push(near);
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

impl Near {
    fn new(
        surfaces: &Surfaces,
        places: Places,
        layers: Vec<(usize, Vec<f64>)>,
        targets: &[(f64, f64)],
    ) -> Self {
        let is_flat =
            |(at, _): &(usize, Vec<f64>)| matches!(surfaces.surfaces[*at].map, Map::Flat { .. });
        let (flat, drawn): (Vec<_>, Vec<_>) = layers.into_iter().partition(is_flat);
        let near = targets.par_iter().map(|at| nearest(&places.at, *at));
        let by_target: Vec<Vec<Neighbour>> = near.collect();
        let mut kinds: Vec<(f64, usize, Vec<_>)> = Vec::new();
        for layer in drawn {
            let surface = &surfaces.surfaces[layer.0];
            let (power, count) = (surface.power, surface.neighbours.unwrap_or(usize::MAX));
            let own = |kind: &&mut (f64, usize, Vec<_>)| kind.0 == power && kind.1 == count;
            match kinds.iter_mut().find(own) {
                Some((_, _, layers)) => layers.push(layer),
                None => kinds.push((power, count, vec![layer])),
            }
        }
        let weighing = |(power, count, observed): (f64, usize, Vec<(usize, Vec<f64>)>)| {
            let layer = |(at, _): &(usize, Vec<f64>)| Layer::new(surfaces, *at);
            let layers: Vec<Layer> = observed.iter().map(layer).collect();
            let of_place = |place: usize| {
                let both = layers.iter().zip(&observed);
                both.map(move |(layer, (_, values))| layer.worked(values[place]))
            };
            let values = (0..places.at.len()).flat_map(of_place).collect();
            let made = Weighing {
                power: Power(power),
                count,
                values,
                layers,
                whole: Vec::new(),
            };
            let whole = by_target.par_iter().map_init(Vec::new, |weights, near| {
                let mut mean = made.nothing(&places);
                made.add_up(&places, near, weights, &mut mean);
                mean
            });
            let whole = whole.collect();
            Weighing { whole, ..made }
        };
        Self {
            drawn: kinds.into_iter().map(weighing).collect(),
            by_target,
            flat,
            places,
        }
    }
}

impl Layer {
    fn new(surfaces: &Surfaces, at: usize) -> Self {
        let surface = &surfaces.surfaces[at];
        Self {
            at,
            is_tilted: surface.method == Method::PlaneAndInverseDistance,
            logs: surface.logs,
        }
    }

    /// A value on the scale that the layer is worked on.
    fn worked(&self, value: f64) -> f64 {
        self.logs.map_or(value, |_| libm::log(value))
    }

    /// The layer's value at a place, from what its neighbours come to.
    fn value(&self, mean: &Mean, own: f64, plane: Option<&Plane>, (x, y): (f64, f64)) -> f64 {
        let drawn = plane.map_or(own, |plane| {
            plane.added_to(own - plane.at(mean.middle.0, mean.middle.1), x, y)
        });
        let back = |logs: Logs| logs.value(drawn, mean.harmonic_squared);
        self.logs.map_or(drawn, back)
    }
}

impl Weighing {
    fn nothing(&self, places: &Places) -> Mean {
        Mean {
            values: vec![0.0; self.layers.len()],
            middle: (0.0, 0.0),
            harmonic_squared: 0.0,
            folds: vec![0; places.folds.len()],
        }
    }

    fn add_up(&self, places: &Places, near: &[Neighbour], weights: &mut Vec<f64>, mean: &mut Mean) {
        mean.values.fill(0.0);
        mean.middle = (0.0, 0.0);
        mean.folds.fill(0);
        mean.harmonic_squared = harmonic_squared(near, self.count);
        self.power.weigh(near, self.count, weights);
        let total: f64 = weights.iter().sum();
        for (weight, neighbour) in weights.iter().zip(near) {
            let (site, weight) = (neighbour.site as usize, weight / total);
            let own = &self.values[site * self.layers.len()..];
            for (sum, value) in mean.values.iter_mut().zip(own) {
                *sum += weight * value;
            }
            let (x, y) = places.at[site];
            mean.middle.0 += weight * x;
            mean.middle.1 += weight * y;
            for (folds, parting) in mean.folds.iter_mut().zip(&places.folds) {
                *folds |= bit(parting[site]);
            }
        }
    }

    /// The plane through a layer's observations outside a fold.
    fn plane(&self, places: &Places, layer: usize, kept: &[bool]) -> Option<Plane> {
        let width = self.layers.len();
        let kept = places
            .at
            .iter()
            .enumerate()
            .filter(|(place, _)| kept[*place]);
        Plane::through(kept.map(|(place, at)| (*at, self.values[place * width + layer])))
    }
}

/// Of neighbours by rising distance, the nearest that are kept: so many, and those that tie with the last.
fn nearest_kept(all: &[Neighbour], kept: &[bool], count: usize, near: &mut Vec<Neighbour>) {
    near.clear();
    for neighbour in all.iter().filter(|n| kept[n.site as usize]) {
        let is_beyond = |last: &Neighbour| neighbour.squared > last.squared * TIED;
        if near.get(count.saturating_sub(1)).is_some_and(is_beyond) {
            break;
        }
        near.push(*neighbour);
    }
}

/// A fold among 64; of more, some share a bit, and a map is then made anew where it need not be.
fn bit(fold: usize) -> u64 {
    1 << (fold % 64)
}

impl Redrawing<'_> {
    /// All layers at some of the targets, made without the observations of a fold. A layer with one value for the whole field is the
    /// mean of what is left.
    #[must_use]
    pub fn without(&self, left_out: LeftOutFold, rows: &[usize]) -> Surfaces {
        self.drawn(Some(left_out), rows)
    }

    /// All layers at some of the targets, made with all observations.
    #[must_use]
    pub fn with_all(&self, rows: &[usize]) -> Surfaces {
        self.drawn(None, rows)
    }

    fn drawn(&self, left_out: Option<LeftOutFold>, rows: &[usize]) -> Surfaces {
        let mut maps: Vec<Option<Map>> = vec![None; self.surfaces.surfaces.len()];
        for (at, values) in &self.as_it_is {
            let values = rows.iter().map(|&row| values[row]).collect();
            maps[*at] = Some(self.map(*at, values));
        }
        for group in &self.groups {
            let kept = group.places.kept(left_out);
            let flat = group.flat.iter().filter(|_| left_out.is_some());
            for (at, values) in flat {
                maps[*at] = Some(self.flat(*at, values, &kept));
            }
            for weighing in &group.drawn {
                let columns = self.columns((group, weighing), (left_out, &kept), rows);
                for (layer, values) in weighing.layers.iter().zip(columns) {
                    maps[layer.at] = Some(self.map(layer.at, values));
                }
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

    fn flat(&self, at: usize, values: &[f64], is_kept: &[bool]) -> Map {
        let mut map = self.surfaces.surfaces[at].map.clone();
        let kept = || {
            let all = values.iter().zip(is_kept);
            all.filter(|(_, is_kept)| **is_kept)
                .map(|(value, _)| *value)
        };
        let count = kept().count();
        if let Map::Flat { value, .. } = &mut map
            && count > 0
        {
            *value = kept().sum::<f64>() / count as f64;
        }
        map
    }

    /// The layers of a weighing at some targets.
    fn columns(
        &self,
        (group, weighing): (&Near, &Weighing),
        (left_out, kept): (Option<LeftOutFold>, &[bool]),
        rows: &[usize],
    ) -> Vec<Vec<f32>> {
        let layers = weighing.layers.iter().enumerate();
        let planes: Vec<Option<Plane>> = layers
            .map(|(at, layer)| {
                let plane = || weighing.plane(&group.places, at, kept);
                layer.is_tilted.then(plane).flatten()
            })
            .collect();
        let mut columns = vec![Vec::with_capacity(rows.len()); planes.len()];
        let (mut near, mut weights, mut anew) =
            (Vec::new(), Vec::new(), weighing.nothing(&group.places));
        for &row in rows {
            let mut mean = &weighing.whole[row];
            let is_by =
                |left_out: LeftOutFold| mean.folds[left_out.parting] & bit(left_out.fold) != 0;
            if left_out.is_some_and(is_by) {
                nearest_kept(&group.by_target[row], kept, weighing.count, &mut near);
                weighing.add_up(&group.places, &near, &mut weights, &mut anew);
                mean = &anew;
            }
            let layers = weighing.layers.iter().zip(&planes).zip(&mean.values);
            for (column, ((layer, plane), own)) in columns.iter_mut().zip(layers) {
                let drawn = layer.value(mean, *own, plane.as_ref(), self.targets[row]);
                column.push(drawn as f32);
            }
        }
        columns
    }
}

//! Layers from their observations to their surfaces: every group is studied, all layers are judged together, then maps are drawn.

use std::borrow::Cow;
use std::sync::Arc;

use rayon::prelude::*;

use super::FEWEST_FOR_A_MAP;
use super::blocks::Blocks;
use super::bootstrap::efficiency_intervals;
use super::covariance::{self, Covariance};
use super::draw::draw;
use super::drawing::{Drawing, Drawn, LayerToDraw};
use super::estimate::{Estimate, Ground};
use super::exchanged::{Fitted, exchanged};
use super::flat::{LEAST_EFFICIENCY, is_constant};
use super::inverse_distance::Power;
use super::joined::{Group, Joined};
use super::leave_one_out::Prediction;
use super::left_out::LeftOut;
use super::logs::Logs;
use super::mean_error::{self, MeanError, Weighing};
use super::method::Method;
use super::morans_i;
use super::neighbours::Neighbours;
use super::outliers::{self, Checked, Suspect};
use super::permutation::{self, LARGEST_P, Tested};
use super::plane::Plane;
use super::sites::Sites;
use super::smoother::Smoother;
use super::standard_error::{self, SampledCells};
use super::standard_error_curve::StandardErrorCurve;
use super::surfaces::{Map, Skill, Surface};
use super::tuning::Tuned;
use super::tuning_table::Table;
use crate::field::{Field, Grid};
use crate::remark::Remark;

/// What is known of a layer before its map is drawn.
pub(super) struct Studied<'g> {
    /// The layer.
    pub layer: &'g Joined<'g>,
    /// Its values by observation; several at one place carry their mean.
    pub values: Cow<'g, [f64]>,
    /// Its values in logarithms, where it is worked in them, and the way back.
    logs: Option<(Vec<f64>, Logs)>,
    /// The plane that is taken out first.
    plane: Option<Plane>,
    power: Power,
    count: usize,
    /// What leave-one-out says.
    pub skill: Option<Skill>,
    /// Uncorrected, where it was tested.
    pub p_value: Option<f64>,
    curve: StandardErrorCurve,
    covariance: Covariances,
}

/// How alike values are by their distance: for one value for the whole field, and for the map.
#[derive(Clone, Copy, Default)]
struct Covariances {
    flat: Option<Covariance>,
    drawn: Option<Covariance>,
    is_clustered: bool,
}

/// What a group's study found beside the layers.
pub(super) struct Found<'g> {
    /// The layers.
    pub layers: Vec<Studied<'g>>,
    /// Cores that their neighbours contradict.
    pub suspects: Vec<Suspect>,
    /// What is to be said.
    pub remarks: Vec<Remark>,
}

/// Tunes, measures and tests every layer of a group. `layers` is the number of layers of the field that are tested.
pub(super) fn study<'g>(
    field: &Field,
    group: &'g Group<'_>,
    neighbours: &Neighbours<'_>,
    table: &Table,
    layers: usize,
) -> Found<'g> {
    let sites = neighbours.sites();
    let values: Vec<Cow<'g, [f64]>> = group
        .layers
        .iter()
        .map(|layer| sites.averaged(&layer.values))
        .collect();
    if sites.places() < 3 {
        return unmeasured(group, values, table);
    }
    let cells = standard_error::distances(neighbours, &field.grid);
    let asked = table.most().max(morans_i::NEAREST);
    let left_out = LeftOut::new(neighbours, asked, cells.clone());
    let blocks = if sites.places() <= permutation::MOST_PREDICTED_ANEW {
        Blocks::of(&left_out, sites, &cells)
    } else {
        None
    };
    let smoother = Smoother::new(table, &left_out, sites, table.may_tilt(sites.places()));
    let plain: Vec<&[f64]> = values.iter().map(|v| &**v).collect();
    let ground = Ground {
        sites,
        left_out: &left_out,
        table,
        smoother: &smoother,
        cells: &SampledCells::new(neighbours, &field.grid, table.most()),
        is_clustered: blocks.as_ref().is_some_and(|blocks| blocks.is_clustered),
    };
    let study = GroupStudy {
        field,
        neighbours,
        left_out: &left_out,
        blocks: blocks.as_ref(),
        smoother: &smoother,
        values: &plain,
        estimates: ground.estimates(&plain),
    };
    let measured = study.measure(layers);
    let (mut suspects, mut remarks) = study.odd(group, &measured);
    suspects.shrink_to_fit();
    remarks.extend(super::remarks::clustered(
        field, group, neighbours, &left_out,
    ));
    let layers = group.layers.iter().zip(values).zip(measured);
    Found {
        layers: layers
            .map(|((layer, values), measured)| Studied::new(layer, values, measured))
            .collect(),
        suspects,
        remarks,
    }
}

impl<'g> Studied<'g> {
    fn new(layer: &'g Joined<'g>, values: Cow<'g, [f64]>, measured: Measured) -> Self {
        Self {
            layer,
            values,
            logs: measured.logs,
            plane: measured.plane,
            power: measured.tuned.power,
            count: measured.tuned.count,
            skill: Some(measured.skill),
            p_value: measured.p_value,
            curve: measured.curve,
            covariance: measured.covariance,
        }
    }

    /// What inverse distance is made of: the values or their logarithms, without the plane.
    fn left_by_the_plane(&self, sites: &Sites) -> Cow<'_, [f64]> {
        let worked = match &self.logs {
            Some((logarithms, _)) => logarithms,
            None => &*self.values,
        };
        match self.plane {
            Some(plane) => Cow::Owned(plane.taken_from(sites, worked)),
            None => Cow::Borrowed(worked),
        }
    }

    /// The map of its values from that of what the plane left.
    fn finished(&self, grid: &Grid, mut map: Drawn) -> Map {
        if let Some(plane) = self.plane {
            plane.put_back(grid, &mut map.values);
        }
        if let Some((_, logs)) = &self.logs {
            for (value, error) in map.values.iter_mut().zip(&mut map.standard_error) {
                (*value, *error) = logs.cell(*value, *error);
            }
        }
        Map::Drawn {
            values: map.values,
            standard_error: map.standard_error,
        }
    }
}

/// Two places say nothing of a map.
fn unmeasured<'g>(group: &'g Group<'_>, values: Vec<Cow<'g, [f64]>>, table: &Table) -> Found<'g> {
    let alone = |(layer, values)| Studied {
        layer,
        values,
        logs: None,
        plane: None,
        power: Power(table.powers[0]),
        count: table.most(),
        skill: None,
        p_value: None,
        curve: StandardErrorCurve::constant(0.0),
        covariance: Covariances::default(),
    };
    Found {
        layers: group.layers.iter().zip(values).map(alone).collect(),
        suspects: Vec::new(),
        remarks: Vec::new(),
    }
}

/// A group under study.
struct GroupStudy<'a> {
    field: &'a Field,
    neighbours: &'a Neighbours<'a>,
    left_out: &'a LeftOut,
    blocks: Option<&'a Blocks>,
    smoother: &'a Smoother,
    values: &'a [&'a [f64]],
    estimates: Vec<Estimate<'a>>,
}

struct Measured {
    logs: Option<(Vec<f64>, Logs)>,
    tuned: Tuned,
    plane: Option<Plane>,
    skill: Skill,
    p_value: Option<f64>,
    curve: StandardErrorCurve,
    covariance: Covariances,
}

impl GroupStudy<'_> {
    fn measure(&self, layers: usize) -> Vec<Measured> {
        let is_enough = self.neighbours.sites().places() >= FEWEST_FOR_A_MAP;
        let errors = |estimate: &Estimate<'_>| {
            let prediction = &estimate.prediction;
            (prediction.errors(), prediction.errors_of_mean())
        };
        let intervals = if is_enough {
            efficiency_intervals(&self.estimates.iter().map(errors).collect::<Vec<_>>())
        } else {
            Vec::new()
        };
        let covariances = self.covariances();
        let limit = LARGEST_P / layers.max(1) as f64;
        (0..self.values.len())
            .into_par_iter()
            .map(|i| {
                let estimate = &self.estimates[i];
                let can_be_tested =
                    is_enough && !is_constant(self.neighbours.sites(), self.values[i]);
                Measured {
                    logs: estimate.logs.map(|logs| (estimate.worked.to_vec(), logs)),
                    tuned: estimate.tuned,
                    plane: estimate.plane,
                    skill: Skill {
                        efficiency_interval: intervals.get(i).copied(),
                        ..self.skill(i)
                    },
                    p_value: can_be_tested.then(|| permutation::p_value(&self.tested(i), limit)),
                    curve: estimate.curve,
                    covariance: covariances[i],
                }
            })
            .collect()
    }

    fn skill(&self, i: usize) -> Skill {
        let (estimate, sites) = (&self.estimates[i], self.neighbours.sites());
        let left = match estimate.plane {
            Some(plane) => Cow::Owned(plane.taken_from(sites, &estimate.worked)),
            None => Cow::Borrowed(&*estimate.worked),
        };
        let (power, count) = (estimate.tuned.power, estimate.tuned.count);
        let source = &sites.source;
        let mut plain = Prediction::new(self.left_out, source, &left, power, count);
        if let Some(logs) = &estimate.logs {
            let places = estimate.in_logs(self.left_out, &estimate.prediction.observed);
            plain = places.by_all_others(logs, &plain.errors());
        }
        Skill {
            morans_i: morans_i::of_nearest(self.left_out, source, self.values[i]),
            ..estimate.prediction.skill(&plain)
        }
    }

    /// How alike values are by their distance, where the places are neither few nor very many.
    fn covariances(&self) -> Vec<Covariances> {
        let sites = self.neighbours.sites();
        if !(FEWEST_FOR_A_MAP..=mean_error::MOST_PLACES).contains(&sites.places()) {
            return vec![Covariances::default(); self.values.len()];
        }
        let layers = || self.values.iter().zip(&self.estimates);
        let level = layers().map(|(values, _)| (*values, false));
        let tilted = layers().filter(|(_, estimate)| estimate.tuned.is_tilted);
        let all: Vec<(&[f64], bool)> = level
            .chain(tilted.map(|(values, _)| (*values, true)))
            .collect();
        let mut fitted = covariance::fit(sites, self.left_out, &all);
        let mut tilted = fitted.split_off(self.values.len()).into_iter();
        let of_layer = |(flat, estimate): (Option<Covariance>, &Estimate<'_>)| Covariances {
            is_clustered: self.blocks.is_some_and(|blocks| blocks.is_clustered),
            flat,
            drawn: if estimate.tuned.is_tilted {
                tilted.next().flatten()
            } else {
                flat
            },
        };
        fitted
            .into_iter()
            .zip(&self.estimates)
            .map(of_layer)
            .collect()
    }

    fn tested(&self, i: usize) -> Tested<'_> {
        let estimate = &self.estimates[i];
        let (values, tuned, prediction) = match &estimate.tested {
            Some(scale) => (&scale.values[..], scale.tuned, &scale.prediction),
            None => (&*estimate.worked, estimate.tuned, &estimate.on_scale),
        };
        Tested {
            left_out: self.left_out,
            blocks: self.blocks,
            sites: self.neighbours.sites(),
            smoother: self.smoother,
            values,
            tuned,
            prediction,
        }
    }

    /// The cores that their neighbours contradict.
    fn odd(&self, group: &Group<'_>, measured: &[Measured]) -> (Vec<Suspect>, Vec<Remark>) {
        let checked: Vec<Checked<'_>> = measured
            .iter()
            .enumerate()
            .map(|(i, layer)| Checked {
                sites: self.neighbours.sites(),
                left_out: self.left_out,
                layer: &group.layers[i],
                values: self.values[i],
                power: layer.tuned.power,
                count: layer.tuned.count,
                curve: layer.curve,
            })
            .collect();
        let looked: Vec<(Vec<Suspect>, Option<Remark>)> = checked
            .par_iter()
            .map(|checked| outliers::look(self.field, checked))
            .collect();
        let (mut suspects, mut remarks) = (Vec::new(), Vec::new());
        for (odd, remark) in looked {
            suspects.extend(odd);
            remarks.extend(remark);
        }
        remarks.extend(self.exchanged(measured, &checked));
        (suspects, remarks)
    }

    /// Cores whose bags look exchanged, by all layers of the group that their neighbours predict at all.
    fn exchanged(&self, measured: &[Measured], checked: &[Checked<'_>]) -> Vec<Remark> {
        let is_predicted = |layer: &Measured| layer.skill.efficiency >= LEAST_EFFICIENCY;
        let layers: Vec<Fitted> = measured
            .iter()
            .zip(checked)
            .filter(|(layer, _)| is_predicted(layer))
            .filter_map(|(_, checked)| outliers::fitted(self.field, checked))
            .collect();
        let Some(names) = checked.first() else {
            return Vec::new();
        };
        let sites = self.neighbours.sites();
        let places: Vec<(f64, f64)> = (0..sites.places())
            .map(|n| sites.place(n))
            .map(|site| (sites.x[site], sites.y[site]))
            .collect();
        let least = LEAST_APART * even_spacing(&places);
        let is_apart = |one: usize, other: usize| {
            let (one, other) = (places[one], places[other]);
            (one.0 - other.0).hypot(one.1 - other.1) >= least
        };
        exchanged(&layers, is_apart)
            .iter()
            .map(|pair| outliers::exchange_remark(self.field, names, pair, layers.len()))
            .collect()
    }
}

/// Of the distance between cores that stand evenly: of two that are nearer each is mainly predicted by the other (own).
const LEAST_APART: f64 = 0.5;

/// The distance at which as many places would stand from each other in rows over the same rectangle.
fn even_spacing(places: &[(f64, f64)]) -> f64 {
    let span = |of: fn(&(f64, f64)) -> f64| {
        let ends = places.iter().map(of);
        let (low, high) = ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(value), high.max(value))
        });
        (high - low).max(0.0)
    };
    (span(|p| p.0) * span(|p| p.1) / places.len().max(1) as f64).sqrt()
}

/// Draws the layers of a group that have no flat value, those alike in one go.
pub(super) fn surfaces(
    grid: &Grid,
    neighbours: &Neighbours<'_>,
    studied: Vec<Studied<'_>>,
    flats: Vec<Option<Map>>,
) -> Vec<Surface> {
    let sites = neighbours.sites();
    let left: Vec<Cow<'_, [f64]>> = studied
        .iter()
        .map(|layer| layer.left_by_the_plane(sites))
        .collect();
    let mut maps = flats;
    while let Some(first) = maps.iter().position(Option::is_none) {
        let (power, count) = (studied[first].power, studied[first].count);
        let is_alike = |i: &usize| {
            maps[*i].is_none() && studied[*i].power == power && studied[*i].count == count
        };
        let alike: Vec<usize> = (0..maps.len()).filter(is_alike).collect();
        let layers = alike
            .iter()
            .map(|&i| LayerToDraw {
                values: &left[i],
                curve: studied[i].curve,
            })
            .collect();
        let how = Drawing {
            power,
            count,
            layers,
        };
        for (&i, map) in alike.iter().zip(draw(neighbours, grid, &how)) {
            maps[i] = Some(studied[i].finished(grid, map));
        }
    }
    let maps = maps.into_iter().flatten();
    studied
        .iter()
        .zip(maps)
        .map(|(layer, map)| surface(layer, map, sites))
        .collect()
}

/// What the error of a mean follows from.
fn mean_error(layer: &Studied<'_>, map: &Map, sites: &Sites) -> Option<MeanError> {
    let places = (0..sites.places())
        .map(|n| sites.place(n))
        .map(|site| (sites.x[site], sites.y[site]))
        .collect();
    let weighing = Weighing {
        power: layer.power,
        count: layer.count,
        is_tilted: layer.plane.is_some(),
    };
    let (covariance, map) = match map {
        Map::Drawn { .. } => (layer.covariance.drawn?, Some(weighing)),
        Map::Flat { .. } => (layer.covariance.flat?, None),
    };
    let mut made = MeanError::new(places, covariance, map);
    made.is_clustered = layer.covariance.is_clustered;
    Some(made)
}

fn surface(layer: &Studied<'_>, map: Map, sites: &Sites) -> Surface {
    let usable = sites.len();
    let unit = layer.layer.parts.first();
    Surface {
        key: layer.layer.key.clone(),
        unit: unit.map_or_else(|| "".into(), |part| part.unit.clone()),
        method: match layer.plane {
            Some(_) => Method::PlaneAndInverseDistance,
            None => Method::InverseDistance,
        },
        power: layer.power.0,
        neighbours: (layer.count < usable).then_some(layer.count),
        skill: layer.skill,
        logs: match (&map, &layer.logs) {
            (Map::Drawn { .. }, Some((_, logs))) => Some(*logs),
            _ => None,
        },
        mean_error: mean_error(layer, &map, sites).map(Arc::new),
        map,
    }
}

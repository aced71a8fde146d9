//! One group of layers from its observations to its surfaces.

use std::borrow::Cow;

use rayon::prelude::*;

use super::FEWEST_FOR_A_MAP;
use super::bootstrap::efficiency_intervals;
use super::drawing::{Drawing, LayerToDraw, draw};
use super::inverse_distance::Power;
use super::joined::{Group, Joined};
use super::leave_one_out::{LeftOut, Prediction};
use super::morans_i;
use super::neighbours::Neighbours;
use super::outliers::{self, Checked, Suspect};
use super::remarks;
use super::sites::Sites;
use super::standard_error::{self, LayerModel, SampledCells, StandardErrorCurve};
use super::surfaces::{Flat, Map, Skill, Surface, Surfaces};
use super::tuning::{Table, tune};
use super::variogram::Variogram;
use crate::field::Field;
use crate::plan::SurfaceSettings;
use crate::remark::Remark;

/// What is known of a layer before its map is drawn.
struct Studied<'g> {
    layer: &'g Joined<'g>,
    values: Cow<'g, [f64]>,
    power: Power,
    count: usize,
    skill: Option<Skill>,
    flat: Option<Map>,
    curve: StandardErrorCurve,
}

/// Adds the surfaces of a group's layers, what is to be said of them, and the cores that their neighbours contradict.
pub(super) fn surfaces_of(
    field: &Field,
    group: &Group<'_>,
    how: &SurfaceSettings,
    made: &mut Surfaces,
    suspects: &mut Vec<Suspect>,
) {
    let used = group.used();
    let usable = used.len();
    if usable == 0 {
        return;
    }
    let table = Table::new(how, usable);
    let sites = Sites::new(group, used, table.most());
    let neighbours = Neighbours::new(&sites);
    let (studied, mut odd) = study(field, group, &neighbours, &table, suspects);
    made.remarks.append(&mut odd);
    made.remarks
        .extend(remarks::coincident(field, group, &sites));
    for layer in &studied {
        made.remarks.extend(remarks::of_layer(
            layer.layer,
            layer.flat.as_ref(),
            layer.skill.as_ref(),
            &sites,
        ));
    }
    let mut maps: Vec<Option<Map>> = studied.iter().map(|layer| layer.flat.clone()).collect();
    while let Some(first) = maps.iter().position(Option::is_none) {
        let (power, count) = (studied[first].power, studied[first].count);
        let alike: Vec<usize> = (0..maps.len())
            .filter(|&i| {
                maps[i].is_none() && studied[i].power == power && studied[i].count == count
            })
            .collect();
        let layers = alike
            .iter()
            .map(|&i| LayerToDraw {
                values: &studied[i].values,
                curve: studied[i].curve,
            })
            .collect();
        let drawn = draw(
            &neighbours,
            &field.grid,
            &Drawing {
                power,
                count,
                layers,
            },
        );
        for (i, map) in alike.into_iter().zip(drawn) {
            maps[i] = Some(Map::Drawn {
                values: map.values,
                standard_error: map.standard_error,
            });
        }
    }
    for (layer, map) in studied.into_iter().zip(maps.into_iter().flatten()) {
        made.surfaces.push(Surface {
            key: layer.layer.key.clone(),
            unit: layer
                .layer
                .parts
                .first()
                .map_or_else(|| "".into(), |part| part.unit.clone()),
            power: layer.power.0,
            neighbours: (layer.count < usable).then_some(layer.count),
            skill: layer.skill,
            map,
        });
    }
}

/// Tunes, measures and judges every layer of a group.
fn study<'g>(
    field: &Field,
    group: &'g Group<'_>,
    neighbours: &Neighbours<'_>,
    table: &Table,
    suspects: &mut Vec<Suspect>,
) -> (Vec<Studied<'g>>, Vec<Remark>) {
    let sites = neighbours.sites();
    let values: Vec<Cow<'g, [f64]>> = group
        .layers
        .iter()
        .map(|layer| sites.averaged(&layer.values))
        .collect();
    let plain: Vec<&[f64]> = values.iter().map(|v| &**v).collect();
    if sites.places() < 3 {
        let (power, count) = (Power(table.powers[0]), table.most());
        let alone = |(layer, values): (&'g Joined<'_>, Cow<'g, [f64]>)| {
            let flat = flat(sites, &values, None);
            Studied {
                layer,
                values,
                power,
                count,
                skill: None,
                flat,
                curve: StandardErrorCurve::constant(0.0),
            }
        };
        return (
            group.layers.iter().zip(values).map(alone).collect(),
            Vec::new(),
        );
    }
    let left_out = LeftOut::new(neighbours, table.most().max(morans_i::NEAREST));
    let tuned = tune(table, &left_out, &sites.source, &plain);
    let predictions: Vec<Prediction> = tuned
        .par_iter()
        .zip(&plain)
        .map(|((power, count), values)| {
            Prediction::new(&left_out, &sites.source, values, *power, *count)
        })
        .collect();
    let errors: Vec<(Vec<f64>, Vec<f64>)> = predictions
        .iter()
        .map(|p| (p.errors(), p.errors_of_mean()))
        .collect();
    let intervals = if sites.places() < FEWEST_FOR_A_MAP {
        Vec::new()
    } else {
        efficiency_intervals(&errors)
    };
    let variograms = Variogram::fit(sites, &left_out, &plain);
    let cells = SampledCells::new(neighbours, &field.grid, table.most());
    let skills: Vec<Skill> = (0..plain.len())
        .into_par_iter()
        .map(|i| Skill {
            efficiency_interval: intervals.get(i).copied(),
            morans_i: morans_i::of_nearest(&left_out, &sites.source, plain[i]),
            ..predictions[i].skill()
        })
        .collect();
    let curves: Vec<StandardErrorCurve> = (0..plain.len())
        .into_par_iter()
        .map(|i| {
            let model = LayerModel {
                sites,
                variogram: variograms[i],
                power: tuned[i].0,
                count: tuned[i].1,
            };
            standard_error::fit(&cells, &left_out, &predictions[i], &model)
        })
        .collect();
    let odd: Vec<(Vec<Suspect>, Option<Remark>)> = (0..plain.len())
        .into_par_iter()
        .map(|i| {
            let ((power, count), curve) = (tuned[i], curves[i]);
            outliers::look(
                field,
                &Checked {
                    sites,
                    left_out: &left_out,
                    layer: &group.layers[i],
                    values: plain[i],
                    power,
                    count,
                    curve,
                },
            )
        })
        .collect();
    let mut remarks = Vec::new();
    for (odd, remark) in odd {
        suspects.extend(odd);
        remarks.extend(remark);
    }
    let mut studied = Vec::new();
    for (i, (layer, values)) in group.layers.iter().zip(values).enumerate() {
        let (power, count) = tuned[i];
        let flat = flat(sites, &values, Some(&skills[i]));
        studied.push(Studied {
            layer,
            values,
            power,
            count,
            skill: Some(skills[i]),
            flat,
            curve: curves[i],
        });
    }
    (studied, remarks)
}

/// One value for the whole field, where the observations support no more than that.
///
/// A map is drawn where the lower end of the 90 % interval of its prediction efficiency is above zero. Own rule.
fn flat(sites: &Sites, values: &[f64], skill: Option<&Skill>) -> Option<Map> {
    let seen = || (0..sites.places()).map(|n| values[sites.source[sites.place(n)] as usize]);
    let (places, first) = (sites.places(), seen().next()?);
    let is_constant = seen().all(|value| value == first);
    let is_clear = skill
        .and_then(|skill| skill.efficiency_interval)
        .is_some_and(|(low, _)| low > 0.0);
    let why = if places < FEWEST_FOR_A_MAP {
        Flat::TooFew
    } else if is_constant {
        Flat::Constant
    } else if !is_clear {
        Flat::NoSkill
    } else {
        return None;
    };
    let n = places as f64;
    let value = if is_constant {
        first
    } else {
        seen().sum::<f64>() / n
    };
    // One place says nothing of how places differ.
    let standard_error = if places > 1 {
        (seen().map(|v| (v - value).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
    } else {
        f64::INFINITY
    };
    Some(Map::Flat {
        value,
        standard_error,
        why,
    })
}

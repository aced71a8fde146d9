//! What this stage has to say of a layer: no map, few cores, several cores at one place, skill by a part of the places.

use super::joined::{Group, Joined};
use super::left_out::LeftOut;
use super::neighbours::Neighbours;
use super::sites::Sites;
use super::standard_error;
use super::surfaces::{Flat, Map, Skill};
use super::{FEWEST_FOR_A_MAP, NO_MAP};
use crate::field::Field;
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::{fixed, significant};

/// From so many neighbours that a place does without on average on, the cores stand in clusters (own).
const CLUSTERED: f64 = 1.0;

/// Several observations at one place.
pub(super) fn coincident(field: &Field, group: &Group<'_>, sites: &Sites) -> Option<Remark> {
    let (observations, places) = sites.coincident();
    let part = group.layers.first().and_then(|layer| layer.parts.first())?;
    (places > 0).then(|| {
        let there = if places == 1 { "one place".to_owned() } else { format!("{places} places") };
        let what = format!("{observations} observations of {} share {there} with others: such a place has their mean", names(group));
        Remark::info("coincident-points", what)
            .at(Place::file(field.places[part.places].file.clone()))
            .help("if they are not repeats of one sample, mend their coordinates")
    })
}

fn names(group: &Group<'_>) -> String {
    let all: Vec<String> = group
        .layers
        .iter()
        .map(|layer| layer.key.to_string())
        .collect();
    match all.as_slice() {
        [first, _, .., last] => format!("{} layers ({first} to {last})", all.len()),
        few => few.join(" and "),
    }
}

/// Why a layer has no map, and how its skill was measured.
pub(super) fn of_layer(
    layer: &Joined<'_>,
    flat: Option<&Map>,
    skill: Option<&Skill>,
    sites: &Sites,
) -> Vec<Remark> {
    let mut remarks = Vec::new();
    let places = sites.places();
    let unit = layer.parts.first().map_or("", |part| &*part.unit);
    if let Some(Map::Flat { value, why, .. }) = flat {
        let key = layer.key;
        let value = format!("{} {unit}", significant(*value, 3))
            .trim_end()
            .to_owned();
        let one_value = format!("one value, {value}, stands for the whole field");
        remarks.extend(match why {
            Flat::TooFew => Some(
                Remark::warning(
                    "few-points",
                    format!("{places} cores are too few for a map of {key} (at least {FEWEST_FOR_A_MAP}): {one_value}"),
                )
                .help("take more cores, or treat the field as uniform in this"),
            ),
            Flat::NoSkill => Some(
                Remark::warning(NO_MAP, format!("these {places} cores do not support a map of {key}{}: {one_value}", measured(skill)))
                    .help("cores nearer together may show a pattern; until then one rate for the whole field is the honest answer"),
            ),
            Flat::Constant => None,
        });
    }
    if let Some(skill) = skill.filter(|skill| skill.n < places) {
        let error = fixed(100.0 / (2.0 * skill.n as f64).sqrt(), 1);
        let what = format!(
            "the skill of {} was measured at {} of {places} places, evenly spread: its error is known to about {error} %",
            layer.key, skill.n
        );
        remarks.push(Remark::info("skill-by-a-part", what));
    }
    remarks
}

fn measured(skill: Option<&Skill>) -> String {
    let Some(skill) = skill else {
        return String::new();
    };
    let percent = |share: f64| fixed(100.0 * share, 0);
    let chance = skill.p_value.map_or(String::new(), |p| {
        let share = if p >= 0.995 {
            "chance alone does as well".to_owned()
        } else {
            format!(
                "chance does as well in {} of 100 such fields",
                significant(100.0 * p, 2)
            )
        };
        format!("; {share}")
    });
    let side = if skill.efficiency < 0.0 {
        "worse"
    } else {
        "better"
    };
    format!(
        " (leave-one-out: {} % {side} than the field mean{chance})",
        percent(skill.efficiency.abs())
    )
}

/// Cores in clusters, and how much of the field lies far from any.
pub(super) fn clustered(
    field: &Field,
    group: &Group<'_>,
    neighbours: &Neighbours<'_>,
    left_out: &LeftOut,
) -> Option<Remark> {
    let part = group.layers.first().and_then(|layer| layer.parts.first())?;
    let sites = neighbours.sites();
    if sites.places() < FEWEST_FOR_A_MAP || left_out.mean_skip() < CLUSTERED {
        return None;
    }
    let ground = field.workable_m2 / sites.places() as f64;
    let cells = standard_error::distances(neighbours, &field.grid);
    let far = cells.iter().filter(|squared| **squared > ground).count();
    let share = fixed(100.0 * far as f64 / cells.len().max(1) as f64, 0);
    let what = format!(
        "the {} places of {} stand in clusters: {share} % of the field lies farther from any than even places would stand apart; \
         the skill is measured over such distances",
        sites.places(),
        names(group)
    );
    Some(
        Remark::info("clustered-points", what)
            .at(Place::file(field.places[part.places].file.clone())),
    )
}

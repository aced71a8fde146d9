//! Layers of one key are joined over all tables; layers that were measured at the very same places share one search.

use std::borrow::Cow;
use std::collections::BTreeMap;

use rayon::prelude::*;

use crate::analyte::LayerKey;
use crate::field::{Field, FieldLayer};

/// Observations per piece of parallel work.
const PIECE: usize = 1 << 16;

/// One layer with the observations of every table that carries it.
pub(super) struct Joined<'f> {
    /// What it is.
    pub key: &'f LayerKey,
    /// The tables' layers, in the order of the field.
    pub parts: Vec<&'f FieldLayer>,
    /// One value per observation of the group, NaN where there is none.
    pub values: Cow<'f, [f64]>,
}

/// Layers whose observations stand at the same places.
pub(super) struct Group<'f> {
    /// Metres east, one per observation.
    pub x: Cow<'f, [f64]>,
    /// Metres north, one per observation.
    pub y: Cow<'f, [f64]>,
    /// The layers, by rising key.
    pub layers: Vec<Joined<'f>>,
}

impl<'f> Group<'f> {
    /// Whether another layer has its results at the very same places.
    fn fits(&self, layer: &Joined<'f>) -> bool {
        self.layers.first().is_some_and(|first| {
            let same_tables = first
                .parts
                .iter()
                .map(|p| p.places)
                .eq(layer.parts.iter().map(|p| p.places));
            let alike = |(some, others): (&[f64], &[f64])| {
                some.iter()
                    .zip(others)
                    .all(|(a, b)| a.is_finite() == b.is_finite())
            };
            same_tables
                && first
                    .values
                    .par_chunks(PIECE)
                    .zip(layer.values.par_chunks(PIECE))
                    .all(alike)
        })
    }

    /// The observations that can be used, rising.
    pub(super) fn used(&self) -> Vec<u32> {
        (0..self.x.len() as u32)
            .into_par_iter()
            .filter(|&i| self.is_usable(i as usize))
            .collect()
    }

    /// Whether an observation can be used: it has a place and a result.
    pub(super) fn is_usable(&self, observation: usize) -> bool {
        let finite = |numbers: &[f64]| numbers.get(observation).is_some_and(|v| v.is_finite());
        finite(&self.x)
            && finite(&self.y)
            && self
                .layers
                .first()
                .is_some_and(|layer| finite(&layer.values))
    }
}

/// All layers of a field, grouped by the places of their results.
pub(super) fn join(field: &Field) -> Vec<Group<'_>> {
    let mut by_key: BTreeMap<&LayerKey, Vec<&FieldLayer>> = BTreeMap::new();
    for layer in field
        .layers
        .iter()
        .filter(|layer| layer.places < field.places.len())
    {
        by_key.entry(&layer.key).or_default().push(layer);
    }
    let mut groups: Vec<Group<'_>> = Vec::new();
    for (key, parts) in by_key {
        let values = side_by_side(parts.iter().map(|part| part.values.as_slice()));
        let layer = Joined { key, parts, values };
        if let Some(group) = groups.iter_mut().find(|group| group.fits(&layer)) {
            group.layers.push(layer);
        } else {
            let x = side_by_side(
                layer
                    .parts
                    .iter()
                    .map(|part| field.places[part.places].x.as_slice()),
            );
            let y = side_by_side(
                layer
                    .parts
                    .iter()
                    .map(|part| field.places[part.places].y.as_slice()),
            );
            groups.push(Group {
                x,
                y,
                layers: vec![layer],
            });
        }
    }
    groups
}

/// One slice after the other; a single one is only borrowed, since a sensor survey may hold millions.
fn side_by_side<'a>(mut slices: impl Iterator<Item = &'a [f64]>) -> Cow<'a, [f64]> {
    let first = slices.next().unwrap_or_default();
    let mut all = Cow::Borrowed(first);
    for slice in slices {
        all.to_mut().extend_from_slice(slice);
    }
    all
}

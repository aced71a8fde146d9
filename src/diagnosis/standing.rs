//! Which zone each core stands in, and what the cores of a zone read.

use rayon::prelude::*;

use crate::analyte::{Analyte, LayerKey};
use crate::field::{Field, FieldLayer};
use crate::zones::Zones;

/// No zone: the place lies outside the workable area.
pub(super) const NOWHERE: u16 = u16::MAX;

/// The zones of all places of all tables.
pub(super) struct Standing<'a> {
    pub field: &'a Field,
    of_place: Vec<Vec<u16>>,
}

/// A result of a core.
#[derive(Clone, Copy)]
pub(super) struct Core<'a> {
    pub layer: &'a FieldLayer,
    /// Position in the layer's values.
    pub at: usize,
    /// In the layer's unit.
    pub value: f64,
}

impl<'a> Standing<'a> {
    /// Of a field and its zones.
    pub fn new(field: &'a Field, zones: &Zones) -> Self {
        let mut raster = vec![NOWHERE; field.grid.columns * field.grid.rows];
        for (cell, zone) in field.grid.cells.iter().zip(&zones.of_cell) {
            if let Some(here) = raster.get_mut(*cell as usize) {
                *here = *zone;
            }
        }
        let zone = |x: f64, y: f64| {
            field
                .grid
                .cell_at(x, y)
                .and_then(|cell| raster.get(cell as usize))
                .copied()
                .unwrap_or(NOWHERE)
        };
        let of_table = |places: &crate::field::Places| {
            let pairs = places.x.par_iter().zip(&places.y);
            pairs.map(|(x, y)| zone(*x, *y)).collect()
        };
        Self {
            field,
            of_place: field.places.iter().map(of_table).collect(),
        }
    }

    /// The zone of each place of a table, [`NOWHERE`] outside.
    pub fn zones_of(&self, table: usize) -> &[u16] {
        self.of_place.get(table).map_or(&[], Vec::as_slice)
    }

    /// The columns of a layer.
    pub fn layers<'k>(
        &self,
        key: &'k LayerKey,
    ) -> impl Iterator<Item = &'a FieldLayer> + use<'a, 'k> {
        let layers = self.field.layers.iter();
        layers.filter(move |layer| layer.key == *key)
    }

    /// The results of a layer in a zone.
    pub fn cores(&self, key: &LayerKey, zone: usize) -> Vec<Core<'a>> {
        let mut found = Vec::new();
        for layer in self.layers(key) {
            let places = self.zones_of(layer.places).iter().zip(&layer.values);
            let here = places.enumerate().filter(|(_, (standing, value))| {
                usize::from(**standing) == zone && value.is_finite()
            });
            found.extend(here.map(|(at, (_, value))| Core {
                layer,
                at,
                value: *value,
            }));
        }
        found
    }

    /// The layers of cores, each once, in the order of their keys.
    pub fn keys_of_cores(&self) -> Vec<&'a LayerKey> {
        let is_of_cores = |layer: &&FieldLayer| {
            !matches!(
                layer.key.analyte,
                Analyte::ConeIndex | Analyte::Covariate(_)
            )
        };
        let layers = self.field.layers.iter().filter(is_of_cores);
        let mut keys: Vec<&LayerKey> = layers.map(|layer| &layer.key).collect();
        keys.sort();
        keys.dedup();
        keys
    }

    /// Where the results of a layer stand inside the field: metres east and north, and the zone.
    pub fn places(&self, key: &LayerKey) -> Vec<((f64, f64), usize)> {
        let mut found = Vec::new();
        for layer in self.layers(key) {
            let Some(places) = self.field.places.get(layer.places) else {
                continue;
            };
            let at = places.x.iter().zip(&places.y);
            let here = self.zones_of(layer.places).iter().zip(&layer.values);
            let used = at
                .zip(here)
                .filter(|(_, (zone, value))| **zone != NOWHERE && value.is_finite());
            found.extend(used.map(|((x, y), (zone, _))| ((*x, *y), usize::from(*zone))));
        }
        found
    }

    /// Where a core stands, metres east and north.
    pub fn place(&self, core: &Core<'_>) -> Option<(f64, f64)> {
        let places = self.field.places.get(core.layer.places)?;
        Some((*places.x.get(core.at)?, *places.y.get(core.at)?))
    }

    /// What a core is called: its name, else its row.
    pub fn name(&self, core: &Core<'_>) -> String {
        let places = self.field.places.get(core.layer.places);
        let id = places.and_then(|places| places.id.as_ref()?.get(core.at));
        let row = || places.and_then(|places| places.row.get(core.at)).copied();
        id.map_or_else(
            || format!("row {}", row().unwrap_or_default()),
            ToString::to_string,
        )
    }
}

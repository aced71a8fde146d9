//! A quick zoning of a few cells, for every count from one: good enough to compare counts by.

use super::components;
use super::halving;
use super::layers;
use super::standardise::Features;
use crate::plan::ZoneSettings;
use crate::surface::Surfaces;

/// Cells as the zoning sees them.
pub struct Sketch {
    features: Features,
}

impl Sketch {
    /// Of maps that are drawn on a few cells. `None` where no layer may shape the zones.
    #[must_use]
    pub fn of(surfaces: &Surfaces, settings: &ZoneSettings) -> Option<Self> {
        let layers = layers::choose(surfaces, settings, &mut Vec::new());
        let columns: Vec<(&[f32], f64)> = layers.iter().map(|l| (&*l.values, l.weight)).collect();
        let standardised = Features::standardised(&columns);
        if standardised.layers() == 0 {
            return None;
        }
        let features = if settings.components {
            components::principal(&standardised).0
        } else {
            standardised
        };
        Some(Self { features })
    }

    /// The zone of each cell for one zone, for two, and so on; fewer where fewer cells differ.
    #[must_use]
    pub fn parted(&self, most: usize) -> Vec<Vec<u8>> {
        halving::parted(&self.features, most)
    }
}

//! A quick zoning of a few cells, for every count from one: good enough to compare counts by.

use super::components;
use super::halving;
use super::layers;
use super::small_k_means::SmallTable;
use super::standardise::Features;
use super::tried_parts;
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

    /// The zone of each cell where k-means goes on from so many zones of the first cells, each of which has a cell. Where one of them would lose
    /// all its cells they stay as they are.
    #[must_use]
    pub fn settled(&self, labels: &[u8], count: usize) -> Vec<u8> {
        let cells = labels.iter().copied().enumerate();
        let centres = tried_parts::centres(&self.features, cells, count);
        let table = SmallTable::new(&self.features);
        table.settled(&centres).unwrap_or_else(|| {
            let mut nearest = table.nearest(&centres);
            nearest[..labels.len()].copy_from_slice(labels);
            nearest
        })
    }

    /// The zone of each cell for one zone, for two, and so on; fewer where fewer cells differ.
    #[must_use]
    pub fn parted(&self, most: usize) -> Vec<Vec<u8>> {
        halving::parted(&self.features, most)
    }
}

//! One cell by the plain way, for whatever the fast ways leave: ties, cells on a core, ill-spread observations.

use super::drawing::{Drawing, Part};
use super::neighbours::{Neighbour, Neighbours, sort_by_distance};
use super::standard_error::harmonic_squared;

/// Fills single cells.
pub(super) struct OneCell<'a> {
    neighbours: &'a Neighbours<'a>,
    drawing: &'a Drawing<'a>,
    found: Vec<Neighbour>,
    weights: Vec<f64>,
}

impl<'a> OneCell<'a> {
    /// For a drawing.
    pub(super) fn new(neighbours: &'a Neighbours<'a>, drawing: &'a Drawing<'a>) -> Self {
        Self {
            neighbours,
            drawing,
            found: Vec::new(),
            weights: Vec::new(),
        }
    }

    /// Writes all layers of one cell.
    #[cold]
    pub(super) fn fill(&mut self, x: f64, y: f64, slot: usize, parts: &mut [Part<'_>]) {
        self.neighbours
            .nearest(x, y, self.drawing.count, &mut self.found);
        self.write(slot, parts);
    }

    /// Writes all layers of one cell whose nearest sites are known, ties included.
    #[cold]
    pub(super) fn fill_from(
        &mut self,
        site: &[u32],
        squared: &[f64],
        slot: usize,
        parts: &mut [Part<'_>],
    ) {
        self.found.clear();
        self.found.extend(
            site.iter()
                .zip(squared)
                .map(|(&site, &squared)| Neighbour { squared, site }),
        );
        sort_by_distance(&mut self.found);
        self.write(slot, parts);
    }

    fn write(&mut self, slot: usize, parts: &mut [Part<'_>]) {
        let source = &self.neighbours.sites().source;
        self.drawing
            .power
            .weigh(&self.found, self.drawing.count, &mut self.weights);
        let all: f64 = self.weights.iter().sum();
        let harmonic = harmonic_squared(&self.found, self.drawing.count);
        for (part, layer) in parts.iter_mut().zip(&self.drawing.layers) {
            let sum: f64 = self
                .weights
                .iter()
                .zip(&self.found)
                .map(|(w, n)| w * layer.values[source[n.site as usize] as usize])
                .sum();
            part.values[slot] = (sum / all) as f32;
            part.standard_error[slot] = layer.curve.at(harmonic) as f32;
        }
    }
}

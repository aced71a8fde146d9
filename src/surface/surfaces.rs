use std::sync::Arc;

use serde::Serialize;

use super::logs::Logs;
use super::mean_error::MeanError;
use super::method::Method;

use crate::analyte::LayerKey;
use crate::field::Grid;
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::significant;

/// All surfaces, one per layer key, sorted by key.
#[derive(Debug, Clone)]
pub struct Surfaces {
    /// The surfaces.
    pub surfaces: Vec<Surface>,
    /// Cores that their neighbours contradict.
    pub odd_cores: Vec<OddCore>,
    /// What this stage has to say.
    pub remarks: Vec<Remark>,
}

/// A core that its neighbours contradict in one layer. It was kept.
#[derive(Debug, Clone, PartialEq)]
pub struct OddCore {
    /// The layer.
    pub key: LayerKey,
    /// Unit of the layer.
    pub unit: Arc<str>,
    /// What it is called.
    pub name: String,
    /// Where its value stands.
    pub place: Option<Place>,
    /// Metres east and north on the field's plane.
    pub at: (f64, f64),
    /// Its value.
    pub observed: f64,
    /// What its neighbours suggest.
    pub predicted: f64,
}

impl Surfaces {
    /// The surface of a key.
    #[must_use]
    pub fn get(&self, key: &LayerKey) -> Option<&Surface> {
        self.surfaces.iter().find(|s| s.key == *key)
    }
}

/// The map of one layer and how good it is.
#[derive(Debug, Clone)]
pub struct Surface {
    /// What it shows.
    pub key: LayerKey,
    /// Canonical unit.
    pub unit: Arc<str>,
    /// How its values are made.
    pub method: Method,
    /// The way back, where the map is made of logarithms: its values are skewed, and their intervals not symmetric.
    pub logs: Option<Logs>,
    /// Power of the inverse distance.
    pub power: f64,
    /// How many nearest observations; `None` where all were used.
    pub neighbours: Option<usize>,
    /// What leave-one-out says; `None` with fewer than three observations.
    pub skill: Option<Skill>,
    /// What the error of a mean follows from; `None` for layers with few places or very many.
    pub mean_error: Option<Arc<MeanError>>,
    /// The map.
    pub map: Map,
}

impl Surface {
    /// The same layer with another map.
    #[must_use]
    pub fn with_map(&self, map: Map) -> Self {
        Self {
            key: self.key.clone(),
            unit: Arc::clone(&self.unit),
            mean_error: None,
            map,
            ..*self
        }
    }

    /// How its values are made, in words: `"power 2, 12 neighbours"`.
    #[must_use]
    pub fn how(&self) -> String {
        let neighbours = self
            .neighbours
            .map_or_else(|| "all".to_owned(), |count| count.to_string());
        let power = significant(self.power, 3);
        let logs = self.logs.map_or("", |_| "logarithms, ");
        format!(
            "{logs}{}power {power}, {neighbours} neighbours",
            self.method
        )
    }

    /// Standard error of the mean over some cells (positions in `Grid::cells`), in the layer's unit: 1.645 times it is half a 90 %
    /// interval.
    ///
    /// It follows from how alike the values are by their distance and from where the cores stand ([`MeanError`]). Where that is
    /// not known (few places, or more than 400), and where cores stand in heaps and it gives the larger error, the ground that each core stands for (the field's cells shared out among the
    /// cores) has one error of its own, independent of the others: the uncertainty of a mean is that
    /// of one cell over the square root of the number of such pieces in it, and never less than over the square root of all cores. A
    /// layer with one value for the whole field may differ from it in each piece, and its mean is known from all cores only. Of a layer that is
    /// worked in logarithms the mean error of the cells counts, times the share that is left of it in a mean.
    /// Without cells, or without a measure of standard error, it is infinite.
    ///
    /// # Source
    /// Own; held to the simulation study of `examples/map_gate.rs`.
    #[must_use]
    pub fn mean_standard_error(&self, grid: &Grid, cells: &[usize]) -> f64 {
        let by_pieces = || self.by_pieces(grid, cells);
        let Some(known) = &self.mean_error else {
            return by_pieces();
        };
        if self.logs.is_some() {
            return self.by_cells(known, grid, cells);
        }
        let error = known.of(grid, cells).unwrap_or(f64::INFINITY);
        if known.is_clustered {
            error.max(by_pieces())
        } else {
            error
        }
    }

    /// Of a layer that is worked in logarithms: its errors are as large as its values, so the error of the whole field says nothing of a
    /// part. The mean error of the cells counts, times what is left of the error of one cell when many are averaged.
    fn by_cells(&self, known: &MeanError, grid: &Grid, cells: &[usize]) -> f64 {
        let Map::Drawn { standard_error, .. } = &self.map else {
            return known.of(grid, cells).unwrap_or(f64::INFINITY);
        };
        let (mut part, mut errors) = (0.0, 0.0);
        for &slot in cells {
            let share = grid.share.get(slot).map_or(0.0, |share| f64::from(*share));
            part += share;
            errors += share
                * standard_error
                    .get(slot)
                    .map_or(f64::INFINITY, |e| f64::from(*e));
        }
        match known.share_left(grid, cells) {
            Some(left) if part > 0.0 => errors / part * left,
            _ => f64::INFINITY,
        }
    }

    fn by_pieces(&self, grid: &Grid, cells: &[usize]) -> f64 {
        let cores = self.skill.map_or(1.0, |skill| skill.n as f64);
        let field = sum(&grid.share);
        let (mut part, mut squares) = (0.0, 0.0);
        for &slot in cells {
            let share = grid.share.get(slot).map_or(0.0, |share| f64::from(*share));
            part += share;
            if let Map::Drawn { standard_error, .. } = &self.map {
                squares += share
                    * f64::from(standard_error.get(slot).copied().unwrap_or(f32::INFINITY)).powi(2);
            }
        }
        if part <= 0.0 {
            return f64::INFINITY;
        }
        let pieces = (cores * part / field).max(1.0);
        match &self.map {
            Map::Drawn { .. } => (squares / part / pieces).sqrt(),
            Map::Flat { standard_error, .. } => {
                standard_error * (1.0 / pieces + 1.0 / cores).sqrt().min(1.0)
            }
        }
    }
}

/// Sum in eight interleaved lanes: always the same order, and faster than one chain of additions.
fn sum(shares: &[f32]) -> f64 {
    let mut lanes = [0.0_f64; 8];
    let (eights, rest) = shares.as_chunks::<8>();
    for eight in eights {
        for (lane, &share) in lanes.iter_mut().zip(eight) {
            *lane += f64::from(share);
        }
    }
    lanes.iter().sum::<f64>() + rest.iter().map(|&share| f64::from(share)).sum::<f64>()
}

/// The map of a layer.
#[derive(Debug, Clone)]
pub enum Map {
    /// A value and a uncertainty (standard error, same unit) per cell, in the order of `Grid::cells`.
    Drawn {
        /// Values.
        values: Vec<f32>,
        /// Standard errors.
        standard_error: Vec<f32>,
    },
    /// One value for the whole field: the observations do not support a map.
    Flat {
        /// Mean of the observations.
        value: f64,
        /// Standard deviation of the observations: what one place may differ from the mean.
        standard_error: f64,
        /// Why no map is drawn.
        why: Flat,
    },
}

/// Why a layer has one value for the whole field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Flat {
    /// Too few observations to tell.
    TooFew,
    /// All observations are equal.
    Constant,
    /// Leave-one-out does not find the map clearly better than the mean.
    NoSkill,
}

/// What leave-one-out says of a map. Errors are predicted minus observed, in the layer's unit. Each place is predicted from
/// neighbours as far off as the map's cells are from theirs (nearest neighbour distance matching); where cores stand evenly that
/// is from all the others.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Skill {
    /// Observations left out one by one.
    pub n: usize,
    /// Root mean square error.
    pub rmse: f64,
    /// Mean error (bias).
    pub mean_error: f64,
    /// Root mean square error when each observation is predicted by the mean of the others.
    pub baseline_rmse: f64,
    /// Prediction efficiency, 1 - MSE / MSE of the mean of the others; 1 is perfect, 0 no better than the mean.
    pub efficiency: f64,
    /// The same by plain leave-one-out, each place from all the others: too good where cores stand in clusters.
    pub plain: PlainSkill,
    /// 90 % interval of the efficiency (seeded bootstrap), where it was computed.
    pub efficiency_interval: Option<(f64, f64)>,
    /// How often chance alone does as well: values shuffled over the places and tuned anew, corrected for the number of
    /// layers (Holm); where it was computed.
    pub p_value: Option<f64>,
    /// Moran's I of the observations, where it was computed.
    pub morans_i: Option<f64>,
}

/// Plain leave-one-out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PlainSkill {
    /// Root mean square error.
    pub rmse: f64,
    /// Mean error (bias).
    pub mean_error: f64,
    /// Prediction efficiency.
    pub efficiency: f64,
}

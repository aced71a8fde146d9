//! Zonings on trial: cores are left out in folds of neighbours, maps and zones are made without them, and each core that was left
//! out says what its zone's treatment would have cost there.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;

use super::agreement::{LEAST_AGREEMENT, adjusted_rand};
use super::folds::{folds, tenths};
use super::loss::{Given, Weights};
use super::usual_prices::UsualPrices;
use super::{Carry, cores, needs, small_field};
use crate::field::{Field, Grid};
use crate::order_statistics::interquartile_mean;
use crate::plan::{FixedOrAuto, Settings};
use crate::rulebook::Rulebook;
use crate::surface::{LeftOutFold, Map, Redrawing, Surface, Surfaces};
use crate::zones::{Sketch, Zones};

/// Fewest cores that say anything of a zoning.
const FEWEST: usize = 4;
/// Most zones that are tried: more than eight rates in a field are hard to explain to anyone (own).
const MOST_ZONES: usize = 8;

/// Cells around a core that are treated as it is (own: of 72 moves by a metre 9 changed the count with none, 5 with four, 6 with eight).
const AROUND: usize = 4;

/// Counts, one zone among them, that are looked at before a map counts as one that changes nothing.
const LOOKED_AT: usize = 4;

/// A field on trial.
pub(super) struct Bench {
    /// Without overrides, budget and scarce stock: what each place asks for.
    pub settings: Settings,
    /// The field in small.
    pub small: Field,
    /// Position of each of its cells in the field's own grid.
    pub slots: Vec<usize>,
    /// The cores.
    pub cores: Vec<(f64, f64)>,
    /// The small field's cells around each, which are treated as it is: a line that passes by a metre to its left or right does not decide
    /// alone what it loses.
    around: Vec<Vec<usize>>,
    /// The fold of each.
    pub fold: Vec<usize>,
    /// What each asks for.
    pub own: Vec<Given>,
    /// Maps of the small field without each fold.
    pub without: Vec<Surfaces>,
    /// The same as the zoning sees them, with the cores of the fold behind the cells; none where no layer may shape zones.
    sketches: Vec<Option<Sketch>>,
    /// Some of the field's cells as the zoning sees them without a tenth of the cores, twenty times; none where no layer may shape zones.
    jackknifed: Vec<Sketch>,
    /// What counts beside the price of what is too much.
    pub weights: Weights,
    prices: UsualPrices,
    whole: Surfaces,
    /// Every other cell of the small field, which is enough to see whether lines move.
    every_other: Vec<usize>,
    /// The same as the zoning sees them with all cores.
    thinned: Option<Sketch>,
}

/// Zonings of the whole field that are tried, by the cells of the small field.
#[derive(Debug, Clone)]
pub(super) struct Parting {
    /// How many zones.
    pub count: usize,
    /// The zone of each cell.
    pub labels: Vec<u8>,
}

/// A loss by name of product or work, USD/ha.
type LossByName = BTreeMap<String, f64>;

/// Losses of the cores that were left out, USD/ha.
#[derive(Debug, Clone)]
pub(super) struct Losses {
    /// How many zones.
    pub count: usize,
    /// By core.
    pub total: Vec<f64>,
    /// By name of product or work, by core.
    pub by_name: BTreeMap<String, Vec<f64>>,
    /// Interquartile mean of the adjusted Rand index of the zones without a tenth of the cores and those of the whole field.
    pub stability: f64,
}

impl Bench {
    /// `None` where there is nothing to hold a zoning against.
    ///
    /// # Errors
    /// What `carry` gives where a treatment cannot be calculated.
    pub fn new<E: Send>(
        field: &Field,
        surfaces: &Surfaces,
        settings: &Settings,
        rulebook: &Rulebook,
        carry: &Carry<'_, E>,
    ) -> Result<Option<Self>, E> {
        let cores = cores::of(field);
        let is_drawn = |surface: &Surface| matches!(surface.map, Map::Drawn { .. });
        if cores.len() < FEWEST || !surfaces.surfaces.iter().any(is_drawn) {
            return Ok(None);
        }
        let settings = needs::alone(settings);
        let (grid, slots) = small_field::coarse(field, &cores);
        let centre = |cell: &u32| grid.centre(*cell);
        let centres: Vec<(f64, f64)> = grid.cells.iter().map(centre).collect();
        let targets: Vec<(f64, f64)> = centres.iter().chain(&cores).copied().collect();
        let small = small_field::on_grid(field, grid);
        let fold = folds(&cores);
        let tenths = tenths(&cores);
        let partings = [&fold, &tenths[0], &tenths[1]];
        let redrawing = surfaces.redrawing(field, targets, &|at| {
            let core = nearest(&cores, at);
            partings.iter().map(|parting| parting[core]).collect()
        });
        let (without, sketches) = without_folds(&redrawing, &fold, slots.len(), &settings);
        let every_other = every_other(&small.grid);
        let jackknifed = jackknifed(&redrawing, &partings[1..], &every_other, &settings);
        let all: Vec<usize> = (0..slots.len()).collect();
        let (of_cores, own_surfaces, zones) = small_field::of_cores(field, surfaces, &cores);
        let (diagnosis, prescription) = carry(&settings, &of_cores, &own_surfaces, &zones)?;
        let prices = UsualPrices::new(rulebook);
        Ok(Some(Self {
            own: Given::by_zone(&diagnosis, &prescription, cores.len(), &prices),
            whole: redrawing.with_all(&all),
            thinned: Sketch::of(&redrawing.with_all(&every_other), &settings.zones),
            every_other,
            settings,
            small,
            slots,
            around: around(&cores, &centres),
            cores,
            fold,
            without,
            sketches,
            jackknifed,
            weights: Weights::new(&rulebook.numbers),
            prices,
        }))
    }

    /// The zonings that are tried: those that are drawn already, beside one zone; else one zone, two, and so on.
    pub fn partings(&self, room: usize, drawn: Option<&Zones>) -> Vec<Parting> {
        let one = Parting {
            count: 1,
            labels: vec![0; self.slots.len()],
        };
        let sketch = Sketch::of(&self.whole, &self.settings.zones);
        match (drawn, sketch) {
            (Some(drawn), Some(_)) => {
                let zones: Vec<u16> = self.slots.iter().map(|slot| drawn.of_cell[*slot]).collect();
                // A zone may be so small that none of the small field's cells lies in it.
                let seen: BTreeSet<u16> = zones.iter().copied().collect();
                let seen: Vec<u16> = seen.into_iter().collect();
                let label = |zone: &u16| seen.binary_search(zone).unwrap_or_default() as u8;
                let drawn = Parting {
                    count: seen.len(),
                    labels: zones.iter().map(label).collect(),
                };
                if drawn.count > 1 {
                    vec![one, drawn]
                } else {
                    vec![one]
                }
            }
            (None, Some(sketch)) => {
                let parts = sketch.parted(MOST_ZONES.min(room).max(1)).into_iter();
                let parting = |(at, labels)| Parting {
                    count: at + 1,
                    labels,
                };
                parts.enumerate().map(parting).collect()
            }
            _ => vec![one],
        }
    }

    /// The losses of each zoning that is tried. Where the plan fixes the count, that one and one zone are; else more and more until that
    /// no longer helps.
    ///
    /// # Errors
    /// What `carry` gives where a treatment cannot be calculated.
    pub fn losses<E: Send>(
        &self,
        partings: &[Parting],
        carry: &Carry<'_, E>,
    ) -> Result<Vec<Losses>, E> {
        let is_fixed = self.settings.zones.count != FixedOrAuto::Auto;
        let stability = self.stability(partings);
        let is_wanted = |at: usize| at == 0 || is_fixed || stability[at] >= LEAST_AGREEMENT;
        // Zones that move are not chosen, so what they save is not worth the work.
        let last = (0..partings.len()).rfind(|at| is_wanted(*at)).unwrap_or(0);
        let held_out = |fold: usize| self.fold.iter().filter(|own| **own == fold).count();
        let by_fold: Vec<Vec<Vec<u8>>> = self
            .sketches
            .par_iter()
            .enumerate()
            .map(|(fold, sketch)| match sketch {
                Some(sketch) => self.parted(sketch, &partings[..=last]),
                None => vec![vec![0; self.slots.len() + held_out(fold)]],
            })
            .collect();
        let mut tried: Vec<Losses> = Vec::new();
        for (at, parting) in partings.iter().enumerate().filter(|(at, _)| is_wanted(*at)) {
            let labels: Option<Vec<&Vec<u8>>> = by_fold.iter().map(|parts| parts.get(at)).collect();
            let Some(labels) = labels else { break };
            tried.push(self.tried(parting.count, &labels, stability[at], carry)?);
            if !is_fixed && is_idle(&tried) {
                break;
            }
        }
        Ok(tried)
    }

    /// The zonings of some cells that stand for these of the whole field. Zones that the plan fixes are looked for from where they lie.
    fn parted(&self, sketch: &Sketch, partings: &[Parting]) -> Vec<Vec<u8>> {
        if self.settings.zones.count == FixedOrAuto::Auto {
            return sketch.parted(partings.len());
        }
        let settled = |parting: &Parting| sketch.settled(&parting.labels, parting.count);
        partings.iter().map(settled).collect()
    }

    /// For each zoning the interquartile mean of the adjusted Rand index of the zones without a tenth of the cores and those with all. Where
    /// the cores leave a choice between two zonings, the index is high for some tenths and low for the others, and a median would jump from
    /// one to the other with a core that moves by a metre.
    fn stability(&self, partings: &[Parting]) -> Vec<f64> {
        let thinned = |parting: &Parting| Parting {
            count: parting.count,
            labels: self
                .every_other
                .iter()
                .map(|cell| parting.labels[*cell])
                .collect(),
        };
        let partings: Vec<Parting> = partings.iter().map(thinned).collect();
        let parted = |sketch: &Sketch| self.parted(sketch, &partings);
        let whole = self.thinned.as_ref().map(parted).unwrap_or_default();
        let without: Vec<Vec<Vec<u8>>> = self.jackknifed.par_iter().map(parted).collect();
        let of_zoning = |at: usize| {
            let whole = whole.get(at)?;
            let labels = without.iter().filter_map(|parts| parts.get(at));
            let mut all: Vec<f64> = labels.map(|labels| adjusted_rand(whole, labels)).collect();
            interquartile_mean(&mut all)
        };
        // One zone cannot move; of zones that cannot be compared with any, nothing is known.
        let unknown = |at: usize| if at == 0 { 1.0 } else { 0.0 };
        (0..partings.len())
            .map(|at| of_zoning(at).unwrap_or_else(|| unknown(at)))
            .collect()
    }

    fn tried<E: Send>(
        &self,
        count: usize,
        labels: &[&Vec<u8>],
        stability: f64,
        carry: &Carry<'_, E>,
    ) -> Result<Losses, E> {
        let of_fold = |(left_out, labels): (usize, &&Vec<u8>)| -> Result<_, E> {
            let (cells, held_out) = labels.split_at(self.slots.len());
            let zones = |labels: &[u8]| labels.iter().map(|l| u16::from(*l)).collect();
            let made = small_field::zones(zones(cells), count, &self.small);
            let given = self.given(left_out, &made, carry)?;
            let cores = (0..self.fold.len()).filter(|core| self.fold[*core] == left_out);
            let losses = |(core, zone): (usize, &u8)| {
                let around = self.around[core].iter().map(|cell| cells[*cell]);
                self.mean_loss(core, &given, std::iter::once(*zone).chain(around))
            };
            Ok(cores.zip(held_out).map(losses).collect())
        };
        let by_fold: Result<Vec<Vec<LossByName>>, E> =
            labels.par_iter().enumerate().map(of_fold).collect();
        let mut by_fold: Vec<_> = by_fold?.into_iter().map(Vec::into_iter).collect();
        let mut made = Losses {
            count,
            total: Vec::with_capacity(self.cores.len()),
            by_name: BTreeMap::new(),
            stability,
        };
        for (core, fold) in self.fold.iter().enumerate() {
            let losses = by_fold[*fold].next().unwrap_or_default();
            made.total.push(losses.values().sum());
            for (name, loss) in losses {
                let cores = made
                    .by_name
                    .entry(name)
                    .or_insert_with(|| vec![0.0; self.cores.len()]);
                cores[core] = loss;
            }
        }
        Ok(made)
    }

    /// What the treatments of some zones cost a core in the mean, by name.
    fn mean_loss(
        &self,
        core: usize,
        given: &[Given],
        zones: impl Iterator<Item = u8>,
    ) -> LossByName {
        let mut shares: BTreeMap<u8, f64> = BTreeMap::new();
        for zone in zones {
            *shares.entry(zone).or_default() += 1.0;
        }
        let all: f64 = shares.values().sum();
        let mut mean = LossByName::new();
        for (zone, share) in shares {
            let losses = given[usize::from(zone)].losses(&self.own[core], self.weights);
            for (name, loss) in losses {
                *mean.entry(name).or_default() += loss * share / all;
            }
        }
        mean
    }

    /// What each of some zones of the small field gets where a fold was left out.
    ///
    /// # Errors
    /// What `carry` gives where a treatment cannot be calculated.
    pub fn given<E: Send>(
        &self,
        left_out: usize,
        zones: &Zones,
        carry: &Carry<'_, E>,
    ) -> Result<Vec<Given>, E> {
        let surfaces = &self.without[left_out];
        let (diagnosis, prescription) = carry(&self.settings, &self.small, surfaces, zones)?;
        let count = zones.zones.len();
        Ok(Given::by_zone(
            &diagnosis,
            &prescription,
            count,
            &self.prices,
        ))
    }
}

/// Whether the first counts beyond one leave every core with what one zone gives it: then the maps change nothing.
fn is_idle(tried: &[Losses]) -> bool {
    tried.len() == LOOKED_AT && tried.iter().all(|losses| losses.total == tried[0].total)
}

/// The first cells without each fold of the first parting, and the same as the zoning sees them, with the cores of the fold behind them.
fn without_folds(
    redrawing: &Redrawing<'_>,
    fold: &[usize],
    cells: usize,
    settings: &Settings,
) -> (Vec<Surfaces>, Vec<Option<Sketch>>) {
    let without = parts_of(fold).into_par_iter().map(|left_out| {
        let held_out = (0..fold.len()).filter(|core| fold[*core] == left_out);
        let rows: Vec<usize> = (0..cells)
            .chain(held_out.map(|core| cells + core))
            .collect();
        let left_out = LeftOutFold {
            parting: 0,
            fold: left_out,
        };
        let mut all = redrawing.without(left_out, &rows);
        let sketch = Sketch::of(&all, &settings.zones);
        cut(&mut all, cells);
        (all, sketch)
    });
    without.unzip()
}

/// Some of the first cells as the zoning sees them without each tenth of the cores, in each parting but the first.
fn jackknifed(
    redrawing: &Redrawing<'_>,
    partings: &[&Vec<usize>],
    cells: &[usize],
    settings: &Settings,
) -> Vec<Sketch> {
    let tenths = |(at, parting): (usize, &&Vec<usize>)| {
        let parting_of = at + 1;
        parts_of(parting).map(move |fold| LeftOutFold {
            parting: parting_of,
            fold,
        })
    };
    let tenths: Vec<LeftOutFold> = partings.iter().enumerate().flat_map(tenths).collect();
    tenths
        .into_par_iter()
        .filter_map(|tenth| Sketch::of(&redrawing.without(tenth, cells), &settings.zones))
        .collect()
}

/// Every other cell of a grid, as the squares of one colour on a chessboard: enough to see whether lines move (own).
fn every_other(grid: &Grid) -> Vec<usize> {
    let is_one_of_them = |cell: &u32| {
        let cell = *cell as usize;
        (cell / grid.columns + cell % grid.columns).is_multiple_of(2)
    };
    (0..grid.cells.len())
        .filter(|at| is_one_of_them(&grid.cells[*at]))
        .collect()
}

/// Numbers of the parts that places fall into.
fn parts_of(parting: &[usize]) -> std::ops::Range<usize> {
    0..parting.iter().max().map_or(0, |last| last + 1)
}

/// The cells nearest to each core, by their centres.
fn around(cores: &[(f64, f64)], centres: &[(f64, f64)]) -> Vec<Vec<usize>> {
    let of_core = |core: &(f64, f64)| {
        let mut off: Vec<(f64, usize)> = centres
            .iter()
            .enumerate()
            .map(|(cell, centre)| (squared_distance(*centre, *core), cell))
            .collect();
        off.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        off.into_iter().take(AROUND).map(|(_, cell)| cell).collect()
    };
    cores.iter().map(of_core).collect()
}

fn nearest(cores: &[(f64, f64)], at: (f64, f64)) -> usize {
    let off = |core: usize| squared_distance(cores[core], at);
    (0..cores.len())
        .min_by(|&a, &b| off(a).total_cmp(&off(b)))
        .unwrap_or(0)
}

fn squared_distance(a: (f64, f64), b: (f64, f64)) -> f64 {
    (a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)
}

/// The first cells of drawn maps alone.
fn cut(surfaces: &mut Surfaces, cells: usize) {
    for surface in &mut surfaces.surfaces {
        if let Map::Drawn {
            values,
            standard_error,
        } = &mut surface.map
        {
            values.truncate(cells);
            standard_error.truncate(cells);
        }
    }
}

//! What the zones that are left are worth: in all, product by product, line by line, and how often a rate is wrong inside a zone.

use rayon::prelude::*;

use super::cross_validation::{Bench, Losses};
use super::folds::closed_up;
use super::loss::Given;
use super::saving::Saving;
use super::worth::{LineWorth, ProductWorth, RateDoubt, Worth};
use super::{Carry, Chosen, small_field, treatment};
use crate::units::{MoneyPerArea, UnitSystem};

/// Zones on trial with what was found.
pub(super) struct Pricing<'a> {
    pub bench: &'a Bench,
    /// Losses with one zone.
    pub one: &'a Losses,
    /// Losses with the counts that are chosen without each core's fold.
    pub chosen: &'a Losses,
    pub zones: &'a Chosen,
}

impl Pricing<'_> {
    /// Fills in what the zones are worth.
    ///
    /// # Errors
    /// What `carry` gives where a treatment cannot be calculated.
    pub fn price<E: Send>(&self, worth: &mut Worth, carry: &Carry<'_, E>) -> Result<(), E> {
        let count = self.zones.zones.zones.len();
        worth.saved = (count > 1).then(|| self.saving(&self.one.total, &self.chosen.total));
        worth.products = self.products();
        let of_cell: Vec<u16> = self
            .bench
            .slots
            .iter()
            .map(|slot| self.zones.zones.of_cell[*slot])
            .collect();
        let apart = self.given_at_cores(&of_cell, count, carry)?;
        worth.doubts = self.doubts(&apart);
        let pairs = treatment::neighbours(&self.bench.small.grid, &of_cell);
        for (a, b) in pairs {
            worth.lines.extend(self.line((a, b), &apart));
        }
        worth.lines.sort_by_key(|line| line.between);
        Ok(())
    }

    fn saving(&self, one: &[f64], chosen: &[f64]) -> Saving {
        let saved: Vec<f64> = one.iter().zip(chosen).map(|(one, own)| one - own).collect();
        Saving::of(&saved, &self.bench.fold)
    }

    fn products(&self) -> Vec<ProductWorth> {
        let prescription = &self.zones.prescription;
        let nothing = vec![0.0; self.bench.cores.len()];
        let products = prescription.products.iter().enumerate();
        products
            .map(|(at, product)| {
                let amounts = || {
                    let rates = prescription
                        .zones
                        .iter()
                        .filter_map(|zone| zone.rates.get(at));
                    rates.map(|rate| rate.amount.number_in(UnitSystem::Metric))
                };
                let is_varied = amounts().any(|a| amounts().any(|b| a != b));
                let of = |losses: &Losses| {
                    losses
                        .by_name
                        .get(product.name.as_str())
                        .unwrap_or(&nothing)
                        .clone()
                };
                ProductWorth {
                    product: product.name.to_string(),
                    label: product.label.clone(),
                    is_varied,
                    saved: is_varied.then(|| self.saving(&of(self.one), &of(self.chosen))),
                }
            })
            .collect()
    }

    /// The zone of each core, and what each zone would get with the core's fold left out.
    fn given_at_cores<E: Send>(
        &self,
        of_cell: &[u16],
        count: usize,
        carry: &Carry<'_, E>,
    ) -> Result<Vec<(usize, Vec<Given>)>, E> {
        let zones = small_field::zones(of_cell.to_vec(), count, &self.bench.small);
        let folds = self.bench.without.len();
        let by_fold: Result<Vec<Vec<Given>>, E> = (0..folds)
            .into_par_iter()
            .map(|left_out| self.bench.given(left_out, &zones, carry))
            .collect();
        let by_fold = by_fold?;
        let grid = &self.bench.small.grid;
        let of_core = |(core, fold): (&(f64, f64), &usize)| {
            let near = |slot: &usize| {
                let (x, y) = grid.centre(grid.cells[*slot]);
                (x - core.0).powi(2) + (y - core.1).powi(2)
            };
            let slot = (0..of_cell.len()).min_by(|a, b| near(a).total_cmp(&near(b)));
            let zone = slot.map_or(0, |slot| usize::from(of_cell[slot]));
            (zone, by_fold[*fold].clone())
        };
        Ok(self
            .bench
            .cores
            .iter()
            .zip(&self.bench.fold)
            .map(of_core)
            .collect())
    }

    fn number(&self, zone: usize) -> u32 {
        let mut zones = self.zones.diagnosis.zones.iter();
        zones
            .find(|own| own.zone == zone)
            .map_or(0, |own| own.number)
    }

    fn doubts(&self, apart: &[(usize, Vec<Given>)]) -> Vec<RateDoubt> {
        let mut doubts = Vec::new();
        for zone in &self.zones.prescription.zones {
            for product in &self.zones.prescription.products {
                let of_zone = || {
                    apart
                        .iter()
                        .zip(&self.bench.own)
                        .filter(|((z, _), _)| *z == zone.zone)
                };
                let off = of_zone().filter(|((_, given), own)| {
                    given[zone.zone].is_off(own, product.name.as_str())
                });
                doubts.push(RateDoubt {
                    zone: zone.number,
                    product: product.name.to_string(),
                    cores: of_zone().count(),
                    off: off.count(),
                });
            }
        }
        doubts
    }

    /// What two zones would lose as one, with rates between the two.
    fn line(&self, (a, b): (usize, usize), apart: &[(usize, Vec<Given>)]) -> Option<LineWorth> {
        let area = |zone: usize| {
            self.zones
                .zones
                .zones
                .get(zone)
                .map_or(0.0, |zone| zone.area_m2)
        };
        let part = area(a) / (area(a) + area(b)).max(f64::MIN_POSITIVE);
        let (mut saved, mut fold) = (Vec::new(), Vec::new());
        for (core, (zone, given)) in apart.iter().enumerate() {
            if *zone == a || *zone == b {
                let sum = |given: &Given| -> f64 {
                    let own = &self.bench.own[core];
                    given.losses(own, self.bench.weights).values().sum()
                };
                saved.push(sum(&given[a].between(&given[b], part)) - sum(&given[*zone]));
                fold.push(self.bench.fold[core]);
            }
        }
        if saved.is_empty() {
            return None;
        }
        let saving = Saving::of(&saved, &closed_up(&fold));
        let hectares = (area(a) + area(b)) / 10_000.0;
        let dollars = |money: MoneyPerArea| money.dollars_per_hectare() * hectares;
        let (one, other) = (self.number(a), self.number(b));
        Some(LineWorth {
            between: (one.min(other), one.max(other)),
            dollars: dollars(saving.mean),
            interval: (dollars(saving.interval.0), dollars(saving.interval.1)),
            cores: saved.len(),
        })
    }
}

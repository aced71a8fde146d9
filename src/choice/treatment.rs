//! What is done in a zone, and which neighbours are treated alike.

use std::collections::BTreeSet;

use crate::diagnosis::Diagnosis;
use crate::field::Grid;
use crate::rates::{Prescription, ZoneRates};
use crate::rulebook::Rulebook;
use crate::units::UnitSystem;
use crate::zones::Zones;

/// Rates nearer than this share of the controller's step are one rate.
const ONE_RATE: f64 = 0.999;

/// New index of each zone where neighbours with the same treatment are one; `None` where no two neighbours are.
pub(super) fn alike(
    grid: &Grid,
    zones: &Zones,
    diagnosis: &Diagnosis,
    prescription: &Prescription,
) -> Option<Vec<u16>> {
    let treated: Vec<Option<Treatment<'_>>> = (0..zones.zones.len())
        .map(|zone| Treatment::of(zone, diagnosis, prescription))
        .collect();
    let mut group: Vec<usize> = (0..treated.len()).collect();
    for (a, b) in neighbours(grid, &zones.of_cell) {
        if let (Some(one), Some(other)) = (&treated[a], &treated[b])
            && one.is_like(other, prescription)
        {
            let (keep, give) = (group[a].min(group[b]), group[a].max(group[b]));
            for member in &mut group {
                if *member == give {
                    *member = keep;
                }
            }
        }
    }
    let kept: BTreeSet<usize> = group.iter().copied().collect();
    if kept.len() == group.len() {
        return None;
    }
    let place = |of: &usize| kept.iter().position(|kept| kept == of).unwrap_or(0) as u16;
    Some(group.iter().map(place).collect())
}

/// Pairs of zones whose cells touch along a side.
pub(super) fn neighbours(grid: &Grid, of_cell: &[u16]) -> BTreeSet<(usize, usize)> {
    let mut pairs = BTreeSet::new();
    for (slot, (&cell, &zone)) in grid.cells.iter().zip(of_cell).enumerate() {
        let east = !(cell as usize + 1).is_multiple_of(grid.columns);
        let beside = grid
            .cells
            .get(slot + 1)
            .filter(|next| east && **next == cell + 1);
        let next = beside.map(|_| slot + 1);
        let below = grid.slot(cell + grid.columns as u32);
        for other in [next, below].into_iter().flatten() {
            let other = of_cell[other];
            if other != zone {
                pairs.insert((zone.min(other) as usize, zone.max(other) as usize));
            }
        }
    }
    pairs
}

/// What is done in a zone.
struct Treatment<'a> {
    rates: &'a ZoneRates,
    /// Products that a finding holds back.
    held_back: BTreeSet<&'a str>,
    /// The first order, and whether the budget leaves it in.
    first: Option<(&'a str, bool)>,
}

impl<'a> Treatment<'a> {
    fn of(zone: usize, diagnosis: &'a Diagnosis, prescription: &'a Prescription) -> Option<Self> {
        let rates = prescription.zones.iter().find(|own| own.zone == zone)?;
        let found = diagnosis.zones.iter().find(|own| own.zone == zone)?;
        let names = prescription
            .products
            .iter()
            .map(|product| product.name.as_str())
            .chain([Rulebook::SALT_CARRYING]);
        let is_held = |name: &&str| found.findings.iter().any(|f| f.closes_product(name));
        Some(Self {
            rates,
            held_back: names.filter(is_held).collect(),
            first: rates
                .fixes
                .first()
                .map(|fix| (fix.name.as_str(), fix.left_out)),
        })
    }

    fn is_like(&self, other: &Self, prescription: &Prescription) -> bool {
        let system = UnitSystem::Metric;
        let pairs = self.rates.rates.iter().zip(&other.rates.rates);
        self.held_back == other.held_back
            && self.first == other.first
            && pairs.zip(&prescription.products).all(|((a, b), product)| {
                let off = a.amount.number_in(system) - b.amount.number_in(system);
                off.abs() < ONE_RATE * product.step.number_in(system)
                    && a.amount.is_zero() == b.amount.is_zero()
                    && a.seasons_after == b.seasons_after
            })
    }
}

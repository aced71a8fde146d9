//! The stages' values as the writers need it: zones joined by number, products as columns, to be audited once.

use super::columns::{RateColumn, rate_columns};
use super::degrees::parts;
use super::pieces::{Piece, pieces};
use super::zone_view::ZoneView;
use super::{DeliverError, StageValues};
use crate::units::UnitSystem;

/// All zones by rising number, and the products.
#[derive(Debug)]
pub struct Overview<'a> {
    /// The values of all stages.
    pub stages: &'a StageValues<'a>,
    /// Units that are printed.
    pub units: UnitSystem,
    /// Zones by rising number.
    pub zones: Vec<ZoneView<'a>>,
    /// Products in the order of the output columns.
    pub columns: Vec<RateColumn<'a>>,
    /// The zones without their check strips, then the strips.
    pub pieces: Vec<Piece<'a>>,
}

impl<'a> Overview<'a> {
    /// Joins the stages' values.
    ///
    /// # Errors
    /// Where they do not fit together: numbers out of order, a rate missing.
    pub fn new(stages: &'a StageValues<'a>) -> Result<Self, DeliverError> {
        let units = stages.settings.units;
        let zones = join(stages)?;
        let columns = rate_columns(stages, units)?;
        Ok(Self {
            stages,
            units,
            pieces: pieces(&zones, &columns, stages.strips, units),
            zones,
            columns,
        })
    }

    /// The products that are put somewhere.
    pub fn used_columns(&self) -> impl Iterator<Item = &RateColumn<'a>> {
        self.columns.iter().filter(|column| column.is_used)
    }

    /// Position in `zones` of an entry of `Zones::of_cell`.
    #[must_use]
    pub fn position_of(&self) -> Vec<usize> {
        let mut positions = vec![0; self.stages.zones.zones.len()];
        for (position, view) in self.zones.iter().enumerate() {
            positions[view.index] = position;
        }
        positions
    }
}

fn join<'a>(stages: &'a StageValues<'a>) -> Result<Vec<ZoneView<'a>>, DeliverError> {
    let misfit = |what: String| DeliverError::Inconsistent { what };
    let (diagnosed, rated, drawn) = (
        &stages.diagnosis.zones,
        &stages.prescription.zones,
        &stages.zones.zones,
    );
    if diagnosed.len() != rated.len() || rated.len() != drawn.len() || drawn.is_empty() {
        let what = format!(
            "{} zones drawn, {} diagnosed, {} with rates",
            drawn.len(),
            diagnosed.len(),
            rated.len()
        );
        return Err(misfit(what));
    }
    let mut is_taken = vec![false; drawn.len()];
    let mut views = Vec::with_capacity(drawn.len());
    for (place, (diagnosis, rates)) in diagnosed.iter().zip(rated).enumerate() {
        let number = place as u32 + 1;
        let is_same =
            diagnosis.number == number && rates.number == number && diagnosis.zone == rates.zone;
        let (true, Some(zone), Some(taken)) =
            (is_same, drawn.get(rates.zone), is_taken.get_mut(rates.zone))
        else {
            return Err(misfit(format!(
                "entry {number} of the diagnosis is zone {}, of the rates zone {}",
                diagnosis.number, rates.number
            )));
        };
        if std::mem::replace(taken, true) {
            return Err(misfit(format!(
                "two zones share the outline of zone {number}"
            )));
        }
        views.push(ZoneView {
            number,
            index: rates.zone,
            zone,
            diagnosis,
            rates,
            parts: parts(&zone.lonlat),
        });
    }
    Ok(views)
}

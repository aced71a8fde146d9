//! The last look before anything is written: a prescription that does not add up is not delivered.

use super::DeliverError;
use super::overview::Overview;
use crate::units::SQUARE_METRES_PER_ACRE;

/// Most that a total may differ from the sum over the zones, in the printed unit (design: "the rounding of one unit").
const TOTAL_TOLERANCE: f64 = 1.0;

/// Checks what the files rely on.
///
/// # Errors
/// The first thing that does not fit.
pub fn audit(overview: &Overview<'_>) -> Result<(), DeliverError> {
    cells(overview)?;
    for view in &overview.zones {
        let is_fine =
            view.zone.area_m2.is_finite() && view.zone.area_m2 > 0.0 && !view.parts.is_empty();
        require(is_fine, || format!("zone {} has no area", view.number))?;
        require(
            view.rates.cost.number_in(overview.units).is_finite(),
            || format!("zone {} has no cost", view.number),
        )?;
    }
    totals(overview)
}

fn cells(overview: &Overview<'_>) -> Result<(), DeliverError> {
    let stages = overview.stages;
    let count = stages.field.grid.cells.len();
    require(stages.zones.of_cell.len() == count, || {
        format!(
            "{} cells have a zone, the grid has {count}",
            stages.zones.of_cell.len()
        )
    })?;
    let zones = stages.zones.zones.len();
    let is_known = stages
        .zones
        .of_cell
        .iter()
        .all(|&zone| usize::from(zone) < zones);
    require(is_known, || {
        "a cell names a zone that is not there".to_owned()
    })?;
    for surface in &stages.surfaces.surfaces {
        if let crate::surface::Map::Drawn {
            values,
            standard_error,
        } = &surface.map
        {
            let is_full = values.len() == count && standard_error.len() == count;
            require(is_full, || {
                format!(
                    "the map of {} has {} cells, the grid has {count}",
                    surface.key,
                    values.len()
                )
            })?;
        }
    }
    Ok(())
}

fn totals(overview: &Overview<'_>) -> Result<(), DeliverError> {
    let square_metres = match overview.units {
        crate::units::UnitSystem::UnitedStates => SQUARE_METRES_PER_ACRE,
        crate::units::UnitSystem::Metric => 10_000.0,
    };
    for (at, column) in overview.columns.iter().enumerate() {
        let sum: f64 = overview
            .pieces
            .iter()
            .map(|piece| piece.rates[at] * piece.area.square_metres() / square_metres)
            .sum();
        let (total, unit) = column.total(overview.units);
        require((total - sum).abs() <= TOTAL_TOLERANCE, || {
            format!(
                "the total of {} is {total:.1} {unit}, the sum over the zones {sum:.1} {unit}",
                column.product.name
            )
        })?;
    }
    Ok(())
}

fn require(is_true: bool, what: impl FnOnce() -> String) -> Result<(), DeliverError> {
    if is_true {
        Ok(())
    } else {
        Err(DeliverError::Inconsistent { what: what() })
    }
}

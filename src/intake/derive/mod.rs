//! Layers that follow from others of the same table and depth, each marked as derived and announced by a note.
//!
//! Nothing is derived that the laboratory printed: its own value is kept, compared, and remarked on where it is far off. Nothing is
//! derived across extractants, tests or depths. Organic matter becomes carbon only where the plan says so.

mod carbon;
mod exchange;
mod exchange_rows;
mod free_lime;
mod layers;

use crate::intake::survey::PointTable;
use crate::plan::Settings;
use crate::remark::Remark;

/// Adds to a table what follows from its own layers: organic carbon (where the plan asks), C:N, CEC and saturations.
pub(in crate::intake) fn add(
    table: &mut PointTable,
    settings: &Settings,
    free_lime_ph: f64,
    remarks: &mut Vec<Remark>,
) {
    derive(
        table,
        settings.carbon_from_organic_matter,
        free_lime_ph,
        remarks,
    );
}

fn derive(
    table: &mut PointTable,
    carbon_from_organic_matter: bool,
    free_lime_ph: f64,
    remarks: &mut Vec<Remark>,
) {
    if carbon_from_organic_matter {
        carbon::add_organic_carbon(table, remarks);
    }
    carbon::add_ratios(table, free_lime_ph, remarks);
    exchange::add(table, remarks);
    free_lime::remark(table, free_lime_ph, remarks);
}

#[cfg(test)]
#[path = "derive_tests.rs"]
mod tests;

use super::layers::{at_depth, find, list_rows, place, value};
use crate::analyte::{Analyte, Method};
use crate::intake::survey::{LayerColumn, PointTable};
use crate::remark::Remark;
use crate::units::decimal;

/// What free lime makes too high, and by way of the sum too low.
const TOUCHED: [Analyte; 4] = [
    Analyte::Calcium,
    Analyte::CationExchangeCapacity,
    Analyte::CalciumSaturation,
    Analyte::MagnesiumSaturation,
];

/// A remark for every depth where calcium, CEC or saturations come from cores whose pH makes free lime likely.
pub(super) fn remark(table: &PointTable, free_lime_ph: f64, remarks: &mut Vec<Remark>) {
    for ph in table
        .layers
        .iter()
        .filter(|layer| layer.key.analyte == Analyte::Ph && is_first_choice(table, layer))
    {
        let depth = ph.key.depth;
        let touched: Vec<&LayerColumn> = TOUCHED
            .iter()
            .filter_map(|analyte| find(table, analyte, depth, |_| true))
            .collect();
        let is_touched = |row: &usize| touched.iter().any(|layer| value(layer, *row).is_some());
        let rows: Vec<usize> = (0..table.row.len())
            .filter(is_touched)
            .filter(|&row| value(ph, row).is_some_and(|ph| ph >= free_lime_ph))
            .collect();
        let Some(&first) = rows.first() else { continue };
        let what = format!(
            "pH is {} or more in {}: free lime is likely, which the extractant dissolves. Calcium, CEC and calcium saturation{} read too high there, \
             the other saturations too low",
            decimal(free_lime_ph, 2),
            list_rows(table, &rows),
            at_depth(depth)
        );
        let help = "zones of that pH get no calcium decision from these cores; for them ask for a CEC by ammonium displacement or an extraction at pH 8.5";
        remarks.push(
            Remark::warning("free-lime-inflates-calcium", what)
                .at(place(table, ph, Some(first)))
                .help(help),
        );
    }
}

/// pH in water where the depth has one; otherwise the first pH, which reads lower and so never cries wolf.
fn is_first_choice(table: &PointTable, layer: &LayerColumn) -> bool {
    chosen(table, layer.key.depth).is_some_and(|chosen| std::ptr::eq(chosen, layer))
}

/// The pH of a depth: in water before any other.
pub(super) fn chosen(
    table: &PointTable,
    depth: Option<crate::analyte::DepthRange>,
) -> Option<&LayerColumn> {
    let is_water =
        |method: Option<&Method>| method.is_some_and(|method| method.name().starts_with("water"));
    find(table, &Analyte::Ph, depth, is_water)
        .or_else(|| find(table, &Analyte::Ph, depth, |_| true))
}

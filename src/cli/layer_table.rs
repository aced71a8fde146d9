//! What `check` says of the layers: one row for each analyte, method and depth.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::analyte::{Analyte, DepthRange, LayerKey};
use crate::field::{Field, FieldLayer};
use crate::intake::Qualifier;
use crate::order_statistics::median_of_rising;
use crate::units::{Pressure, UnitSystem};

/// One layer of the field, over all the files that hold it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LayerRow {
    /// Its name in the plan file.
    pub analyte: String,
    /// Test method, where it is known.
    pub method: Option<String>,
    /// Sampling depth, where it has one, in the units of the plan.
    pub depth: Option<String>,
    /// Results that can be used.
    pub n: usize,
    /// Places inside the field without a result.
    pub missing: usize,
    /// Results below the limit of detection, counted in `n` where the plan's rule gives them a number.
    pub below_detection: usize,
    /// Least result, in `unit`.
    pub minimum: Option<f64>,
    /// Middle result, in `unit`.
    pub median: Option<f64>,
    /// Largest result, in `unit`.
    pub maximum: Option<f64>,
    /// Unit of the numbers.
    pub unit: String,
    /// Whether the program computed it from other columns.
    pub derived: bool,
}

/// The layers of a field, by key.
#[must_use]
pub fn rows(field: &Field, units: UnitSystem) -> Vec<LayerRow> {
    let mut groups: BTreeMap<&LayerKey, Vec<&FieldLayer>> = BTreeMap::new();
    for layer in &field.layers {
        groups.entry(&layer.key).or_default().push(layer);
    }
    let depths: Vec<RowDepths> = (0..field.places.len())
        .map(|table| RowDepths::new(field, table))
        .collect();
    groups
        .into_iter()
        .map(|(key, layers)| row(key, &layers, field, &depths, units))
        .collect()
}

/// Which depth each row of a table speaks of. In a table with a row for each depth, a row of the one depth has no
/// blank for the other.
#[derive(Debug)]
struct RowDepths {
    /// One entry per row. Empty where a row holds several depths, each in its own column.
    of_row: Vec<RowDepth>,
}

/// What a row speaks of.
#[derive(Debug, Clone, Copy, PartialEq)]
enum RowDepth {
    /// Nothing: the row is blank.
    Blank,
    /// One depth; `None` for quantities that have none.
    Of(Option<DepthRange>),
}

impl RowDepths {
    fn new(field: &Field, table: usize) -> Self {
        let mut of_row =
            vec![RowDepth::Blank; field.places.get(table).map_or(0, |places| places.x.len())];
        for layer in field.layers.iter().filter(|layer| layer.places == table) {
            for (row, _) in of_row
                .iter_mut()
                .zip(&layer.values)
                .filter(|(_, value)| value.is_finite())
            {
                let own = RowDepth::Of(layer.key.depth);
                if *row != RowDepth::Blank && *row != own {
                    return Self { of_row: Vec::new() };
                }
                *row = own;
            }
        }
        Self { of_row }
    }

    /// Whether a row could hold a result of a depth.
    fn may_hold(&self, row: usize, depth: Option<DepthRange>) -> bool {
        self.of_row
            .get(row)
            .is_none_or(|own| matches!(own, RowDepth::Blank) || *own == RowDepth::Of(depth))
    }
}

fn row(
    key: &LayerKey,
    layers: &[&FieldLayer],
    field: &Field,
    depths: &[RowDepths],
    units: UnitSystem,
) -> LayerRow {
    let (factor, unit) = shown_unit(
        key,
        layers.first().map_or("", |layer| layer.unit.as_ref()),
        units,
    );
    let mut values: Vec<f64> = layers
        .iter()
        .flat_map(|layer| &layer.values)
        .copied()
        .filter(|v| v.is_finite())
        .map(|v| v * factor)
        .collect();
    values.sort_by(f64::total_cmp);
    let missing = |layer: &&FieldLayer| missing_results(layer, field, depths.get(layer.places));
    LayerRow {
        analyte: key.analyte.name(),
        method: key.method.as_ref().map(|method| method.name().to_owned()),
        depth: key.depth.map(|depth| depth.show(units)),
        n: values.len(),
        missing: layers.iter().map(missing).sum(),
        below_detection: layers
            .iter()
            .map(|layer| below_detection(layer, field))
            .sum(),
        minimum: values.first().copied(),
        median: median_of_rising(&values),
        maximum: values.last().copied(),
        unit,
        derived: layers.iter().any(|layer| layer.derived),
    }
}

/// Whether a row of a layer stands outside the field.
fn is_outside(layer: &FieldLayer, field: &Field, row: u32) -> bool {
    field.places.get(layer.places).is_some_and(|places| {
        places
            .outside
            .binary_search_by_key(&row, |(place, _)| *place)
            .is_ok()
    })
}

fn below_detection(layer: &FieldLayer, field: &Field) -> usize {
    layer
        .qualified
        .iter()
        .filter(|(row, qualifier)| is_below(*qualifier) && !is_outside(layer, field, *row))
        .count()
}

/// Rows inside the field that could hold a result and do not.
fn missing_results(layer: &FieldLayer, field: &Field, depths: Option<&RowDepths>) -> usize {
    let is_of_layer =
        |row: usize| depths.is_none_or(|depths| depths.may_hold(row, layer.key.depth));
    (0..)
        .zip(&layer.values)
        .filter(|(_, value)| !value.is_finite())
        .filter(|(row, _)| is_of_layer(*row) && !is_outside(layer, field, *row as u32))
        .count()
}

/// The unit that people of a unit system read, and what the canonical number is multiplied with.
pub(super) fn shown_unit(key: &LayerKey, canonical: &str, units: UnitSystem) -> (f64, String) {
    match (&key.analyte, units) {
        (Analyte::ConeIndex, UnitSystem::UnitedStates) => (
            Pressure::from_kilopascals(1.0).number_in(units),
            "psi".to_owned(),
        ),
        _ => (1.0, canonical.to_owned()),
    }
}

fn is_below(qualifier: Qualifier) -> bool {
    matches!(qualifier, Qualifier::Below(_) | Qualifier::BelowUnknown)
}

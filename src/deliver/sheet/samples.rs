//! The samples as the page shows them: where they were taken, and all values of one.

use serde::Serialize;

use crate::analyte::{DepthRange, LayerKey};
use crate::deliver::numbers::{file_name, layer_number, layer_unit, with_unit};
use crate::field::{Field, FieldLayer, Places};
use crate::intake::Qualifier;
use crate::surface::Surfaces;
use crate::units::UnitSystem;

/// More samples than this of one file are thinned out evenly on the map.
const MOST_SHOWN: usize = 4_000;

/// The samples of one file.
#[derive(Debug, Clone, Serialize)]
pub struct SampleFile {
    /// The file.
    pub file: String,
    /// What it holds.
    pub kind: crate::plan::PointKind,
    /// How many it holds.
    pub count: usize,
    /// Position in the file's list, metres east and north, and name of each that is shown.
    pub samples: Vec<(usize, f64, f64, String)>,
}

/// The samples inside the field, file by file.
#[must_use]
pub fn sample_files(field: &Field) -> Vec<SampleFile> {
    field.places.iter().map(sample_file).collect()
}

fn sample_file(places: &Places) -> SampleFile {
    let count = places.x.len();
    let step = step(count);
    let is_outside = |at: usize| {
        let outside = &places.outside;
        let found = outside.binary_search_by_key(&(at as u32), |known| known.0);
        found.is_ok()
    };
    let shown = (0..count).step_by(step).filter(|at| !is_outside(*at));
    let sample = |at: usize| {
        let (x, y) = (*places.x.get(at)?, *places.y.get(at)?);
        let round = |metres: f64| (metres * 100.0).round() / 100.0;
        Some((at, round(x), round(y), name(places, at)))
    };
    SampleFile {
        file: places.file.to_string(),
        kind: places.kind,
        count,
        samples: shown.filter_map(sample).collect(),
    }
}

/// Every how many samples one is shown.
fn step(count: usize) -> usize {
    count.div_ceil(MOST_SHOWN).max(1)
}

fn name(places: &Places, at: usize) -> String {
    let named = places.id.as_ref().and_then(|ids| ids.get(at));
    named.map_or_else(
        || format!("row {}", places.row.get(at).copied().unwrap_or_default()),
        ToString::to_string,
    )
}

/// File, position, number and text of a result of a layer.
pub type SampleValue = (usize, usize, f64, String);

/// The results of a layer at the samples that are shown.
#[must_use]
pub fn sample_values(field: &Field, key: &LayerKey, units: UnitSystem) -> Vec<SampleValue> {
    let layers = field.layers.iter().filter(|layer| layer.key == *key);
    let of_layer = |layer: &FieldLayer| {
        let step = step(layer.values.len());
        let values = layer.values.iter().enumerate().step_by(step);
        let finite = values.filter(|(_, value)| value.is_finite());
        finite
            .map(|(at, value)| {
                let number = layer_number(&layer.key, &layer.unit, *value, units);
                let unit = layer_unit(&layer.key, &layer.unit, units);
                (layer.places, at, *value, with_unit(&number, unit))
            })
            .collect::<Vec<_>>()
    };
    layers.flat_map(of_layer).collect()
}

/// One sample.
#[derive(Debug, Clone, Serialize)]
pub struct SampleFacts {
    /// The file.
    pub file: String,
    /// The file as the plan names it.
    pub path: String,
    /// Its name, where the file has one.
    pub core: Option<String>,
    /// The row of the file.
    pub row: u32,
    /// Its results, from the top of the ground down.
    pub values: Vec<SampleResult>,
    /// What is odd about it against its neighbours.
    pub odd: Vec<String>,
}

/// One result of a sample.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SampleResult {
    /// Depth, as printed; empty where the quantity has none.
    pub depth: String,
    /// What was measured, and by which method.
    pub layer: String,
    /// The value with its unit.
    pub value: String,
    /// The column that it was read from, or how it was derived.
    pub column: String,
    /// The row of the file.
    pub row: u32,
    /// Top and bottom in metres, by which results are put in order.
    #[serde(skip)]
    depths: (f64, f64),
}

/// All values of a sample; those of the same name at the same place are told together.
#[must_use]
pub fn sample_facts(
    field: &Field,
    surfaces: &Surfaces,
    units: UnitSystem,
    (file, at): (usize, usize),
) -> Option<SampleFacts> {
    let places = field.places.get(file)?;
    let row = *places.row.get(at)?;
    let core = places.id.as_ref().and_then(|ids| ids.get(at));
    let rows: Vec<usize> = match core {
        Some(core) => {
            let ids = places.id.iter().flatten().enumerate();
            ids.filter(|(_, id)| *id == core)
                .map(|(at, _)| at)
                .collect()
        }
        None => vec![at],
    };
    let of_file = field.layers.iter().filter(|layer| layer.places == file);
    let results = of_file.flat_map(|layer| {
        let rows = rows.iter();
        rows.filter_map(|row| result(layer, (*row, *places.row.get(*row)?), units))
    });
    let mut results: Vec<SampleResult> = results.collect();
    // In the order of the layers within a depth: the sort keeps it.
    results.sort_by(|a, b| {
        let ((top, bottom), (other_top, other_bottom)) = (a.depths, b.depths);
        top.total_cmp(&other_top)
            .then(bottom.total_cmp(&other_bottom))
    });
    let odd = surfaces.odd_cores.iter().filter(|odd| {
        let (x, y) = (places.x[at], places.y[at]);
        (odd.at.0 - x).hypot(odd.at.1 - y) < 0.01
    });
    Some(SampleFacts {
        file: file_name(&places.file).to_owned(),
        path: places.file.to_string(),
        core: core.map(ToString::to_string),
        row,
        values: results,
        odd: odd.map(|odd| odd_words(odd, units)).collect(),
    })
}

fn result(
    layer: &FieldLayer,
    (row, row_of_file): (usize, u32),
    units: UnitSystem,
) -> Option<SampleResult> {
    let value = layer
        .values
        .get(row)
        .copied()
        .filter(|value| value.is_finite())?;
    let number = layer_number(&layer.key, &layer.unit, value, units);
    let unit = layer_unit(&layer.key, &layer.unit, units);
    let mut shown = with_unit(&number, unit);
    let qualified = layer.qualified.iter().find(|(at, _)| *at as usize == row);
    if let Some((_, qualifier)) = qualified {
        shown.push_str(match qualifier {
            Qualifier::Below(_) | Qualifier::BelowUnknown => " (below the limit of the test)",
            Qualifier::Above(_) => " (above the range of the test)",
            Qualifier::Estimated => " (estimated by the laboratory)",
        });
    }
    let LayerKey {
        analyte,
        method,
        depth,
    } = layer.key.clone();
    let metres = |depth: DepthRange| (depth.top().metres(), depth.bottom().metres());
    Some(SampleResult {
        depth: depth.map_or_else(String::new, |depth| depth.show(units)),
        layer: LayerKey::new(analyte, method, None).show(units),
        value: shown,
        column: layer.column.to_string(),
        row: row_of_file,
        depths: depth.map_or((f64::INFINITY, f64::INFINITY), metres),
    })
}

fn odd_words(odd: &crate::surface::OddCore, units: UnitSystem) -> String {
    let print = |value: f64| {
        let unit = layer_unit(&odd.key, &odd.unit, units);
        with_unit(&layer_number(&odd.key, &odd.unit, value, units), unit)
    };
    format!(
        "{}: {} here, where its neighbours speak for {}",
        odd.key.show(units),
        print(odd.observed),
        print(odd.predicted)
    )
}

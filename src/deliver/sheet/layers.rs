use serde::Serialize;

use crate::deliver::numbers::{layer_number, layer_unit, with_unit};
use crate::deliver::overview::Overview;
use crate::deliver::review::MapFacts;
use crate::field::Grid;
use crate::surface::{Map, Surface};

/// A map in words and with its range.
#[derive(Debug, Clone, Serialize)]
pub struct LayerFacts {
    /// Analyte, method and depth.
    pub name: String,
    /// Its name in the plan, for the layers that shape zones.
    pub analyte: String,
    /// Unit.
    pub unit: String,
    /// How good it is.
    pub verdict: String,
    /// How it was made.
    pub method: String,
    /// Whether a map is drawn, or one value stands for the whole field.
    pub is_drawn: bool,
    /// Least and most value in the canonical unit, and as printed; nothing where no map is drawn.
    pub values: Option<(f32, f32, String, String)>,
    /// The same of the standard error.
    pub errors: Option<(f32, f32, String, String)>,
}

/// All maps.
pub(super) fn layers(overview: &Overview<'_>, facts: &[MapFacts]) -> Vec<LayerFacts> {
    let surfaces = overview.stages.surfaces.surfaces.iter();
    surfaces
        .zip(facts)
        .map(|(surface, facts)| LayerFacts {
            name: facts.layer.clone(),
            analyte: surface.key.analyte.name(),
            unit: facts.unit.clone(),
            verdict: facts.verdict.clone(),
            method: facts.method.clone(),
            is_drawn: facts.is_drawn,
            values: range(overview, surface, RasterPart::Values),
            errors: range(overview, surface, RasterPart::Uncertainty),
        })
        .collect()
}

fn range(
    overview: &Overview<'_>,
    surface: &Surface,
    part: RasterPart,
) -> Option<(f32, f32, String, String)> {
    let numbers = numbers(surface, part)?;
    let finite = || numbers.iter().copied().filter(|number| number.is_finite());
    let (low, high) = (finite().reduce(f32::min)?, finite().reduce(f32::max)?);
    let unit = layer_unit(&surface.key, &surface.unit, overview.units);
    let print = |number: f32| {
        let number = layer_number(
            &surface.key,
            &surface.unit,
            f64::from(number),
            overview.units,
        );
        with_unit(&number, unit)
    };
    Some((low, high, print(low), print(high)))
}

/// What of a map is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RasterPart {
    /// The values.
    Values,
    /// Their standard errors.
    Uncertainty,
}

fn numbers(surface: &Surface, part: RasterPart) -> Option<&[f32]> {
    match (&surface.map, part) {
        (Map::Drawn { values, .. }, RasterPart::Values) => Some(values),
        (Map::Drawn { standard_error, .. }, RasterPart::Uncertainty) => Some(standard_error),
        (Map::Flat { .. }, _) => None,
    }
}

/// A map as 32-bit numbers, little-endian, row by row from the north-west, NaN outside the workable area. `None` where no map is drawn.
#[must_use]
pub fn raster(grid: &Grid, surface: &Surface, part: RasterPart) -> Option<Vec<u8>> {
    let numbers = numbers(surface, part)?;
    let mut all = vec![f32::NAN; grid.columns * grid.rows];
    for (&cell, &number) in grid.cells.iter().zip(numbers) {
        if let Some(place) = all.get_mut(cell as usize) {
            *place = number;
        }
    }
    Some(all.into_iter().flat_map(f32::to_le_bytes).collect())
}

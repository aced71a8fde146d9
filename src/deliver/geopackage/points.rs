//! Cores and cone pushes: one feature per row that was read, one column per layer.

use std::collections::BTreeSet;

use super::style::Style;
use super::table::{Cell, Column, Feature, Features, Kind, Shape, Table};
use crate::analyte::LayerKey;
use crate::deliver::columns::unused;
use crate::deliver::degrees::Spot;
use crate::deliver::numbers::unit_word;
use crate::deliver::overview::Overview;
use crate::field::{FieldLayer, Places, ProjectionError};
use crate::plan::PointKind;

/// The columns before those of the layers.
const OWN: [(&str, &str); 5] = [
    ("id", "TEXT"),
    ("file", "TEXT"),
    ("row", "INTEGER"),
    ("zone", "INTEGER"),
    ("is_used", "BOOLEAN"),
];
/// Names that a layer's column may not take: those of key and shape.
const KEPT: [&str; 2] = ["fid", "geom"];
/// SQLite takes 2,000 columns in a table.
const MOST_LAYERS: usize = 1_900;

/// The soil cores; `None` where the plan names none.
///
/// # Errors
/// Where PROJ cannot bring a place to degrees.
pub fn cores(overview: &Overview<'_>) -> Result<Option<Table<'static>>, ProjectionError> {
    let description =
        "Soil cores with the values that were used, in the unit that the column's title names";
    table(
        overview,
        PointKind::Cores,
        "cores",
        description,
        Style::of_cores(),
    )
}

/// The cone pushes; `None` where the plan names none.
///
/// # Errors
/// Where PROJ cannot bring a place to degrees.
pub fn pushes(overview: &Overview<'_>) -> Result<Option<Table<'static>>, ProjectionError> {
    let description = "Cone penetrometer pushes with the values that were used, in the unit that the column's title names";
    table(
        overview,
        PointKind::Cone,
        "cone_pushes",
        description,
        Style::of_pushes(),
    )
}

fn table(
    overview: &Overview<'_>,
    kind: PointKind,
    name: &'static str,
    description: &str,
    style: Style,
) -> Result<Option<Table<'static>>, ProjectionError> {
    let field = overview.stages.field;
    let tables: Vec<usize> = (0..field.places.len())
        .filter(|&at| field.places[at].kind == kind)
        .collect();
    let layers: Vec<&FieldLayer> = field
        .layers
        .iter()
        .filter(|layer| tables.contains(&layer.places))
        .collect();
    let keys: Vec<&LayerKey> = layers
        .iter()
        .map(|layer| &layer.key)
        .collect::<BTreeSet<_>>()
        .into_iter()
        .take(MOST_LAYERS)
        .collect();
    if tables.is_empty() {
        return Ok(None);
    }
    let mut features = Vec::new();
    for index in tables {
        // By key, the layers of this table; a key comes from one column of a table.
        let of_key: Vec<Option<&FieldLayer>> = keys
            .iter()
            .map(|key| {
                layers
                    .iter()
                    .copied()
                    .find(|layer| layer.places == index && layer.key == **key)
            })
            .collect();
        push_features(&mut features, overview, &field.places[index], &of_key)?;
    }
    Ok(Some(Table {
        name,
        description: description.to_owned(),
        kind: Kind::Point,
        columns: columns(overview, &keys, &layers),
        features: Features::Listed(features),
        style,
    }))
}

fn columns(overview: &Overview<'_>, keys: &[&LayerKey], layers: &[&FieldLayer]) -> Vec<Column> {
    let mut columns: Vec<Column> = OWN
        .iter()
        .map(|(name, kind)| Column::new(*name, kind))
        .collect();
    for key in keys {
        let plain = key.slug().replace(['.', '-'], "_");
        let name = unused(&plain, usize::MAX, |name| {
            KEPT.contains(&name) || columns.iter().any(|column| column.name == name)
        });
        let unit = layers
            .iter()
            .find(|layer| layer.key == **key)
            .map_or("", |layer| unit_word(&layer.unit));
        let unit = if unit.is_empty() {
            String::new()
        } else {
            format!(", {unit}")
        };
        columns.push(
            Column::new(name, "DOUBLE").titled(format!("{}{unit}", key.show(overview.units))),
        );
    }
    columns
}

fn push_features(
    features: &mut Vec<Feature>,
    overview: &Overview<'_>,
    places: &Places,
    of_key: &[Option<&FieldLayer>],
) -> Result<(), ProjectionError> {
    let mut degrees: Vec<(f64, f64)> = places
        .x
        .iter()
        .copied()
        .zip(places.y.iter().copied())
        .collect();
    overview.stages.field.crs.unproject(&mut degrees)?;
    for (at, (longitude, latitude)) in degrees.into_iter().enumerate() {
        let is_outside = places
            .outside
            .binary_search_by_key(&(at as u32), |outside| outside.0)
            .is_ok();
        let id = places.id.as_ref().and_then(|ids| ids.get(at));
        let mut cells = vec![
            id.map_or(Cell::Empty, |id| Cell::Text(id.to_string().into())),
            Cell::Text(places.file.to_string().into()),
            places
                .row
                .get(at)
                .map_or(Cell::Empty, |&row| Cell::Whole(row.into())),
            zone_at(overview, places.x[at], places.y[at])
                .map_or(Cell::Empty, |zone| Cell::Whole(zone.into())),
            Cell::Whole(i64::from(!is_outside)),
        ];
        let value = |layer: &FieldLayer| {
            layer
                .values
                .get(at)
                .copied()
                .filter(|value| value.is_finite() && !is_outside)
        };
        cells.extend(
            of_key
                .iter()
                .map(|layer| layer.and_then(value).map_or(Cell::Empty, Cell::Number)),
        );
        features.push(Feature {
            shape: Shape::Point(Spot::from_degrees(longitude, latitude)),
            cells,
        });
    }
    Ok(())
}

/// The number of the zone that a place lies in.
fn zone_at(overview: &Overview<'_>, x: f64, y: f64) -> Option<u32> {
    let grid = &overview.stages.field.grid;
    let slot = grid.slot(grid.cell_at(x, y)?)?;
    let zone = usize::from(*overview.stages.zones.of_cell.get(slot)?);
    overview
        .zones
        .iter()
        .find(|view| view.index == zone)
        .map(|view| view.number)
}

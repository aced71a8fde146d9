//! Which tables the file holds, in the order in which a program lists them.

use super::points::{cores, pushes};
use super::style::Style;
use super::table::{Cell, Column, Feature, Features, Kind, Shape, Table};
use crate::deliver::degrees::from_plane;
use crate::deliver::overview::Overview;
use crate::deliver::pieces::Piece;
use crate::deliver::properties::{Property, properties};
use crate::field::ProjectionError;
use crate::units::{Area, UnitSystem};

/// All tables; one that would be empty is left out.
///
/// # Errors
/// Where PROJ cannot bring a place to degrees.
pub fn tables(overview: &Overview<'_>) -> Result<Vec<Table<'static>>, ProjectionError> {
    let tables = [
        Some(zones(overview)),
        cores(overview)?,
        pushes(overview)?,
        Some(keep_outs(overview)?),
        Some(boundary(overview)?),
    ];
    Ok(tables
        .into_iter()
        .flatten()
        .filter(|table| !table.features.is_empty())
        .collect())
}

/// The zones with the properties of `prescription.geojson`.
fn zones(overview: &Overview<'_>) -> Table<'static> {
    let rows: Vec<Vec<(String, Property)>> = overview
        .pieces
        .iter()
        .map(|piece| properties(overview, piece))
        .collect();
    let columns = rows
        .first()
        .into_iter()
        .flatten()
        .map(|(name, value)| zone_column(overview, name, value))
        .collect();
    let feature = |(piece, row): (&Piece<'_>, Vec<(String, Property)>)| Feature {
        shape: Shape::Areas(piece.parts.clone()),
        cells: row.into_iter().map(|(_, value)| cell(value)).collect(),
    };
    Table {
        name: "zones",
        description: "Management zones with rates, limits, reason and cost: the same as in prescription.geojson".to_owned(),
        kind: Kind::MultiPolygon,
        columns,
        features: Features::Listed(overview.pieces.iter().zip(rows).map(feature).collect()),
        style: Style::of_zones(overview),
    }
}

fn zone_column(overview: &Overview<'_>, name: &str, value: &Property) -> Column {
    let kind = match value {
        Property::Whole(_) => "INTEGER",
        Property::Number(_) => "DOUBLE",
        Property::Text(_) | Property::Texts(_) => "TEXT",
    };
    let rate = overview.columns.iter().find(|column| column.name == name);
    Column::new(name, kind).titled(rate.map_or_else(String::new, |rate| {
        format!("{}, {}", rate.product.label, rate.unit)
    }))
}

fn cell(value: Property) -> Cell {
    match value {
        Property::Whole(number) => Cell::Whole(number.into()),
        // What is printed is what is stored, to the last digit.
        Property::Number(text) => text.parse().map_or(Cell::Empty, Cell::Number),
        Property::Text(text) => text.map_or(Cell::Empty, |text| Cell::Text(text.into())),
        Property::Texts(texts) => Cell::Text(texts.join("; ").into()),
    }
}

fn keep_outs(overview: &Overview<'_>) -> Result<Table<'static>, ProjectionError> {
    let field = overview.stages.field;
    let mut features = Vec::new();
    for kept in &field.kept_out {
        let parts = from_plane(&field.crs, &kept.shape)?;
        if !parts.is_empty() {
            features.push(Feature {
                shape: Shape::Areas(parts),
                cells: vec![
                    Cell::Text(kept.why.clone().into()),
                    Cell::Text(kept.file.to_string().into()),
                ],
            });
        }
    }
    Ok(Table {
        name: "keep_outs",
        description: "Where no product is placed, with the setback".to_owned(),
        kind: Kind::MultiPolygon,
        columns: vec![Column::new("why", "TEXT"), Column::new("file", "TEXT")],
        features: Features::Listed(features),
        style: Style::of_keep_outs(),
    })
}

fn boundary(overview: &Overview<'_>) -> Result<Table<'static>, ProjectionError> {
    let (field, settings) = (overview.stages.field, overview.stages.settings);
    let area = |square_metres: f64, system| {
        Cell::Number(rounded(
            Area::from_square_metres(square_metres).number_in(system),
        ))
    };
    let cells = vec![
        Cell::Text(settings.field.clone().into()),
        Cell::Whole(settings.season.into()),
        Cell::Text(settings.crop.clone().into()),
        area(field.area_m2, UnitSystem::Metric),
        area(field.area_m2, UnitSystem::UnitedStates),
        area(field.workable_m2, UnitSystem::Metric),
        area(field.workable_m2, UnitSystem::UnitedStates),
    ];
    let columns = [
        ("field", "TEXT"),
        ("season", "INTEGER"),
        ("crop", "TEXT"),
        ("area_ha", "DOUBLE"),
        ("area_ac", "DOUBLE"),
        ("workable_ha", "DOUBLE"),
        ("workable_ac", "DOUBLE"),
    ];
    let shape = Shape::Areas(from_plane(&field.crs, &field.boundary)?);
    Ok(Table {
        name: "boundary",
        description: "The field's boundary, keep-outs included".to_owned(),
        kind: Kind::MultiPolygon,
        columns: columns
            .into_iter()
            .map(|(name, kind)| Column::new(name, kind))
            .collect(),
        features: Features::Listed(vec![Feature { shape, cells }]),
        style: Style::of_boundary(),
    })
}

/// To a square metre, as the areas of the zones.
fn rounded(area: f64) -> f64 {
    (area * 1e4).round() / 1e4
}

//! `strips.geojson`: the check strips, where the plan asks for them.

use serde_json::{Map, Value, json};

use super::degrees::Spot;
use super::delivery::OutputFile;
use super::error::DeliverError;
use super::format_input::FormatInput;
use super::overview::Overview;
use super::pieces::Piece;
use crate::trial::{StripSet, ZoneOutlook};
use crate::units::{UnitSystem, decimal};

const PATH: &str = "strips.geojson";

/// The file; none without strips.
///
/// # Errors
/// Where the JSON writer refuses a value.
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let overview = input.overview;
    let features: Vec<Value> = overview
        .pieces
        .iter()
        .filter(|piece| piece.strip.is_some())
        .map(|piece| feature(overview, piece))
        .collect();
    if features.is_empty() {
        return Ok(Vec::new());
    }
    let collection = json!({
        "type": "FeatureCollection",
        "name": overview.stages.settings.field,
        "sets": overview.stages.strips.sets.iter().map(set).collect::<Vec<_>>(),
        "features": features,
    });
    let mut text =
        serde_json::to_string_pretty(&collection).map_err(|cause| DeliverError::Package {
            path: PATH,
            cause: cause.to_string(),
        })?;
    text.push('\n');
    Ok(vec![OutputFile::new(PATH, text)])
}

fn feature(overview: &Overview<'_>, piece: &Piece<'_>) -> Value {
    let position = |spot: &Spot| json!([spot.longitude(), spot.latitude()]);
    let rings: Vec<Value> = piece
        .parts
        .iter()
        .map(|part| {
            part.outer
                .iter()
                .chain(part.outer.first())
                .map(position)
                .collect()
        })
        .collect();
    let mut properties = Map::new();
    let zone = overview.zones[piece.place].number;
    if let Some(strip) = piece.strip {
        properties.insert("strip".to_owned(), strip.name.clone().into());
        properties.insert("zone".to_owned(), zone.into());
        properties.insert("length_m".to_owned(), number(strip.length_m, 1));
        properties.insert(
            "length_ft".to_owned(),
            number(strip.length_m / crate::units::METRES_PER_FOOT, 0),
        );
    }
    properties.insert(
        "area_ha".to_owned(),
        number(piece.area.number_in(UnitSystem::Metric), 4),
    );
    properties.insert(
        "area_ac".to_owned(),
        number(piece.area.number_in(UnitSystem::UnitedStates), 4),
    );
    for (column, rate) in overview.columns.iter().zip(&piece.rates) {
        properties.insert(column.name.clone(), number(*rate, 6));
    }
    json!({
        "type": "Feature",
        "properties": properties,
        "geometry": { "type": "Polygon", "coordinates": rings },
    })
}

fn set(set: &StripSet) -> Value {
    json!({
        "treatment": set.treatment,
        "products": set.products,
        "zones": set.zones.iter().map(zone).collect::<Vec<_>>(),
    })
}

/// Yields in kg/ha; what is not known is null.
fn zone(outlook: &ZoneOutlook) -> Value {
    let kilograms = |value: Option<f64>| value.map_or(Value::Null, |value| number(value, 0));
    json!({
        "zone": outlook.zone,
        "strips": outlook.checks,
        "metres": number(outlook.metres, 0),
        "not_judged": outlook.not_judged,
        "least_difference_kg_ha": kilograms(outlook.shows),
        "pays_from_kg_ha": kilograms(outlook.pays_from),
        "strips_needed": outlook.needed,
        "cost_usd": outlook.cost.map_or(Value::Null, |cost| number(cost, 0)),
    })
}

fn number(value: f64, decimals: usize) -> Value {
    decimal(value, decimals)
        .parse::<serde_json::Number>()
        .map_or(Value::Null, Into::into)
}

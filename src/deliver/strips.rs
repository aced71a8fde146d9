//! `strips.geojson`: the check strips, where the plan asks for them.

use ::geojson::{Feature, FeatureCollection, Geometry, GeometryValue, JsonObject, Position};
use serde_json::{Value, json};

use super::error::DeliverError;
use super::format_input::FormatInput;
use super::geojson;
use super::output_file::OutputFile;
use super::overview::Overview;
use super::pieces::Piece;
use crate::trial::{Strip, StripSet, ZoneOutlook};
use crate::units::{METRES_PER_FOOT, UnitSystem, decimal};

const PATH: &str = "strips.geojson";

/// The file; none without strips.
///
/// # Errors
/// Where the JSON writer refuses a value.
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let overview = input.overview;
    let pieces = overview.pieces.iter();
    let features: Vec<Feature> = pieces
        .filter_map(|piece| Some(feature(overview, piece, piece.strip?)))
        .collect();
    if features.is_empty() {
        return Ok(Vec::new());
    }
    let sets: Vec<Value> = overview.stages.strips.sets.iter().map(set).collect();
    let field = overview.stages.settings.field.clone();
    let collection = FeatureCollection {
        bbox: None,
        features,
        foreign_members: Some(JsonObject::from_iter([
            ("name".to_owned(), field.into()),
            ("sets".to_owned(), sets.into()),
        ])),
    };
    let text = geojson::text(&collection).map_err(|cause| DeliverError::Package {
        path: PATH,
        cause: cause.to_string(),
    })?;
    Ok(vec![OutputFile::new(PATH, text)])
}

fn feature(overview: &Overview<'_>, piece: &Piece<'_>, strip: &Strip) -> Feature {
    let zone = overview.zones[piece.place].number;
    let feet = strip.length_m / METRES_PER_FOOT;
    let mut properties = JsonObject::from_iter([
        ("strip".to_owned(), strip.name.clone().into()),
        ("zone".to_owned(), zone.into()),
        ("length_m".to_owned(), number(strip.length_m, 1)),
        ("length_ft".to_owned(), number(feet, 0)),
        (
            "area_ha".to_owned(),
            number(piece.area.number_in(UnitSystem::Metric), 4),
        ),
        (
            "area_ac".to_owned(),
            number(piece.area.number_in(UnitSystem::UnitedStates), 4),
        ),
    ]);
    for (column, rate) in overview.columns.iter().zip(&piece.rates) {
        properties.insert(column.name.clone(), number(*rate, 6));
    }
    let rings: Vec<Vec<Position>> = piece.parts.iter().flat_map(geojson::rings).collect();
    Feature {
        bbox: None,
        geometry: Some(Geometry::new(GeometryValue::Polygon { coordinates: rings })),
        id: None,
        properties: Some(properties),
        foreign_members: None,
    }
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

//! The zones of an earlier run as they lie on the ground: from its `prescription.geojson`.

use geo::{Coord, LineString, MultiPolygon, Polygon};
use serde::Deserialize;

/// Name of the file in the output folder.
pub(super) const ZONES_FILE: &str = "prescription.geojson";

#[derive(Debug, Deserialize)]
struct Collection {
    features: Vec<Feature>,
}

#[derive(Debug, Deserialize)]
struct Feature {
    properties: Properties,
    geometry: Shape,
}

#[derive(Debug, Deserialize)]
struct Properties {
    zone: u32,
}

#[derive(Debug, Deserialize)]
struct Shape {
    coordinates: Vec<Vec<Vec<(f64, f64)>>>,
}

/// The ground of one zone, its check strips included, in degrees.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct ZoneOutline {
    /// Number of the zone.
    pub zone: u32,
    /// The ground.
    pub shape: MultiPolygon<f64>,
}

/// The outlines, one per zone; strips are of the zone that they lie in.
///
/// # Errors
/// Where the text is not such a file.
pub(super) fn outlines(bytes: &[u8]) -> Result<Vec<ZoneOutline>, String> {
    let collection: Collection =
        serde_json::from_slice(bytes).map_err(|cause| cause.to_string())?;
    let mut outlines: Vec<ZoneOutline> = Vec::new();
    for feature in collection.features {
        let shapes = feature.geometry.coordinates.into_iter().map(polygon);
        let number = feature.properties.zone;
        match outlines.iter_mut().find(|known| known.zone == number) {
            Some(known) => known.shape.0.extend(shapes),
            None => outlines.push(ZoneOutline {
                zone: number,
                shape: MultiPolygon(shapes.collect()),
            }),
        }
    }
    if outlines.is_empty() {
        return Err("it has no zones".to_owned());
    }
    Ok(outlines)
}

fn polygon(rings: Vec<Vec<(f64, f64)>>) -> Polygon<f64> {
    let mut rings = rings.into_iter().map(|ring| {
        let corners = ring.into_iter().map(|(x, y)| Coord { x, y });
        LineString(corners.collect())
    });
    let outer = rings.next().unwrap_or_else(|| LineString(Vec::new()));
    Polygon::new(outer, rings.collect())
}

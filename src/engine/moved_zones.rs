//! Zone numbers in the plan's overrides that mean other ground now than in the run that lies in the output folder.

use geo::{Area, BooleanOps, InteriorPoint, LineString, MultiPolygon, Polygon};
use serde_json::Value;

use super::Run;
use crate::plan::Override;
use crate::remark::Remark;
use crate::units::decimal;

/// Share of a zone's ground that must have had its number before (own: less than half is other ground).
const SAME_GROUND: f64 = 0.5;

/// A remark for each override by number whose zone lies elsewhere than in an earlier `prescription.geojson`. What is no such file says
/// nothing, and an override by place means the same ground in every run.
#[must_use]
pub fn moved_zones(earlier: &[u8], run: &Run) -> Vec<Remark> {
    let Ok(earlier) = serde_json::from_slice::<Value>(earlier) else {
        return Vec::new();
    };
    let overrides = &run.settings().overrides;
    let by_number = overrides.iter().filter(|said| said.is_by_number());
    by_number
        .filter_map(|said| moved(said, &earlier, run))
        .collect()
}

fn moved(said: &Override, earlier: &Value, run: &Run) -> Option<Remark> {
    let before = ground_of(earlier, said.zone);
    let point = before.interior_point()?;
    let mut zones = run.prescription().zones.iter();
    let zone = zones.find(|zone| zone.number == said.zone)?.zone;
    let now = &run.zones().zones.get(zone)?.lonlat;
    let area = now.unsigned_area();
    let share = now.intersection(&before).unsigned_area() / area;
    (area > 0.0 && share < SAME_GROUND).then(|| {
        let what = format!(
            "the override of {} is for zone {}, which lies elsewhere than in the run that is in the output folder: {} % of its ground had this \
             number there",
            said.product,
            said.zone,
            decimal(100.0 * share, 0)
        );
        Remark::warning("zone-moved", what)
            .at(said.place.clone())
            .help(format!(
                "if the ground of that run is meant, write at = [{}, {}] in place of zone",
                decimal(point.x(), 6),
                decimal(point.y(), 6)
            ))
    })
}

/// The ground that had a number, its check strips included.
fn ground_of(collection: &Value, number: u32) -> MultiPolygon<f64> {
    let features = collection["features"].as_array().into_iter().flatten();
    let own = features.filter(|feature| feature["properties"]["zone"] == number);
    let parts = own.flat_map(|feature| {
        let parts = feature["geometry"]["coordinates"].as_array();
        parts.into_iter().flatten().filter_map(polygon)
    });
    geo::unary_union(&parts.collect::<Vec<_>>())
}

fn polygon(rings: &Value) -> Option<Polygon<f64>> {
    let ring = |ring: &Value| -> Option<LineString<f64>> {
        let places = ring.as_array()?.iter();
        let place = |place: &Value| Some((place[0].as_f64()?, place[1].as_f64()?));
        places.map(place).collect()
    };
    let mut rings = rings.as_array()?.iter().map(ring);
    Some(Polygon::new(rings.next()??, rings.collect::<Option<_>>()?))
}

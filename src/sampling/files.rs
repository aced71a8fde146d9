//! Sites as files that a phone or a hand-held receiver takes.

use serde_json::json;

use super::Site;
use crate::text::Element;
use crate::units::decimal;

/// RFC 7946: one point per site, in walking order.
#[must_use]
pub fn as_geojson(field: &str, sites: &[Site]) -> String {
    let features: Vec<_> = sites
        .iter()
        .map(|site| {
            json!({
                "type": "Feature",
                "properties": { "order": site.order, "why": site.why },
                "geometry": { "type": "Point", "coordinates": [site.longitude, site.latitude] },
            })
        })
        .collect();
    let collection = json!({ "type": "FeatureCollection", "name": format!("{field}: sites for cores"), "features": features });
    format!("{collection:#}\n")
}

/// GPX 1.1: one waypoint per site and a route in walking order (<https://www.topografix.com/GPX/1/1/>).
#[must_use]
pub fn as_gpx(field: &str, sites: &[Site]) -> String {
    let points = |tag| sites.iter().map(move |site| point(tag, site));
    let route = Element::new("rte")
        .holding([Element::new("name").saying(field)])
        .holding(points("rtept"));
    Element::new("gpx")
        .with("version", "1.1")
        .with("creator", "lowstave")
        .with("xmlns", "http://www.topografix.com/GPX/1/1")
        .holding(points("wpt"))
        .holding([route])
        .document()
}

fn point(tag: &'static str, site: &Site) -> Element {
    Element::new(tag)
        .with("lat", decimal(site.latitude, 7))
        .with("lon", decimal(site.longitude, 7))
        .holding([
            Element::new("name").saying(site.order.to_string()),
            Element::new("desc").saying(&site.why),
        ])
}

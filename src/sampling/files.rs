//! Sites as files that a phone or a hand-held receiver takes.

use quick_xml::escape::escape;
use serde_json::json;

use super::Site;
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
    let mut text = String::from(concat!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n",
        "<gpx version=\"1.1\" creator=\"lowstave\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n"
    ));
    let point = |tag: &str, site: &Site| {
        format!(
            "<{tag} lat=\"{}\" lon=\"{}\"><name>{}</name><desc>{}</desc></{tag}>\n",
            decimal(site.latitude, 7),
            decimal(site.longitude, 7),
            site.order,
            escape(site.why.as_str())
        )
    };
    for site in sites {
        text.push_str(&point("wpt", site));
    }
    text.push_str(&format!("<rte><name>{}</name>\n", escape(field)));
    for site in sites {
        text.push_str(&point("rtept", site));
    }
    text.push_str("</rte>\n</gpx>\n");
    text
}

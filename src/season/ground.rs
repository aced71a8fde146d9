//! The ground that readings are laid on: zones and check strips of an earlier run, on the field's plane.

use geo::{Intersects, MultiPolygon, Point, Polygon};

/// A zone of the run.
#[derive(Debug, Clone)]
pub struct ZoneGround {
    /// Its number.
    pub number: u32,
    /// Area on the ellipsoid, m².
    pub area_m2: f64,
    /// Outline on the field's plane, the check strips not cut out.
    pub shape: MultiPolygon<f64>,
}

/// A check strip of the run, the piece of it in one zone.
#[derive(Debug, Clone)]
pub struct StripGround {
    /// Its name.
    pub name: String,
    /// Number of its zone.
    pub zone: u32,
    /// Outline on the field's plane.
    pub shape: Polygon<f64>,
}

/// All zones and strips.
#[derive(Debug, Clone, Default)]
pub struct SeasonGround {
    /// Zones by rising number.
    pub zones: Vec<ZoneGround>,
    /// Strips.
    pub strips: Vec<StripGround>,
}

/// Where a reading was made.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Spot {
    /// Number of the zone.
    pub zone: u32,
    /// The check strip, where it lies on one.
    pub strip: Option<String>,
}

impl SeasonGround {
    /// Zone and strip of a place on the plane; `None` outside every zone.
    #[must_use]
    pub fn spot(&self, x: f64, y: f64) -> Option<Spot> {
        let point = Point::new(x, y);
        let strip = self
            .strips
            .iter()
            .find(|strip| strip.shape.intersects(&point));
        let zone = match strip {
            Some(strip) => Some(strip.zone),
            None => {
                let mut zones = self.zones.iter();
                zones
                    .find(|zone| zone.shape.intersects(&point))
                    .map(|zone| zone.number)
            }
        };
        zone.map(|zone| Spot {
            zone,
            strip: strip.map(|strip| strip.name.clone()),
        })
    }

    /// Names of the strips in words, for a message.
    #[must_use]
    pub fn strip_names(&self) -> String {
        let mut names: Vec<String> = self
            .strips
            .iter()
            .map(|strip| format!("\"{}\"", strip.name))
            .collect();
        names.sort();
        names.dedup();
        if names.is_empty() {
            ": it has none".to_owned()
        } else {
            format!(": its strips are {}", names.join(", "))
        }
    }
}

//! The only file that names PROJ: from any coordinate system to degrees, and between degrees and the field's own plane.

use std::cell::RefCell;
use std::sync::Once;

use proj::{Proj, ProjError};
use serde::{Deserialize, Serialize};
use thiserror::Error;

use crate::text::shorten;

use super::meridian;

/// Why coordinates cannot be brought to or from the field's plane.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ProjectionError {
    /// PROJ does not know the coordinate system.
    #[error(
        "the coordinate system \"{}\" is not known ({cause}); write a code such as \"EPSG:4326\" or give a .prj file",
        shorten(crs)
    )]
    UnknownCrs {
        /// The system as the file or the plan says it.
        crs: String,
        /// What PROJ said.
        cause: String,
    },
    /// A point cannot be projected.
    #[error(
        "the point ({x}, {y}) cannot be brought from \"{}\" to degrees ({cause}); are x and y swapped?",
        shorten(crs)
    )]
    Outside {
        /// The system.
        crs: String,
        /// First coordinate.
        x: f64,
        /// Second coordinate.
        y: f64,
        /// What PROJ said.
        cause: String,
    },
}

/// The field's own metric plane: a transverse Mercator of WGS 84 with scale 1 on the field's middle.
///
/// A zone of the universal grid breaks the area rule of 0.1 % towards its edges (down to 0.195 % at the equator);
/// here areas agree with the ellipsoid to 0.000 001 % within 20 km.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WorkingCrs {
    /// Longitude of the origin, degrees.
    pub longitude: f64,
    /// Latitude of the origin, degrees.
    pub latitude: f64,
}

impl WorkingCrs {
    /// The plane centred on a place; rounded to 4 decimals so that each run and each subset of a field has the same.
    #[must_use]
    pub fn centred_on(longitude: f64, latitude: f64) -> Self {
        let round = |degrees: f64| (degrees * 1e4).round() / 1e4;
        Self {
            longitude: round(longitude - meridian::turns(longitude)),
            latitude: round(latitude),
        }
    }

    /// The plane as a PROJ string.
    #[must_use]
    pub fn definition(&self) -> String {
        format!(
            "+proj=tmerc +lat_0={} +lon_0={} +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs +type=crs",
            self.latitude, self.longitude
        )
    }

    /// Degrees (longitude, latitude) to metres (east, north) in place.
    ///
    /// # Errors
    /// Where a point cannot be projected.
    pub fn project(&self, points: &mut [(f64, f64)]) -> Result<(), ProjectionError> {
        self.with_plane(|plane| {
            points.iter_mut().try_for_each(|p| {
                *p = plane.to_metres(p.0, p.1)?;
                Ok(())
            })
        })
    }

    /// Metres (east, north) to degrees (longitude, latitude) in place.
    ///
    /// # Errors
    /// Where a point cannot be projected.
    pub fn unproject(&self, points: &mut [(f64, f64)]) -> Result<(), ProjectionError> {
        self.with_plane(|plane| {
            points.iter_mut().try_for_each(|p| {
                *p = plane.to_degrees(p.0, p.1)?;
                Ok(())
            })
        })
    }

    /// The same for the vertices of an outline, whose longitudes run on beyond 180 degrees where the field lies on both sides.
    ///
    /// # Errors
    /// Where a point cannot be projected.
    pub fn unproject_outline(&self, points: &mut [(f64, f64)]) -> Result<(), ProjectionError> {
        self.unproject(points)?;
        for (longitude, _) in points {
            *longitude += meridian::turns(self.longitude - *longitude);
        }
        Ok(())
    }

    /// Does work with this plane's transformer, which each thread makes once: making one costs milliseconds, and it
    /// cannot be handed to another thread.
    pub(super) fn with_plane<T>(
        &self,
        work: impl FnOnce(&Plane) -> Result<T, ProjectionError>,
    ) -> Result<T, ProjectionError> {
        PLANE.with_borrow_mut(|kept| match kept {
            Some(plane) if plane.crs == *self => work(plane),
            _ => work(kept.insert(Plane::new(*self)?)),
        })
    }
}

/// Opens PROJ's database, which takes milliseconds the first time in a process; whoever needs it later finds it open. That it cannot be
/// opened is told by whoever needs it.
pub fn open_ahead() {
    static OPENED: Once = Once::new();
    OPENED.call_once(|| {
        let nowhere = WorkingCrs::centred_on(0.0, 0.0);
        drop(Plane::new(nowhere));
    });
}

thread_local! {
    static PLANE: RefCell<Option<Plane>> = const { RefCell::new(None) };
}

/// The way between degrees and a field's plane, both directions.
pub(super) struct Plane {
    crs: WorkingCrs,
    transformer: Proj,
}

impl Plane {
    fn new(crs: WorkingCrs) -> Result<Self, ProjectionError> {
        let steps = format!(
            "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad +step +proj=tmerc +lat_0={} +lon_0={} +k=1 +x_0=0 +y_0=0 +ellps=WGS84",
            crs.latitude, crs.longitude
        );
        let transformer = Proj::new(&steps).map_err(|cause| ProjectionError::UnknownCrs {
            crs: steps,
            cause: cause.to_string(),
        })?;
        Ok(Self { crs, transformer })
    }

    pub(super) fn to_metres(
        &self,
        longitude: f64,
        latitude: f64,
    ) -> Result<(f64, f64), ProjectionError> {
        finite(
            self.transformer.project((longitude, latitude), false),
            longitude,
            latitude,
            "EPSG:4326",
        )
    }

    fn to_degrees(&self, east: f64, north: f64) -> Result<(f64, f64), ProjectionError> {
        finite(
            self.transformer.project((east, north), true),
            east,
            north,
            "the field's plane",
        )
    }
}

/// Whether a CRS text means degrees on WGS 84, x = longitude: nothing needs to be done.
fn is_degrees(crs: &str) -> bool {
    let plain = crs.trim().to_ascii_uppercase();
    matches!(
        plain.as_str(),
        "EPSG:4326"
            | "OGC:CRS84"
            | "URN:OGC:DEF:CRS:OGC:1.3:CRS84"
            | "URN:OGC:DEF:CRS:EPSG::4326"
            | "WGS84"
            | "WGS 84"
    ) || plain.starts_with("GEOGCS[\"GCS_WGS_1984\"")
}

/// What PROJ did on the way from a system to degrees.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Route {
    /// Name of the operation.
    pub description: String,
    /// Accuracy in metres; `None` where PROJ does not state it.
    pub accuracy_m: Option<f64>,
    /// Whether PROJ ignored the datum for want of a better way.
    pub is_ballpark: bool,
}

/// The way from one coordinate system to degrees (longitude, latitude on WGS 84).
pub(super) struct ToDegrees {
    crs: String,
    /// `None` where the system is degrees already.
    transformer: Option<Proj>,
}

impl ToDegrees {
    /// The way from a system.
    ///
    /// # Errors
    /// Where the system is not known.
    pub(super) fn from(crs: &str) -> Result<Self, ProjectionError> {
        if is_degrees(crs) {
            return Ok(Self {
                crs: crs.to_owned(),
                transformer: None,
            });
        }
        let unknown = |cause: String| ProjectionError::UnknownCrs {
            crs: crs.to_owned(),
            cause,
        };
        let transformer = Proj::new_known_crs(crs, "EPSG:4326", None)
            .map_err(|cause| unknown(cause.to_string()))?;
        Ok(Self {
            crs: crs.to_owned(),
            transformer: Some(transformer),
        })
    }

    /// Whether nothing needs to be done.
    pub(super) fn is_identity(&self) -> bool {
        self.transformer.is_none()
    }

    /// One point in degrees.
    ///
    /// # Errors
    /// Where the point cannot be projected or lies outside the range of degrees.
    pub(super) fn point(&self, x: f64, y: f64) -> Result<(f64, f64), ProjectionError> {
        let (longitude, latitude) = match &self.transformer {
            None => (x, y),
            Some(transformer) => convert_point(transformer, x, y, &self.crs)?,
        };
        if longitude.abs() > 180.0 || latitude.abs() > 90.0 {
            let cause = "longitude runs from -180 to 180, latitude from -90 to 90".to_owned();
            return Err(ProjectionError::Outside {
                crs: self.crs.clone(),
                x,
                y,
                cause,
            });
        }
        Ok((longitude, latitude))
    }

    /// What PROJ did; asked after at least one point, since PROJ chooses by place.
    pub(super) fn route(&self) -> Route {
        let Some(transformer) = &self.transformer else {
            return Route {
                description: "none".to_owned(),
                accuracy_m: Some(0.0),
                is_ballpark: false,
            };
        };
        let info = transformer.proj_info();
        let description = info.description.unwrap_or_default();
        let is_ballpark = description.to_ascii_lowercase().contains("ballpark");
        Route {
            description,
            accuracy_m: (info.accuracy >= 0.0).then_some(info.accuracy),
            is_ballpark,
        }
    }
}

fn convert_point(
    transformer: &Proj,
    x: f64,
    y: f64,
    crs: &str,
) -> Result<(f64, f64), ProjectionError> {
    finite(transformer.convert((x, y)), x, y, crs)
}

/// What PROJ made of a point, or what is wrong with it.
fn finite(
    converted: Result<(f64, f64), ProjError>,
    x: f64,
    y: f64,
    crs: &str,
) -> Result<(f64, f64), ProjectionError> {
    let outside = |cause: String| ProjectionError::Outside {
        crs: crs.to_owned(),
        x,
        y,
        cause,
    };
    match converted {
        Ok(found) if found.0.is_finite() && found.1.is_finite() => Ok(found),
        Ok(_) => Err(outside("the result is not finite".to_owned())),
        Err(cause) => Err(outside(cause.to_string())),
    }
}

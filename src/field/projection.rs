//! The only file that names PROJ: from any coordinate system to degrees, and between degrees and the field's own plane.

use proj::{Proj, ProjBuilder};
use serde::Serialize;
use thiserror::Error;

use super::proj_database::{self, DatabaseError};

/// Why coordinates cannot be brought to or from the field's plane.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum ProjectionError {
    /// PROJ does not know the coordinate system.
    #[error("the coordinate system \"{crs}\" is not known ({cause}); write a code such as \"EPSG:4326\" or give a .prj file")]
    UnknownCrs {
        /// The system as the file or the plan says it.
        crs: String,
        /// What PROJ said.
        cause: String,
    },
    /// A point cannot be projected.
    #[error("the point ({x}, {y}) cannot be brought from \"{crs}\" to degrees ({cause}); are x and y swapped?")]
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
    /// PROJ's own database of coordinate systems is not to be had.
    #[error(transparent)]
    Database(#[from] DatabaseError),
}

/// The field's own metric plane: a transverse Mercator of WGS 84 with scale 1 on the field's middle.
///
/// A zone of the universal grid breaks the area rule of 0.1 % towards its edges (down to 0.195 % at the equator);
/// here areas agree with the ellipsoid to 0.000 001 % within 20 km.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
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
        Self { longitude: round(longitude), latitude: round(latitude) }
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
        convert(&self.pipeline(false)?, points, "EPSG:4326")
    }

    /// Metres (east, north) to degrees (longitude, latitude) in place.
    ///
    /// # Errors
    /// Where a point cannot be projected.
    pub fn unproject(&self, points: &mut [(f64, f64)]) -> Result<(), ProjectionError> {
        convert(&self.pipeline(true)?, points, &self.definition())
    }

    /// A pipeline needs no database, so that a plan in degrees starts at once.
    fn pipeline(&self, is_inverse: bool) -> Result<Proj, ProjectionError> {
        let degrees = "+proj=unitconvert +xy_in=deg +xy_out=rad";
        let plane = format!("+proj=tmerc +lat_0={} +lon_0={} +k=1 +x_0=0 +y_0=0 +ellps=WGS84", self.latitude, self.longitude);
        let steps = if is_inverse {
            format!("+proj=pipeline +step +inv {plane} +step +proj=unitconvert +xy_in=rad +xy_out=deg")
        } else {
            format!("+proj=pipeline +step {degrees} +step {plane}")
        };
        Proj::new(&steps).map_err(|cause| ProjectionError::UnknownCrs { crs: steps, cause: cause.to_string() })
    }
}

/// Whether a CRS text means degrees on WGS 84, x = longitude: nothing needs to be done.
#[must_use]
pub fn is_degrees(crs: &str) -> bool {
    let plain = crs.trim().to_ascii_uppercase();
    matches!(
        plain.as_str(),
        "EPSG:4326" | "OGC:CRS84" | "URN:OGC:DEF:CRS:OGC:1.3:CRS84" | "URN:OGC:DEF:CRS:EPSG::4326" | "WGS84" | "WGS 84"
    ) || plain.starts_with("GEOGCS[\"GCS_WGS_1984\"")
}

/// What PROJ did on the way from a system to degrees.
#[derive(Debug, Clone, PartialEq)]
pub struct Route {
    /// Name of the operation.
    pub description: String,
    /// Accuracy in metres; `None` where PROJ does not state it.
    pub accuracy_m: Option<f64>,
    /// Whether PROJ ignored the datum for want of a better way.
    pub is_ballpark: bool,
}

/// Any coordinate system to degrees (longitude, latitude on WGS 84) in place.
///
/// # Errors
/// Where the system is not known, its database cannot be found, or a point cannot be projected.
pub fn to_degrees(crs: &str, points: &mut [(f64, f64)]) -> Result<Route, ProjectionError> {
    if is_degrees(crs) {
        return Ok(Route { description: "none".to_owned(), accuracy_m: Some(0.0), is_ballpark: false });
    }
    let mut builder = ProjBuilder::new();
    let folder = proj_database::folder()?;
    builder.set_search_paths(&folder).map_err(|cause| ProjectionError::UnknownCrs { crs: crs.to_owned(), cause: cause.to_string() })?;
    let transformer = builder
        .proj_known_crs(crs, "EPSG:4326", None)
        .map_err(|cause| ProjectionError::UnknownCrs { crs: crs.to_owned(), cause: cause.to_string() })?;
    convert(&transformer, points, crs)?;
    let info = transformer.proj_info();
    let description = info.description.unwrap_or_default();
    let is_ballpark = description.to_ascii_lowercase().contains("ballpark");
    Ok(Route { description, accuracy_m: (info.accuracy >= 0.0).then_some(info.accuracy), is_ballpark })
}

fn convert(transformer: &Proj, points: &mut [(f64, f64)], crs: &str) -> Result<(), ProjectionError> {
    for point in points.iter_mut() {
        let (x, y) = *point;
        let outside = |cause: String| ProjectionError::Outside { crs: crs.to_owned(), x, y, cause };
        let converted = transformer.convert((x, y)).map_err(|cause| outside(cause.to_string()))?;
        if !(converted.0.is_finite() && converted.1.is_finite()) {
            return Err(outside("the result is not finite".to_owned()));
        }
        *point = converted;
    }
    Ok(())
}

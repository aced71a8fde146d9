//! The observations on the field's plane: where each stands, which are used, and what is wrong when none lies on the field.

use geo::{BoundingRect, MultiPolygon};

use super::inside::Inside;
use super::projection::{Route, WorkingCrs};
use super::projection_polynomial::ProjectionPolynomial;
use super::{FieldError, FieldLayer, Places};
use crate::intake::{ConeProfiles, LayerColumn, PointTable};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::{Length, UnitSystem};

/// Observations up to this far outside the boundary are used (own): a core at the fence is soil of the field, and a
/// hand-held receiver is off by some metres.
const NEAR_M: f64 = 20.0;
/// An operation less accurate than this deserves an eye, metres: it is more than a usual cell.
const POOR_ACCURACY_M: f64 = 5.0;
/// How many points outside are named one by one.
const NAMED: usize = 5;

/// One table on the field's plane.
pub(super) struct Located {
    pub(super) places: Places,
    pub(super) layers: Vec<FieldLayer>,
    pub(super) cone: Option<ConeProfiles>,
}

/// Brings a table to the plane and sorts out what stands outside.
pub(super) fn locate(
    mut table: PointTable,
    index: usize,
    (crs, projection_polynomial): (&WorkingCrs, Option<&ProjectionPolynomial>),
    inside: &Inside<'_>,
    units: UnitSystem,
    remarks: &mut Vec<Remark>,
) -> Result<Located, FieldError> {
    let place = Place::file(table.file.clone());
    let (mut x, mut y) = (std::mem::take(&mut table.x), std::mem::take(&mut table.y));
    let route = crs
        .project_columns(&table.crs, &mut x, &mut y, projection_polynomial)
        .map_err(|cause| FieldError::Projection {
            place: place.clone(),
            cause,
        })?;
    check_route(&route, &table.crs, &place, remarks)?;
    let (near, outside): (Vec<_>, Vec<_>) = inside
        .strays(&x, &y)
        .into_iter()
        .partition(|(_, distance)| *distance <= NEAR_M);
    let show = |metres: f64| Length::from_metres(metres).show(units, 0);
    if !near.is_empty() {
        remarks.push(near_remark(&near, &show).at(place.clone()));
    }
    if !outside.is_empty() && outside.len() < x.len() {
        remarks.push(outside_remark(&outside, &table, &show).at(place.clone()));
    }
    let layers = table
        .layers
        .into_iter()
        .map(|layer| layer_inside(layer, index, &outside))
        .collect();
    let places = Places {
        file: table.file,
        kind: table.kind,
        x,
        y,
        row: table.row,
        id: table.id,
        outside,
    };
    Ok(Located {
        places,
        layers,
        cone: table.cone,
    })
}

/// A layer without the results of the points outside.
fn layer_inside(mut layer: LayerColumn, places: usize, outside: &[(u32, f64)]) -> FieldLayer {
    for &(at, _) in outside {
        layer.values[at as usize] = f64::NAN;
    }
    layer
        .qualified
        .retain(|(at, _)| outside.binary_search_by_key(at, |o| o.0).is_err());
    FieldLayer {
        key: layer.key,
        places,
        column: layer.column,
        unit: layer.unit,
        values: layer.values,
        qualified: layer.qualified,
        derived: layer.derived,
    }
}

fn near_remark(near: &[(u32, f64)], show: &dyn Fn(f64) -> String) -> Remark {
    let most = near.iter().map(|n| n.1).fold(0.0, f64::max);
    Remark::info(
        "points-near-boundary",
        format!(
            "{} point(s) stand up to {} outside the boundary and are used all the same",
            near.len(),
            show(most)
        ),
    )
}

fn outside_remark(
    outside: &[(u32, f64)],
    table: &PointTable,
    show: &dyn Fn(f64) -> String,
) -> Remark {
    let name = |&(at, distance): &(u32, f64)| {
        let row = table.row.get(at as usize).copied().unwrap_or_default();
        format!("row {row} by {}", show(distance))
    };
    let mut named: Vec<String> = outside.iter().take(NAMED).map(name).collect();
    if outside.len() > NAMED {
        named.push(format!("and {} more", outside.len() - NAMED));
    }
    Remark::warning(
        "points-outside-boundary",
        format!(
            "{} point(s) stand outside the boundary and are not used: {}",
            outside.len(),
            named.join(", ")
        ),
    )
    .help("check the boundary and the places of these points, or take the rows out of the file")
}

/// Refuses a way that ignores the datum; tells of one that is not accurate.
pub(super) fn check_route(
    route: &Route,
    crs: &str,
    place: &Place,
    remarks: &mut Vec<Remark>,
) -> Result<(), FieldError> {
    let crs = short_name(crs);
    if route.is_ballpark {
        return Err(FieldError::Ballpark {
            place: place.clone(),
            crs: crs.to_owned(),
            route: route.description.clone(),
        });
    }
    match route.accuracy_m {
        Some(accuracy) if accuracy > POOR_ACCURACY_M => remarks.push(
            Remark::warning(
                "crs-accuracy",
                format!("the way from \"{crs}\" to WGS 84 (\"{}\") is accurate to about {accuracy:.0} m only", route.description),
            )
            .at(place.clone())
            .help("export the data in WGS 84 degrees (EPSG:4326)"),
        ),
        Some(accuracy) if accuracy > 0.0 => remarks.push(
            Remark::info(
                "crs-accuracy",
                format!("\"{crs}\" was brought to WGS 84 by \"{}\", accurate to about {accuracy:.0} m", route.description),
            )
            .at(place.clone()),
        ),
        _ => {}
    }
    Ok(())
}

/// A coordinate system as a person names it: the name that stands first in a long definition, else the whole text.
fn short_name(crs: &str) -> &str {
    let starts = ["PROJCS[\"", "GEOGCS[\"", "PROJCRS[\"", "GEOGCRS[\""];
    let rest = starts.iter().find_map(|start| crs.strip_prefix(start));
    rest.and_then(|rest| rest.split('"').next()).unwrap_or(crs)
}

/// What is wrong when no point of a table lies on the field.
pub(super) fn all_outside(
    places: &Places,
    boundary: &MultiPolygon<f64>,
    swapped_fits: bool,
    names: (&str, &str),
    units: UnitSystem,
) -> FieldError {
    let place = Place::file(places.file.clone());
    if swapped_fits {
        return FieldError::Swapped {
            place,
            x: names.0.into(),
            y: names.1.into(),
        };
    }
    let (mut nearest, mut from) = (f64::INFINITY, (0.0, 0.0));
    for &(at, distance) in &places.outside {
        if distance < nearest {
            nearest = distance;
            from = (places.x[at as usize], places.y[at as usize]);
        }
    }
    let centre = boundary
        .bounding_rect()
        .map_or((0.0, 0.0), |r| (r.center().x, r.center().y));
    let direction = compass(from.0 - centre.0, from.1 - centre.1);
    let spread = |values: &[f64]| {
        let (low, high) = values
            .iter()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| {
                (l.min(*v), h.max(*v))
            });
        high - low
    };
    let extent = boundary
        .bounding_rect()
        .map_or(0.0, |r| r.width().max(r.height()));
    let alike = spread(&places.x).max(spread(&places.y)) < 2.0 * extent;
    let hint = if alike {
        "; they spread as wide as the field, so the crs of the points or of the boundary is probably wrong (another zone, another datum, a false origin)"
    } else {
        "; check that points and boundary are of the same field, and the crs of both"
    };
    let distance = Length::from_metres(nearest).show(units, 0);
    FieldError::AllOutside {
        place,
        count: places.x.len(),
        distance,
        direction,
        hint: hint.to_owned(),
    }
}

/// A few dozen points of a table, which tell as well as a million whether x and y are swapped.
pub(super) struct Probe {
    crs: String,
    x: Vec<f64>,
    y: Vec<f64>,
}

/// Takes the probe before the table's coordinates are brought to the plane.
pub(super) fn probe(table: &PointTable) -> Probe {
    let step = table.x.len().div_ceil(50).max(1);
    let every = |values: &[f64]| values.iter().step_by(step).copied().collect();
    Probe {
        crs: table.crs.clone(),
        x: every(&table.x),
        y: every(&table.y),
    }
}

/// Whether most points would lie on the field if x and y changed places.
pub(super) fn fits_when_swapped(probe: &Probe, crs: &WorkingCrs, inside: &Inside<'_>) -> bool {
    let (mut x, mut y) = (probe.y.clone(), probe.x.clone());
    if crs
        .project_columns(&probe.crs, &mut x, &mut y, None)
        .is_err()
    {
        return false;
    }
    let on_field = x
        .iter()
        .zip(&y)
        .filter(|(x, y)| inside.distance(**x, **y) <= NEAR_M)
        .count();
    on_field * 2 > x.len()
}

/// The point of the compass that a way east and north leads to.
pub(super) fn compass(east: f64, north: f64) -> &'static str {
    const NAMES: [&str; 8] = [
        "north",
        "north-east",
        "east",
        "south-east",
        "south",
        "south-west",
        "west",
        "north-west",
    ];
    let eighths = (east.atan2(north).to_degrees() / 45.0)
        .round()
        .rem_euclid(8.0);
    NAMES[eighths as usize % 8]
}

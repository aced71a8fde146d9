//! Earlier zones laid over today's: by area, cell by cell. A number that a zone had then means nothing now.

use geo::{BoundingRect, Contains, Coord, LineString, MultiPolygon, Point, Polygon, Rect};

use super::error::PastError;
use super::past_run::PastRun;
use crate::field::Field;
use crate::zones::Zones;

/// Least share of today's ground that an earlier run of the same field covers.
const SAME_FIELD: f64 = 0.5;

/// Which earlier zones today's zones lie on.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// For each of `Zones::zones`: number of an earlier zone and the share of today's zone that lies on it; the largest first.
    pub shares: Vec<Vec<(u32, f64)>>,
    /// Share of today's ground that the earlier zones cover.
    pub covered: f64,
    /// Number of the earlier zone of each cell of the grid.
    pub of_cell: Vec<Option<u32>>,
}

impl Ground {
    /// Lays an earlier run over today's zones.
    ///
    /// # Errors
    /// Where the run is of another field.
    pub fn lay(run: &PastRun, field: &Field, zones: &Zones, name: &str) -> Result<Self, PastError> {
        let earlier = on_plane(run, field);
        let mut areas: Vec<Vec<(u32, f64)>> = vec![Vec::new(); zones.zones.len()];
        let mut totals = vec![0.0; zones.zones.len()];
        let mut of_cell = Vec::with_capacity(field.grid.cells.len());
        for ((cell, share), zone) in field
            .grid
            .cells
            .iter()
            .zip(&field.grid.share)
            .zip(&zones.of_cell)
        {
            let (Some(areas), Some(total)) = (
                areas.get_mut(usize::from(*zone)),
                totals.get_mut(usize::from(*zone)),
            ) else {
                of_cell.push(None);
                continue;
            };
            let share = f64::from(*share);
            *total += share;
            let (x, y) = field.grid.centre(*cell);
            let found = zone_at(&earlier, x, y);
            of_cell.push(found);
            let Some(number) = found else {
                continue;
            };
            match areas.iter_mut().find(|(known, _)| *known == number) {
                Some((_, area)) => *area += share,
                None => areas.push((number, share)),
            }
        }
        let all: f64 = totals.iter().sum();
        let on_earlier: f64 = areas.iter().flatten().map(|(_, area)| area).sum();
        let covered = if all > 0.0 { on_earlier / all } else { 0.0 };
        if covered < SAME_FIELD {
            return Err(PastError::OtherField {
                place: run.place.clone(),
                folder: run.folder.clone(),
                then: run.record.field.clone(),
                now: name.to_owned(),
                covered: crate::units::decimal(100.0 * covered, 0),
            });
        }
        for (areas, total) in areas.iter_mut().zip(&totals) {
            areas.iter_mut().for_each(|(_, area)| *area /= total);
            areas.sort_by(|a, b| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0)));
        }
        Ok(Self {
            shares: areas,
            covered,
            of_cell,
        })
    }

    /// The earlier zones under one of today's, with shares that add up to 1 over the ground that was covered.
    pub(super) fn under(&self, zone: usize) -> Vec<(u32, f64)> {
        let shares = self.shares.get(zone).map_or(&[][..], Vec::as_slice);
        let sum: f64 = shares.iter().map(|(_, share)| share).sum();
        shares
            .iter()
            .map(|(number, share)| (*number, share / sum.max(f64::MIN_POSITIVE)))
            .collect()
    }
}

/// An earlier zone on today's plane.
struct Laid {
    number: u32,
    bounds: Rect<f64>,
    shape: MultiPolygon<f64>,
}

/// The outlines on today's plane; one that cannot be brought there lies on another part of the earth.
fn on_plane(run: &PastRun, field: &Field) -> Vec<Laid> {
    run.outlines
        .iter()
        .filter_map(|outline| {
            let polygons = outline.shape.iter().map(|polygon| {
                let inner = polygon.interiors().iter().map(|ring| placed(ring, field));
                Some(Polygon::new(
                    placed(polygon.exterior(), field)?,
                    inner.collect::<Option<Vec<_>>>()?,
                ))
            });
            let shape = MultiPolygon(polygons.collect::<Option<Vec<_>>>()?);
            Some(Laid {
                number: outline.zone,
                bounds: shape.bounding_rect()?,
                shape,
            })
        })
        .collect()
}

/// A ring of degrees on the field's plane.
fn placed(ring: &LineString<f64>, field: &Field) -> Option<LineString<f64>> {
    let mut corners: Vec<(f64, f64)> = ring.coords().map(|corner| (corner.x, corner.y)).collect();
    field.crs.project(&mut corners).ok()?;
    let corners = corners.into_iter().map(|(x, y)| Coord { x, y });
    Some(LineString(corners.collect()))
}

/// Number of the earlier zone of each cell of today's grid.
pub(super) fn zones_of_cells(run: &PastRun, field: &Field) -> Vec<Option<u32>> {
    let earlier = on_plane(run, field);
    let cells = field.grid.cells.iter();
    cells
        .map(|cell| {
            let (x, y) = field.grid.centre(*cell);
            zone_at(&earlier, x, y)
        })
        .collect()
}

/// The earlier zone that a place lies in.
fn zone_at(earlier: &[Laid], x: f64, y: f64) -> Option<u32> {
    let place = Coord { x, y };
    let is_near = |laid: &&Laid| laid.bounds.contains(&Point(place));
    let mut near = earlier.iter().filter(is_near);
    near.find(|laid| laid.shape.contains(&Point(place)))
        .map(|laid| laid.number)
}

/// Index of the zone of today that a place on the plane lies in.
pub(super) fn zone_of_today(field: &Field, zones: &Zones, x: f64, y: f64) -> Option<usize> {
    let slot = field.grid.slot(field.grid.cell_at(x, y)?)?;
    zones.of_cell.get(slot).map(|zone| usize::from(*zone))
}

//! Places that the plan draws become zones of their own: their cells are taken out of the zones that they lie in, and the outlines are
//! drawn again. The line follows the drawn one to half a cell, as every line between zones does.

use geo::{BoundingRect, Contains, LineString, Point, Polygon, Validation};

use super::error::ZoneError;
use super::outline::{self, Sheet};
use super::partition::{DrawnPlace, Undrawn, Zones};
use super::raster::{Plane, Raster};
use super::{MOST_ZONES, cells, check_tiling, zone};
use crate::field::Field;
use crate::plan::{Override, Settings, ZoneShape};
use crate::provenance::Place;
use crate::units::Area;

/// A drawn place on the field's plane.
struct Drawn<'a> {
    said: &'a Override,
    shape: Polygon<f64>,
}

/// Zones that were drawn again.
#[derive(Debug)]
pub struct Redrawn {
    /// The zones.
    pub zones: Zones,
    /// What became of each zone that there was; nothing where drawn places cover it whole.
    pub became: Vec<Option<usize>>,
}

/// The zones with every place that the plan's overrides draw as a zone of its own, behind the others, which keep their order. A plan that
/// draws none gets its zones back as they are.
///
/// # Errors
/// All drawn places at once that cross themselves, lie outside of the field, overlap, or are smaller or narrower than can be driven; zones
/// along the passes, which are rectangles; what the drawing of outlines refuses.
pub fn with_drawn_places(
    zones: Zones,
    field: &Field,
    settings: &Settings,
) -> Result<Redrawn, Vec<ZoneError>> {
    let places = places(field, settings)?;
    let Some(first) = places.first() else {
        let became = (0..zones.zones.len()).map(Some).collect();
        return Ok(Redrawn { zones, became });
    };
    if settings.zones.shape == ZoneShape::AlongPasses {
        let what = "zones along the passes are rectangles, and a drawn place is none; take shape = \"along passes\" out of [zones], or say `at` in place of `inside`";
        return Err(vec![wrong(&first.said.place, what)]);
    }
    let before = zones.zones.len();
    if before + places.len() > MOST_ZONES {
        return Err(vec![ZoneError::Count {
            found: before + places.len(),
            most: MOST_ZONES,
        }]);
    }
    let labels = labels(&zones, &places, field, settings)?;
    redrawn(zones, &labels, &places, field, settings)
}

fn wrong(place: &Place, what: impl Into<String>) -> ZoneError {
    ZoneError::DrawnPlace {
        place: place.clone(),
        what: what.into(),
    }
}

/// The drawn places, each once, though several rates may be said for it.
fn places<'a>(field: &Field, settings: &'a Settings) -> Result<Vec<Drawn<'a>>, Vec<ZoneError>> {
    let (mut places, mut errors): (Vec<Drawn<'a>>, _) = (Vec::new(), Vec::new());
    let drawn = settings.overrides.iter();
    for said in drawn.filter(|said| !said.inside.is_empty()) {
        if places.iter().any(|known| known.said.inside == said.inside) {
            continue;
        }
        let mut corners = said.inside.clone();
        if let Err(error) = field.crs.project(&mut corners) {
            errors.push(ZoneError::Projection(error));
            continue;
        }
        let shape = Polygon::new(LineString::from(corners), Vec::new());
        if shape.is_valid() {
            places.push(Drawn { said, shape });
        } else {
            let what =
                "the line of the drawn place crosses or touches itself; draw it in one round";
            errors.push(wrong(&said.place, what));
        }
    }
    if errors.is_empty() {
        Ok(places)
    } else {
        Err(errors)
    }
}

/// The label of each cell: its zone, or that of the drawn place that its middle lies in.
fn labels(
    zones: &Zones,
    places: &[Drawn<'_>],
    field: &Field,
    settings: &Settings,
) -> Result<Vec<u8>, Vec<ZoneError>> {
    let grid = &field.grid;
    let before = zones.zones.len();
    let mut labels: Vec<u8> = zones.of_cell.iter().map(|zone| *zone as u8).collect();
    let mut errors = Vec::new();
    for (at, place) in places.iter().enumerate() {
        let (label, mut cells, mut overlaps) = ((before + at) as u8, 0.0, false);
        for (own, (&cell, share)) in labels.iter_mut().zip(grid.cells.iter().zip(&grid.share)) {
            if !is_inside(place, grid.centre(cell)) {
                continue;
            }
            overlaps |= usize::from(*own) >= before;
            *own = label;
            cells += f64::from(*share);
        }
        if overlaps {
            let what = "this drawn place lies over another one; draw the two apart, or say both rates for the same corners";
            errors.push(wrong(&place.said.place, what));
        }
        errors.extend(too_small(place, cells * grid.cell.powi(2), settings));
    }
    if errors.is_empty() {
        Ok(labels)
    } else {
        Err(errors)
    }
}

fn is_inside(place: &Drawn<'_>, (x, y): (f64, f64)) -> bool {
    let at = Point::new(x, y);
    let bounds = place.shape.bounding_rect();
    bounds.is_some_and(|bounds| bounds.contains(&at)) && place.shape.contains(&at)
}

fn too_small(place: &Drawn<'_>, square_metres: f64, settings: &Settings) -> Option<ZoneError> {
    let show = |area: Area| area.show(settings.units, 2);
    let (own, smallest) = (
        Area::from_square_metres(square_metres),
        settings.zones.smallest,
    );
    if square_metres <= 0.0 {
        let what = "the drawn place lies outside of the workable field; draw it inside the field and outside its keep-outs";
        return Some(wrong(&place.said.place, what));
    }
    (square_metres < smallest.square_metres()).then(|| {
        let what = format!(
            "the drawn place holds {} of the field, less than the smallest patch of {}; draw it larger, or lower zones.smallest",
            show(own),
            show(smallest)
        );
        wrong(&place.said.place, what)
    })
}

/// Outlines of the labels. Nothing is given to a neighbour for its size: what a drawn place leaves of a zone stays that zone.
fn redrawn(
    zones: Zones,
    labels: &[u8],
    places: &[Drawn<'_>],
    field: &Field,
    settings: &Settings,
) -> Result<Redrawn, Vec<ZoneError>> {
    let grid = &field.grid;
    let raster = Raster::new(grid, labels, outline::RIM);
    let half_a_cell = grid.cell / 2.0;
    let tolerance = settings.zones.tolerance;
    let sheet = Sheet {
        field,
        raster: &raster,
        plane: Plane::of_grid(grid, raster.rim),
        tolerance: tolerance.map_or(half_a_cell, |length| length.metres().max(0.0)),
        smallest: 0.0,
        centres: &[],
    };
    let (outlines, handovers) = outline::draw(&sheet).map_err(|error| vec![error])?;
    check_tiling(field, &outlines).map_err(|error| vec![error])?;
    let of_cell = cells::settle(&raster, grid, &outlines, &handovers);
    let before = zones.zones.len();
    let place_of = |label: usize| {
        let mut outlines = outlines.iter();
        outlines.position(|outline| usize::from(outline.label) == label)
    };
    let became: Vec<Option<usize>> = (0..before).map(place_of).collect();
    let undrawn = zones.zones.iter().zip(&became);
    let undrawn = undrawn.map(|(zone, left)| Undrawn {
        lonlat: zone.lonlat.clone(),
        zone: *left,
        number: None,
    });
    let mut drawn = Vec::new();
    for (at, place) in places.iter().enumerate() {
        let Some(zone) = place_of(before + at) else {
            let what = "the drawn place is too narrow to be driven apart; draw it wider";
            return Err(vec![wrong(&place.said.place, what)]);
        };
        drawn.push(DrawnPlace {
            corners: place.said.inside.clone(),
            zone,
            out_of: out_of(&zones, labels, before + at),
        });
    }
    let why = match places.len() {
        1 => "A place that the plan draws is a zone of its own.".to_owned(),
        more => format!("{more} places that the plan draws are zones of their own."),
    };
    let zones = Zones {
        of_cell,
        zones: outlines.into_iter().map(zone).collect(),
        drawn,
        undrawn: undrawn.collect(),
        why: format!("{} {why}", zones.why).trim().to_owned(),
        ..zones
    };
    Ok(Redrawn { zones, became })
}

/// The zone that most of a drawn place was cut out of; of equal ones the first.
fn out_of(zones: &Zones, labels: &[u8], label: usize) -> usize {
    let mut cells = vec![0_usize; zones.zones.len()];
    let own = labels.iter().zip(&zones.of_cell);
    for (_, zone) in own.filter(|(own, _)| usize::from(**own) == label) {
        cells[usize::from(*zone)] += 1;
    }
    let most = cells.iter().copied().max().unwrap_or(0);
    cells.iter().position(|own| *own == most).unwrap_or(0)
}

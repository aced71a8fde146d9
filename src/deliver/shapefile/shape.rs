//! `.shp` and `.shx`: plain polygons (type 5), one part per record.

use std::io::Cursor;

use shapefile::record::polygon::PolygonRing;
use shapefile::{Point, Polygon, ShapeWriter};

use crate::deliver::degrees::{Part, Spot};

/// The bytes of `.shp` and `.shx`. Outer rings run clockwise, holes counter-clockwise, as the format wants it.
///
/// # Errors
/// None where there is a part: the writer only fails where its target does, and that is memory.
pub fn shapes(parts: &[Part]) -> Result<(Vec<u8>, Vec<u8>), shapefile::Error> {
    let (mut shp, mut shx) = (Cursor::new(Vec::new()), Cursor::new(Vec::new()));
    let mut writer = ShapeWriter::with_shx(&mut shp, &mut shx);
    for part in parts {
        writer.write_shape(&polygon(part))?;
    }
    writer.finalize()?;
    drop(writer);
    Ok((shp.into_inner(), shx.into_inner()))
}

fn polygon(part: &Part) -> Polygon {
    let holes = part
        .holes
        .iter()
        .map(|hole| PolygonRing::Inner(points(hole)));
    let rings = std::iter::once(PolygonRing::Outer(points(&part.outer))).chain(holes);
    Polygon::with_rings(rings.collect())
}

/// Closed and backwards: our outer rings run counter-clockwise and our holes clockwise.
fn points(ring: &[Spot]) -> Vec<Point> {
    let spots = ring.first().into_iter().chain(ring.iter().rev());
    spots
        .map(|spot| Point::new(spot.longitude(), spot.latitude()))
        .collect()
}

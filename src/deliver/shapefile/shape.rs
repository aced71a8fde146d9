//! `.shp` and `.shx`: plain polygons (type 5), one ring per record.

use crate::deliver::degrees::{Ring, Spot, bounds};

const FILE_CODE: i32 = 9994;
const VERSION: i32 = 1000;
const POLYGON: i32 = 5;
const HEADER_BYTES: usize = 100;
/// Shape type, box, number of parts, number of points, start of the one part.
const RECORD_START_BYTES: usize = 4 + 32 + 4 + 4 + 4;

/// The bytes of `.shp` and `.shx` for some rings, turned to the format's own order (outer rings clockwise).
#[must_use]
pub fn shapes(rings: &[Ring]) -> (Vec<u8>, Vec<u8>) {
    let spots: usize = rings.iter().map(|ring| ring.len() + 1).sum();
    let shape_bytes = HEADER_BYTES + rings.len() * (8 + RECORD_START_BYTES) + spots * 16;
    let (mut shp, mut shx) = (Vec::with_capacity(shape_bytes), Vec::with_capacity(HEADER_BYTES + rings.len() * 8));
    push_header(&mut shp, shape_bytes, rings);
    push_header(&mut shx, HEADER_BYTES + rings.len() * 8, rings);
    for (index, ring) in rings.iter().enumerate() {
        let content_bytes = RECORD_START_BYTES + (ring.len() + 1) * 16;
        push_big(&mut shx, (shp.len() / 2) as i32);
        push_big(&mut shx, (content_bytes / 2) as i32);
        push_big(&mut shp, index as i32 + 1);
        push_big(&mut shp, (content_bytes / 2) as i32);
        push_ring(&mut shp, ring);
    }
    (shp, shx)
}

fn push_header(out: &mut Vec<u8>, file_bytes: usize, rings: &[Ring]) {
    push_big(out, FILE_CODE);
    out.extend([0; 20]);
    push_big(out, (file_bytes / 2) as i32);
    out.extend(VERSION.to_le_bytes());
    out.extend(POLYGON.to_le_bytes());
    push_box(out, rings.iter().flatten());
    out.extend([0; 32]);
}

fn push_ring(out: &mut Vec<u8>, ring: &[Spot]) {
    out.extend(POLYGON.to_le_bytes());
    push_box(out, ring.iter());
    out.extend(1_i32.to_le_bytes());
    out.extend((ring.len() as i32 + 1).to_le_bytes());
    out.extend(0_i32.to_le_bytes());
    for spot in ring.first().into_iter().chain(ring.iter().rev()) {
        // Counter-clockwise rings are written backwards, from the first spot to the first spot.
        out.extend(spot.longitude().to_le_bytes());
        out.extend(spot.latitude().to_le_bytes());
    }
}

fn push_box<'a>(out: &mut Vec<u8>, spots: impl Iterator<Item = &'a Spot>) {
    let zero = Spot { lon: 0, lat: 0 };
    let (low, high) = bounds(spots).unwrap_or((zero, zero));
    for degrees in [low.longitude(), low.latitude(), high.longitude(), high.latitude()] {
        out.extend(degrees.to_le_bytes());
    }
}

fn push_big(out: &mut Vec<u8>, value: i32) {
    out.extend(value.to_be_bytes());
}

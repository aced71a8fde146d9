//! `.shp` and `.shx`: plain polygons (type 5), one part per record.

use crate::deliver::degrees::{Part, Spot, bounds};

const FILE_CODE: i32 = 9994;
const VERSION: i32 = 1000;
const POLYGON: i32 = 5;
const HEADER_BYTES: usize = 100;
/// Shape type, box, number of rings, number of points.
const RECORD_START_BYTES: usize = 4 + 32 + 4 + 4;

/// The bytes of `.shp` and `.shx`, rings turned to the format's own order: outer rings clockwise, holes counter-clockwise.
#[must_use]
pub fn shapes(parts: &[Part]) -> (Vec<u8>, Vec<u8>) {
    let shape_bytes = HEADER_BYTES
        + parts
            .iter()
            .map(|part| 8 + content_bytes(part))
            .sum::<usize>();
    let index_bytes = HEADER_BYTES + parts.len() * 8;
    let (mut shp, mut shx) = (
        Vec::with_capacity(shape_bytes),
        Vec::with_capacity(index_bytes),
    );
    push_header(&mut shp, shape_bytes, parts);
    push_header(&mut shx, index_bytes, parts);
    for (index, part) in parts.iter().enumerate() {
        let length = (content_bytes(part) / 2) as i32;
        push_big(&mut shx, (shp.len() / 2) as i32);
        push_big(&mut shx, length);
        push_big(&mut shp, index as i32 + 1);
        push_big(&mut shp, length);
        push_part(&mut shp, part);
    }
    (shp, shx)
}

fn rings(part: &Part) -> impl Iterator<Item = &Vec<Spot>> {
    std::iter::once(&part.outer).chain(&part.holes)
}

fn content_bytes(part: &Part) -> usize {
    RECORD_START_BYTES
        + rings(part)
            .map(|ring| 4 + (ring.len() + 1) * 16)
            .sum::<usize>()
}

fn push_header(out: &mut Vec<u8>, file_bytes: usize, parts: &[Part]) {
    push_big(out, FILE_CODE);
    out.extend([0; 20]);
    push_big(out, (file_bytes / 2) as i32);
    out.extend(VERSION.to_le_bytes());
    out.extend(POLYGON.to_le_bytes());
    push_box(out, parts.iter().flat_map(|part| &part.outer));
    out.extend([0; 32]);
}

fn push_part(out: &mut Vec<u8>, part: &Part) {
    out.extend(POLYGON.to_le_bytes());
    push_box(out, part.outer.iter());
    out.extend((part.holes.len() as i32 + 1).to_le_bytes());
    out.extend((rings(part).map(|ring| ring.len() as i32 + 1).sum::<i32>()).to_le_bytes());
    let mut start = 0_i32;
    for ring in rings(part) {
        out.extend(start.to_le_bytes());
        start += ring.len() as i32 + 1;
    }
    for ring in rings(part) {
        // Backwards, from the first spot to the first spot: that turns both kinds of ring.
        for spot in ring.first().into_iter().chain(ring.iter().rev()) {
            out.extend(spot.longitude().to_le_bytes());
            out.extend(spot.latitude().to_le_bytes());
        }
    }
}

fn push_box<'a>(out: &mut Vec<u8>, spots: impl Iterator<Item = &'a Spot>) {
    let zero = Spot { lon: 0, lat: 0 };
    let (low, high) = bounds(spots).unwrap_or((zero, zero));
    for degrees in [
        low.longitude(),
        low.latitude(),
        high.longitude(),
        high.latitude(),
    ] {
        out.extend(degrees.to_le_bytes());
    }
}

fn push_big(out: &mut Vec<u8>, value: i32) {
    out.extend(value.to_be_bytes());
}

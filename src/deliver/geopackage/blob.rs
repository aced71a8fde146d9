//! A shape as a GeoPackage binary: a header with the extent, then well-known binary (ISO), all little endian.
//!
//! # Source
//! OGC 12-128r18, clause 2.1.3 (`StandardGeoPackageBinary`); OGC 06-103r4, clause 8 (well-known binary).

use super::table::Shape;
use crate::deliver::degrees::{Part, Spot};

/// WGS 84 in degrees, longitude first.
pub const SRS: i32 = 4326;
const VERSION: u8 = 0;
/// Little endian, no envelope: what the standard wants for a point.
const PLAIN: u8 = 0b0000_0001;
/// Little endian, envelope of west, east, south and north.
const WITH_ENVELOPE: u8 = 0b0000_0011;
const LITTLE_ENDIAN: u8 = 1;
const POINT: u32 = 1;
const POLYGON: u32 = 3;
const MULTI_POLYGON: u32 = 6;

/// The bytes of a shape.
#[must_use]
pub fn blob(shape: &Shape) -> Vec<u8> {
    let mut out = Vec::with_capacity(64);
    out.extend(*b"GP");
    match shape {
        Shape::Point(spot) => {
            push_head(&mut out, PLAIN);
            push_kind(&mut out, POINT);
            push_spot(&mut out, *spot);
        }
        Shape::Areas(parts) => {
            push_head(&mut out, WITH_ENVELOPE);
            // An area without a part does not come this far: the audit refuses it, and the tables leave it out.
            if let Some((low, high)) = shape.bounds() {
                let ends = [
                    low.longitude(),
                    high.longitude(),
                    low.latitude(),
                    high.latitude(),
                ];
                out.extend(ends.iter().flat_map(|end| end.to_le_bytes()));
            }
            push_kind(&mut out, MULTI_POLYGON);
            push_count(&mut out, parts.len());
            parts.iter().for_each(|part| push_part(&mut out, part));
        }
    }
    out
}

fn push_head(out: &mut Vec<u8>, flags: u8) {
    out.extend([VERSION, flags]);
    out.extend(SRS.to_le_bytes());
}

fn push_kind(out: &mut Vec<u8>, kind: u32) {
    out.push(LITTLE_ENDIAN);
    out.extend(kind.to_le_bytes());
}

fn push_count(out: &mut Vec<u8>, count: usize) {
    out.extend((count as u32).to_le_bytes());
}

fn push_part(out: &mut Vec<u8>, part: &Part) {
    push_kind(out, POLYGON);
    push_count(out, 1 + part.holes.len());
    for ring in std::iter::once(&part.outer).chain(&part.holes) {
        push_count(out, ring.len() + 1);
        ring.iter()
            .chain(ring.first())
            .for_each(|spot| push_spot(out, *spot));
    }
}

fn push_spot(out: &mut Vec<u8>, spot: Spot) {
    out.extend(spot.longitude().to_le_bytes());
    out.extend(spot.latitude().to_le_bytes());
}

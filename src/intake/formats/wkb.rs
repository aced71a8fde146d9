//! Shapes in the well-known binary form, as GeoPackage and GeoParquet hold them.
//!
//! # Source
//! OGC 06-103r4, Simple feature access part 1, clause 8; the codes of z and m from ISO 13249-3, and the flags of extended WKB.

use geo::{
    Coord, Geometry, GeometryCollection, LineString, MultiLineString, MultiPoint, MultiPolygon,
    Point, Polygon,
};

use crate::intake::formats::shapes::polygon;

/// Deepest nesting of collections.
const DEEPEST: usize = 8;
/// Flags of extended WKB.
const HAS_Z: u32 = 0x8000_0000;
const HAS_M: u32 = 0x4000_0000;
const HAS_SRID: u32 = 0x2000_0000;

/// The shape in some bytes; `None` for an empty one.
pub(super) fn shape_of(bytes: &[u8]) -> Result<Option<Geometry<f64>>, String> {
    let mut reader = Reader { bytes };
    reader.shape(DEEPEST)
}

struct Reader<'b> {
    bytes: &'b [u8],
}

/// What stands at the head of a shape.
#[derive(Clone, Copy)]
struct Head {
    is_little: bool,
    kind: u32,
    /// Numbers in a vertex.
    numbers: usize,
}

impl Reader<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], String> {
        let (head, rest) = self
            .bytes
            .split_first_chunk::<N>()
            .ok_or("a shape ends before its end")?;
        self.bytes = rest;
        Ok(*head)
    }

    fn whole(&mut self, is_little: bool) -> Result<u32, String> {
        let bytes = self.take::<4>()?;
        Ok(if is_little {
            u32::from_le_bytes(bytes)
        } else {
            u32::from_be_bytes(bytes)
        })
    }

    fn number(&mut self, is_little: bool) -> Result<f64, String> {
        let bytes = self.take::<8>()?;
        Ok(if is_little {
            f64::from_le_bytes(bytes)
        } else {
            f64::from_be_bytes(bytes)
        })
    }

    fn head(&mut self) -> Result<Head, String> {
        let [order] = self.take::<1>()?;
        let is_little = match order {
            0 => false,
            1 => true,
            other => return Err(format!("{other} is no order of bytes")),
        };
        let code = self.whole(is_little)?;
        if code & HAS_SRID != 0 {
            self.whole(is_little)?;
        }
        let plain = code & !(HAS_Z | HAS_M | HAS_SRID);
        let (kind, more) = (plain % 1000, plain / 1000);
        let extra = match more {
            0 => 0,
            1 | 2 => 1,
            3 => 2,
            _ => return Err(format!("{code} is no kind of shape")),
        };
        let flags = usize::from(code & HAS_Z != 0) + usize::from(code & HAS_M != 0);
        Ok(Head {
            is_little,
            kind,
            numbers: 2 + extra + flags,
        })
    }

    fn shape(&mut self, depth: usize) -> Result<Option<Geometry<f64>>, String> {
        let head = self.head()?;
        Ok(match head.kind {
            1 => {
                let at = self.vertex(head)?;
                (!at.x.is_nan() && !at.y.is_nan()).then(|| Point(at).into())
            }
            2 => Some(LineString(self.vertices(head)?).into()),
            3 => self.polygon(head)?.map(Geometry::Polygon),
            4..=7 if depth > 0 => self.parts(head, depth - 1)?,
            4..=7 => return Err("shapes are nested too deep".to_owned()),
            other => return Err(format!("a shape of kind {other} is not read")),
        })
    }

    fn vertex(&mut self, head: Head) -> Result<Coord<f64>, String> {
        let (x, y) = (self.number(head.is_little)?, self.number(head.is_little)?);
        for _ in 2..head.numbers {
            self.number(head.is_little)?;
        }
        Ok(Coord { x, y })
    }

    /// A count of things that take at least some bytes each, so that a false count fills no memory.
    fn count(&mut self, head: Head, least_bytes: usize) -> Result<usize, String> {
        let count = self.whole(head.is_little)? as usize;
        if count > self.bytes.len() / least_bytes {
            return Err("a shape has more parts than bytes".to_owned());
        }
        Ok(count)
    }

    fn vertices(&mut self, head: Head) -> Result<Vec<Coord<f64>>, String> {
        let count = self.count(head, head.numbers * 8)?;
        (0..count)
            .map(|_| {
                let at = self.vertex(head)?;
                if at.x.is_finite() && at.y.is_finite() {
                    Ok(at)
                } else {
                    Err("a vertex is not a number".to_owned())
                }
            })
            .collect()
    }

    fn polygon(&mut self, head: Head) -> Result<Option<Polygon<f64>>, String> {
        let count = self.count(head, 4)?;
        let rings = (0..count)
            .map(|_| self.vertices(head))
            .collect::<Result<Vec<_>, _>>()?;
        Ok(polygon(rings))
    }

    fn parts(&mut self, head: Head, depth: usize) -> Result<Option<Geometry<f64>>, String> {
        let count = self.count(head, 5)?;
        let mut parts = Vec::new();
        for _ in 0..count {
            parts.extend(self.shape(depth)?);
        }
        if parts.is_empty() {
            return Ok(None);
        }
        Ok(Some(of_one_kind(head.kind, parts)?))
    }
}

/// Parts of a multi-shape, which all have to be of its kind.
fn of_one_kind(kind: u32, parts: Vec<Geometry<f64>>) -> Result<Geometry<f64>, String> {
    let other = || "a part of a shape is of another kind".to_owned();
    Ok(match kind {
        4 => {
            let points = parts.into_iter().map(Point::try_from);
            MultiPoint(points.collect::<Result<_, _>>().map_err(|_| other())?).into()
        }
        5 => {
            let lines = parts.into_iter().map(LineString::try_from);
            MultiLineString(lines.collect::<Result<_, _>>().map_err(|_| other())?).into()
        }
        6 => {
            let polygons = parts.into_iter().map(Polygon::try_from);
            MultiPolygon(polygons.collect::<Result<_, _>>().map_err(|_| other())?).into()
        }
        _ => Geometry::GeometryCollection(GeometryCollection(parts)),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bytes_of(hex: &str) -> Vec<u8> {
        let pairs = hex.as_bytes().chunks(2);
        let pair = |pair: &[u8]| u8::from_str_radix(std::str::from_utf8(pair).expect("hex"), 16);
        pairs.map(|own| pair(own).expect("hex")).collect()
    }

    /// The worked example of OGC 06-103r4 for a point, and the common example POINT(2.0 4.0) in both orders of bytes (from memory).
    #[test]
    fn a_point_is_read_in_both_orders_of_bytes() {
        let wanted = Some(Geometry::from(Point::new(2.0, 4.0)));
        for hex in [
            "000000000140000000000000004010000000000000",
            "010100000000000000000000400000000000001040",
        ] {
            assert_eq!(shape_of(&bytes_of(hex)), Ok(wanted.clone()));
        }
    }

    #[test]
    fn a_count_that_the_bytes_do_not_hold_is_refused() {
        let polygon = bytes_of("0103000000ffffffff");
        assert!(shape_of(&polygon).is_err());
        assert!(shape_of(&[]).is_err());
    }
}

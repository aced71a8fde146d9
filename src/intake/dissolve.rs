//! Parcels that share an edge, or overlap by a hair, become one outline.

use geo::algorithm::bool_ops::unary_union;
use geo::{Area, LineString, MultiPolygon, Polygon};

use crate::remark::Remark;
use crate::units::decimal;

/// Share of the outline by which parcels may overlap and still be dissolved (own: a metre along an edge of some hundred metres).
const HAIR: f64 = 0.005;
/// Share of the outline up to which a gap between parcels is closed (own).
const GAP: f64 = 1e-4;
/// Share that is rounding.
const ROUNDING: f64 = 1e-9;

/// What became of parcels.
pub(super) struct Dissolved {
    pub outline: MultiPolygon<f64>,
    parcels: usize,
    /// Share of the outline in which they overlapped.
    overlap: f64,
    gaps: usize,
}

impl Dissolved {
    /// What the user is told.
    pub(super) fn remark(&self) -> Remark {
        let parts = match self.outline.0.len() {
            1 => "one outline".to_owned(),
            parts => format!("{parts} parts"),
        };
        let mut what = format!(
            "{} parcels that share edges were joined to {parts}",
            self.parcels
        );
        if self.overlap > ROUNDING {
            what.push_str(&format!(
                "; they overlapped by {} % of the area",
                decimal((self.overlap * 100.0).max(0.001), 3)
            ));
        }
        if self.gaps > 0 {
            what.push_str(&format!(
                "; {} small gaps between them were closed",
                self.gaps
            ));
        }
        Remark::info("parcels-joined", what)
            .help("where they are different fields, say which one with choose")
    }
}

/// Joins parcels; nothing where they do not touch, or overlap by more than a hair.
pub(super) fn dissolve(parcels: &MultiPolygon<f64>) -> Option<Dissolved> {
    let whole: f64 = parcels.iter().map(Area::unsigned_area).sum();
    let mut outline = unary_union(parcels);
    let area = outline.unsigned_area();
    let overlap = (whole - area) / whole;
    let is_joined = outline.0.len() < parcels.0.len() || overlap > ROUNDING;
    if !is_joined || overlap > HAIR {
        return None;
    }
    let has_holes = parcels.iter().any(|parcel| !parcel.interiors().is_empty());
    let gaps = if has_holes {
        0
    } else {
        close_gaps(&mut outline, area * GAP)
    };
    Some(Dissolved {
        outline,
        parcels: parcels.0.len(),
        overlap,
        gaps,
    })
}

/// Takes out holes up to an area; gives how many.
fn close_gaps(outline: &mut MultiPolygon<f64>, largest: f64) -> usize {
    let mut closed = 0;
    for part in &mut outline.0 {
        let is_gap = |ring: &LineString<f64>| {
            Polygon::new(ring.clone(), Vec::new()).unsigned_area() <= largest
        };
        let kept: Vec<LineString<f64>> = part
            .interiors()
            .iter()
            .filter(|ring| !is_gap(ring))
            .cloned()
            .collect();
        closed += part.interiors().len() - kept.len();
        *part = Polygon::new(part.exterior().clone(), kept);
    }
    closed
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::polygon;

    fn parcel(west: f64, east: f64) -> Polygon<f64> {
        polygon![(x: west, y: 0.0), (x: east, y: 0.0), (x: east, y: 1.0), (x: west, y: 1.0), (x: west, y: 0.0)]
    }

    #[test]
    fn parcels_that_share_an_edge_or_overlap_by_a_hair_are_one() {
        for east in [1.0, 0.999] {
            let joined = dissolve(&MultiPolygon(vec![parcel(0.0, 1.0), parcel(east, 2.0)]));
            let joined = joined.expect("one outline");
            assert_eq!(joined.outline.0.len(), 1);
            assert!((joined.outline.unsigned_area() - 2.0).abs() < 1e-9);
        }
    }

    #[test]
    fn parcels_apart_and_parcels_that_overlap_are_left_as_they_are() {
        assert!(dissolve(&MultiPolygon(vec![parcel(0.0, 1.0), parcel(1.5, 2.0)])).is_none());
        assert!(dissolve(&MultiPolygon(vec![parcel(0.0, 1.0), parcel(0.5, 2.0)])).is_none());
    }
}

//! `prescription.geojson` (RFC 7946): one feature per zone, the same keys in the same order with the same types in each.

use std::io;

use geojson::{Bbox, Feature, FeatureCollection, Geometry, GeometryValue, JsonObject, Position};
use serde::Serialize;
use serde_json::ser::{Formatter, Serializer};

use super::degrees::{Part, Spot, bounds, eastward, is_across_180};
use super::error::DeliverError;
use super::format_input::FormatInput;
use super::output_file::OutputFile;
use super::overview::Overview;
use super::pieces::Piece;
use super::properties::{Property, properties};

const PATH: &str = "prescription.geojson";

/// The file.
///
/// # Errors
/// Where the JSON writer refuses a value.
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let bytes = map(input.overview, &|piece| properties(input.overview, piece))?;
    Ok(vec![OutputFile::new(PATH, bytes)])
}

/// Names and values of a piece, in their order.
pub(super) type Said = Vec<(String, Property)>;

/// A map of the pieces, each with what `said` tells of it.
///
/// # Errors
/// Where the JSON writer refuses a value.
pub(super) fn map(
    overview: &Overview<'_>,
    said: &dyn Fn(&Piece<'_>) -> Said,
) -> Result<Vec<u8>, DeliverError> {
    collection(overview, said).map_err(|cause| DeliverError::Package {
        path: PATH,
        cause: cause.to_string(),
    })
}

fn collection(
    overview: &Overview<'_>,
    said: &dyn Fn(&Piece<'_>) -> Said,
) -> serde_json::Result<Vec<u8>> {
    let name = overview.stages.settings.field.clone();
    let collection = FeatureCollection {
        bbox: Some(bounding_box(overview)),
        features: overview
            .pieces
            .iter()
            .map(|piece| feature(piece, said(piece)))
            .collect(),
        foreign_members: Some(JsonObject::from_iter([("name".to_owned(), name.into())])),
    };
    text(&collection)
}

/// A collection as text, one feature a line.
///
/// # Errors
/// Where the JSON writer refuses a value.
pub(super) fn text(collection: &FeatureCollection) -> serde_json::Result<Vec<u8>> {
    let mut bytes = Vec::with_capacity(64 * 1024);
    collection.serialize(&mut Serializer::with_formatter(
        &mut bytes,
        FeatureLines::default(),
    ))?;
    bytes.push(b'\n');
    Ok(bytes)
}

fn bounding_box(overview: &Overview<'_>) -> Bbox {
    let zero = Spot { lon: 0, lat: 0 };
    let parts = || overview.pieces.iter().flat_map(|piece| &piece.parts);
    let spots = || parts().flat_map(|part| &part.outer);
    let (low, mut high) = if is_across_180(spots()) {
        // West is greater than east then (RFC 7946, 5.2).
        let east: Vec<Spot> = spots().map(eastward).collect();
        bounds(east.iter()).unwrap_or((zero, zero))
    } else {
        bounds(spots()).unwrap_or((zero, zero))
    };
    if high.longitude() > 180.0 {
        high = Spot::from_degrees(high.longitude() - 360.0, high.latitude());
    }
    vec![
        low.longitude(),
        low.latitude(),
        high.longitude(),
        high.latitude(),
    ]
}

fn feature(piece: &Piece<'_>, said: Said) -> Feature {
    let properties = said.into_iter().map(|(key, value)| (key, value.json()));
    let parts = piece.parts.iter().map(rings).collect();
    Feature {
        bbox: None,
        geometry: Some(Geometry::new(GeometryValue::MultiPolygon {
            coordinates: parts,
        })),
        id: None,
        properties: Some(properties.collect()),
        foreign_members: None,
    }
}

pub(super) fn rings(part: &Part) -> Vec<Vec<Position>> {
    let all = std::iter::once(&part.outer).chain(&part.holes);
    all.map(|ring| ring.iter().chain(ring.first()).map(position).collect())
        .collect()
}

fn position(spot: &Spot) -> Position {
    Position::from([spot.longitude(), spot.latitude()])
}

/// Compact JSON with one feature a line and plain decimals, never an exponent.
#[derive(Debug, Default)]
struct FeatureLines {
    depth: usize,
}

/// Objects inside this many others are features.
const FEATURE_DEPTH: usize = 1;

impl Formatter for FeatureLines {
    fn write_f64<W: ?Sized + io::Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        // Rust prints the shortest decimal that reads back equal, without an exponent. `+ 0.0` turns -0 into 0.
        write!(writer, "{}", value + 0.0)
    }

    fn begin_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        if self.depth == FEATURE_DEPTH {
            writer.write_all(b"\n")?;
        }
        self.depth += 1;
        writer.write_all(b"{")
    }

    fn end_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.depth = self.depth.saturating_sub(1);
        writer.write_all(b"}")
    }
}

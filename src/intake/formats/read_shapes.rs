//! A file of shapes to shapes, by its format.

use std::path::Path;

use crate::files::Files;
use crate::provenance::Place;

use crate::intake::error::IntakeError;
use crate::intake::formats::archive::Archive;
use crate::intake::formats::shapes::{LayerWish, ShapeFormat, Shapes, shape_format};
use crate::intake::formats::{geojson, shapefile, xml};
use crate::intake::source;
use crate::intake::survey::InputFile;

/// Reads a file of shapes and notes it (and its parts) as inputs.
pub(in crate::intake) fn read_shapes(
    files: &Files,
    path: &Path,
    layer: LayerWish<'_>,
    inputs: &mut Vec<InputFile>,
) -> Result<Shapes, IntakeError> {
    let place = source::place_of(path);
    let Some(format) = shape_format(path) else {
        return Err(IntakeError::UnknownFormat {
            place,
            what: "shapes are read from .geojson, .json, .shp, .zip (a zipped shapefile), .kml, .kmz, .gpx, .gpkg or .parquet".to_owned(),
            help: "export the file in one of these".to_owned(),
        });
    };
    if format == ShapeFormat::Shapefile {
        return shapefile::read_beside(files, path, inputs);
    }
    let bytes = source::read_whole(files, path, inputs)?;
    shapes_from_bytes(&bytes, format, layer, &place)
}

/// The names of the layers of a kind, where a format has several in one file.
pub(in crate::intake) fn layer_names(
    files: &Files,
    path: &Path,
    kind: LayerWish<'_>,
) -> Result<Vec<String>, IntakeError> {
    #[cfg(feature = "geopackage")]
    if shape_format(path) == Some(ShapeFormat::GeoPackage) {
        let bytes = source::read_whole(files, path, &mut Vec::new())?;
        return super::geopackage::layer_names(&bytes, kind, &source::place_of(path));
    }
    let _ = (files, kind);
    Ok(Vec::new())
}

/// The shapes in the bytes of one file.
pub(in crate::intake) fn shapes_from_bytes(
    bytes: &[u8],
    format: ShapeFormat,
    layer: LayerWish<'_>,
    place: &Place,
) -> Result<Shapes, IntakeError> {
    match format {
        ShapeFormat::GeoJson => geojson::from_bytes(bytes, place),
        ShapeFormat::Shapefile => shapefile::from_parts(
            &shapefile::Parts {
                shp: bytes,
                ..shapefile::Parts::default()
            },
            place,
        ),
        ShapeFormat::ZippedShapefile => shapefile::from_zip(bytes, place),
        ShapeFormat::Kml => xml::kml(bytes, place),
        ShapeFormat::Kmz => {
            let mut archive = Archive::open(bytes, place)?;
            let stem = archive.only_one("kml")?;
            let unpacked = archive.take(&stem, &["kml"])?;
            xml::kml(unpacked.get("kml").map_or(&[], Vec::as_slice), place)
        }
        ShapeFormat::Gpx => xml::gpx(bytes, place),
        #[cfg(feature = "geopackage")]
        ShapeFormat::GeoPackage => super::geopackage::from_bytes(bytes, layer, place),
        #[cfg(feature = "geoparquet")]
        ShapeFormat::GeoParquet => super::geoparquet::from_bytes(bytes, place),
        #[cfg(not(all(feature = "geopackage", feature = "geoparquet")))]
        _ => {
            let _ = layer;
            Err(IntakeError::UnknownFormat {
                place: place.clone(),
                what: "this build of the program does not read the format".to_owned(),
                help: "export the file as GeoJSON, or build with the features geopackage and geoparquet".to_owned(),
            })
        }
    }
}

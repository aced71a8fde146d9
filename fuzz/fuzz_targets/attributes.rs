#![no_main]
//! The table of attributes of a zipped shapefile, beside four points that are always the same.

use std::io::{Cursor, Write};

use libfuzzer_sys::fuzz_target;
use zip::write::{SimpleFileOptions, ZipWriter};

mod points;

/// Without a coordinate system nothing is read.
const SYSTEM: &[u8] = b"GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,298.257223563]],PRIMEM[\"Greenwich\",0],UNIT[\"degree\",0.0174532925199433]]";

/// Four points of an invented field.
const SHAPES: &[u8] = include_bytes!("four_invented_points.shp");

fn zipped(attributes: &[u8]) -> Option<Vec<u8>> {
    let mut archive = ZipWriter::new(Cursor::new(Vec::new()));
    let plain = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Stored);
    for (name, bytes) in [("cores.shp", SHAPES), ("cores.dbf", attributes), ("cores.prj", SYSTEM)] {
        archive.start_file(name, plain).ok()?;
        archive.write_all(bytes).ok()?;
    }
    Some(archive.finish().ok()?.into_inner())
}

fuzz_target!(|bytes: &[u8]| {
    if let Some(archive) = zipped(bytes) {
        points::read_all_kinds(&archive, "cores.zip");
    }
});

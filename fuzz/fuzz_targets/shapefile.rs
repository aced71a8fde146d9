#![no_main]
//! Shapefiles, alone and zipped, as points and as a boundary.

use libfuzzer_sys::fuzz_target;
use lowstave::intake::{ShapeFormat, boundary_from_bytes};

mod points;

fuzz_target!(|bytes: &[u8]| {
    for (file, format) in [("points.shp", ShapeFormat::Shapefile), ("points.zip", ShapeFormat::ZippedShapefile)] {
        points::read_all_kinds(bytes, file);
        let _ = boundary_from_bytes(bytes, format, None);
    }
});

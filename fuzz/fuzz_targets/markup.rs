#![no_main]
//! KML and GPX.

use libfuzzer_sys::fuzz_target;
use lowstave::intake::{ShapeFormat, boundary_from_bytes};

mod points;

fuzz_target!(|bytes: &[u8]| {
    for (file, format) in [("points.kml", ShapeFormat::Kml), ("points.gpx", ShapeFormat::Gpx)] {
        points::read_all_kinds(bytes, file);
        let _ = boundary_from_bytes(bytes, format, None);
    }
});

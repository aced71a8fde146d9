#![no_main]
//! GeoParquet files as points and as a boundary.

use libfuzzer_sys::fuzz_target;
use lowstave::intake::{ShapeFormat, boundary_from_bytes};

mod points;

fuzz_target!(|bytes: &[u8]| {
    points::read_all_kinds(bytes, "cores.parquet");
    let _ = boundary_from_bytes(bytes, ShapeFormat::GeoParquet, None);
});

#![no_main]
//! Spreadsheets as points, whole files.

use libfuzzer_sys::fuzz_target;

mod points;

fuzz_target!(|bytes: &[u8]| {
    points::read_all_kinds(bytes, "lab.xlsx");
});

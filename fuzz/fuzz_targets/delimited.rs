#![no_main]
//! Tables of text.

use libfuzzer_sys::fuzz_target;

mod points;

fuzz_target!(|bytes: &[u8]| points::read_all_kinds(bytes, "table.csv"));

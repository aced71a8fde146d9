#![no_main]
//! Lab results in the open XML standard.

use libfuzzer_sys::fuzz_target;

mod points;

fuzz_target!(|bytes: &[u8]| points::read_all_kinds(bytes, "lab.xml"));

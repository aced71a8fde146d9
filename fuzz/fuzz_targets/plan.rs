#![no_main]
//! The plan file.

use std::path::Path;

use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    if let Ok(text) = std::str::from_utf8(bytes) {
        let _ = lowstave::plan::from_text(text, &lowstave::Files::folder(""), Path::new("plan.toml"));
    }
});

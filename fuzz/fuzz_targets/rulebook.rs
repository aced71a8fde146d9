#![no_main]
//! A user's rulebook over the built-in one.

use libfuzzer_sys::fuzz_target;
use lowstave::rulebook::Rulebook;

fuzz_target!(|bytes: &[u8]| {
    if let Ok(text) = std::str::from_utf8(bytes) {
        let _ = Rulebook::from_text(text, "rules.toml");
    }
});

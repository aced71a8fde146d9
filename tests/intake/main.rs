//! The corpus of messy files: each with the reading or the error that is expected.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on fails")]

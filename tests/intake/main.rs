//! The corpus of messy files: each with the reading or the error that is expected.

//! Stage tests: deliver.

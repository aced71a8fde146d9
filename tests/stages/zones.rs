//! Stage tests: zones.

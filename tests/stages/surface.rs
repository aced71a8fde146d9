//! Stage tests: surface.

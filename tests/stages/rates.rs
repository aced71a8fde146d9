//! Stage tests: rates.

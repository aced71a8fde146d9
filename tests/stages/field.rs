//! Stage tests: field.

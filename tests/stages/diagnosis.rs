//! Stage tests: diagnosis.

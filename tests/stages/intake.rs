//! Stage tests: intake.

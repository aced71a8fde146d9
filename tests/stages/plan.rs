//! Stage tests: plan.

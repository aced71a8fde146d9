//! Outside checks: clustering.

//! Outside checks: interpolation.

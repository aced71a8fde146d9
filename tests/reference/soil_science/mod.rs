//! Outside checks: soil_science.

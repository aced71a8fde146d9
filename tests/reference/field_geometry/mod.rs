//! Outside checks: field_geometry.

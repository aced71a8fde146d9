//! Outside checks: our numbers against published tables, standards and general-purpose reference libraries.
//! Each module names its source; data lie beside it with their licence.

mod clustering;
mod field_geometry;
mod interpolation;
mod soil_science;

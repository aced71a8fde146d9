//! PROJ's database of coordinate systems, as it lies in the program. PROJ is built sealed (scripts/proj): it takes the
//! database from memory, and neither the disk nor the environment can put another in its place.

use serde::Serialize;

/// Which PROJ and which database of coordinate systems bring places to the field's plane.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct ProjDatabase {
    /// Version of PROJ.
    pub proj: &'static str,
    /// Version of the EPSG data set in the database.
    pub epsg: &'static str,
    /// SHA-256 of the database, in hexadecimal digits.
    pub sha256: &'static str,
}

/// The one that this program holds.
pub const PROJ_DATABASE: ProjDatabase = ProjDatabase {
    proj: env!("LOWSTAVE_PROJ_VERSION"),
    epsg: env!("LOWSTAVE_EPSG_VERSION"),
    sha256: env!("LOWSTAVE_PROJ_DATABASE_SHA256"),
};

//! Makes sure that PROJ was built sealed (see scripts/proj), and hands the name and the hash of its database of
//! coordinate systems to the program, which states them in run.json.

use std::error::Error;
use std::path::PathBuf;
use std::{env, fs};

use sha2::{Digest, Sha256};

/// What scripts/proj/sealed.h leaves in a sealed library.
const SEAL: &[u8] = b"lowstave: this PROJ is sealed";

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rerun-if-env-changed=DEP_PROJ_ROOT");
    // Set by proj-sys, which builds PROJ from its bundled source.
    let root = PathBuf::from(env::var("DEP_PROJ_ROOT")?);
    let library = fs::read(root.join("lib/libproj.a"))?;
    if !library.windows(SEAL.len()).any(|part| part == SEAL) {
        return Err(
            "PROJ was built without scripts/proj/sealed.cmake, so a proj.db from elsewhere could move a prescription. \
             Build inside the source folder (its .cargo/config.toml names the file), or include it from your own \
             CMake toolchain file, after `cargo clean -p proj-sys`."
                .into(),
        );
    }
    let database = fs::read(root.join("build/data/proj.db"))?;
    let hash: String = Sha256::digest(&database)
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect();
    println!("cargo:rustc-env=LOWSTAVE_PROJ_DATABASE_SHA256={hash}");
    let (proj, metadata) = source(&root)?;
    println!("cargo:rustc-env=LOWSTAVE_PROJ_VERSION={proj}");
    let epsg = entry(&metadata, "EPSG.VERSION").ok_or("no EPSG.VERSION in PROJ's metadata.sql")?;
    println!("cargo:rustc-env=LOWSTAVE_EPSG_VERSION={epsg}");
    Ok(())
}

/// Version of PROJ's source and the text of its `metadata.sql`.
fn source(root: &std::path::Path) -> Result<(String, String), Box<dyn Error>> {
    for entry in fs::read_dir(root.join("PROJSRC/proj"))? {
        let entry = entry?;
        if let Some(version) = entry
            .file_name()
            .to_str()
            .and_then(|name| name.strip_prefix("proj-"))
        {
            let metadata = fs::read_to_string(entry.path().join("data/sql/metadata.sql"))?;
            return Ok((version.to_owned(), metadata));
        }
    }
    Err("PROJ's source was not found in its build folder".into())
}

/// The value of a key in `INSERT INTO "metadata" VALUES('key', 'value');`.
fn entry<'a>(sql: &'a str, key: &str) -> Option<&'a str> {
    let (_, rest) = sql.split_once(&format!("'{key}', '"))?;
    rest.split_once('\'').map(|(value, _)| value)
}

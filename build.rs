//! Takes the database of coordinate systems out of the bundled PROJ's build folder, so that the program can embed it.

use std::error::Error;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::PathBuf;
use std::{env, fs};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rerun-if-env-changed=DEP_PROJ_ROOT");
    // Set by proj-sys, which builds PROJ from its bundled source.
    let root = PathBuf::from(env::var("DEP_PROJ_ROOT")?);
    let database = fs::read(root.join("share/proj/proj.db"))?;
    let mut hasher = DefaultHasher::new();
    database.hash(&mut hasher);
    fs::write(
        PathBuf::from(env::var("OUT_DIR")?).join("proj.db"),
        &database,
    )?;
    println!(
        "cargo:rustc-env=LOWSTAVE_PROJ_DB_FINGERPRINT={:016x}",
        hasher.finish()
    );
    Ok(())
}

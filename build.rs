//! Takes the database of coordinate systems out of the bundled PROJ's build folder, so that the program can embed it.

use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::PathBuf;
use std::{env, fs};

fn main() {
    println!("cargo:rerun-if-changed=build.rs");
    println!("cargo:rerun-if-env-changed=DEP_PROJ_ROOT");
    let root = PathBuf::from(env::var("DEP_PROJ_ROOT").expect("proj-sys builds PROJ from source and says where"));
    let database = fs::read(root.join("share/proj/proj.db")).expect("the PROJ build has made share/proj/proj.db");
    let mut hasher = DefaultHasher::new();
    database.hash(&mut hasher);
    let out = PathBuf::from(env::var("OUT_DIR").expect("cargo sets OUT_DIR"));
    fs::write(out.join("proj.db"), &database).expect("OUT_DIR can be written");
    println!("cargo:rustc-env=LOWSTAVE_PROJ_DB_FINGERPRINT={:016x}", hasher.finish());
}

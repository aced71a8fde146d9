//! lowstave finds, place by place, what limits a crop, and the fix that relieves most for its cost and effort.
//!
//! One call takes a plan and the files that it names to zones and rates; one more gives the bytes of every result
//! file. Neither touches the disk:
//!
//! ```
//! use lowstave::Files;
//!
//! let files = Files::folder("samples/alder-flat"); // or memory, an archive, a set of your own
//! let run = lowstave::run(&files, "plan.toml")?;
//! for (zone, rates) in run.zones().zones.iter().zip(&run.prescription().zones) {
//!     println!("{:.1} ha: {}", zone.area_m2 / 10_000.0, rates.reason);
//! }
//! let delivery = run.deliver()?;
//! let map = delivery.get("prescription.geojson").unwrap_or_default();
//! assert!(map.starts_with(b"{"));
//! # Ok::<(), lowstave::Failure>(())
//! ```
//!
//! Data flows one way. Each stage is a module, takes the value of the stage before it, and knows nothing of the
//! stages after it:
//!
//! ```text
//! plan -> intake -> field -> surface -> zones -> diagnosis -> rates -> choice -> deliver
//!                                                                          \-> trial -> past, season
//! floor:   units, analyte, provenance, remark, text, toml_tree, files, order_statistics
//! science: soil, crop, rulebook
//! roof:    error, engine, farm, desk, cli
//! ```
//!
//! `tests/architecture.rs` holds the source to this picture.
//!
//! # Features
//! - `cli` (default): the command line program, with clap and a line of progress.
//! - `desk` (default): the page in the browser, with axum and tokio.
//! - `geopackage` (default): `maps.gpkg` among the result files, with rusqlite.

pub mod analyte;
pub mod choice;
#[cfg(feature = "cli")]
pub mod cli;
pub mod crop;
pub mod deliver;
#[cfg(feature = "desk")]
pub mod desk;
pub mod diagnosis;
pub mod engine;
pub mod error;
pub mod farm;
pub mod field;
pub mod files;
pub mod intake;
pub mod order_statistics;
pub mod past;
pub mod plan;
pub mod provenance;
pub mod rates;
pub mod remark;
pub mod rulebook;
pub mod sampling;
pub mod season;
pub mod soil;
pub mod surface;
pub mod text;
pub mod toml_tree;
pub mod trial;
pub mod units;
pub mod zones;

pub use engine::{Run, run};
pub use error::{Error, Failure, Outcome};
pub use files::Files;

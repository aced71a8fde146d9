//! lowstave finds, place by place, what limits a crop, and the fix that relieves most for its cost and effort.
//!
//! Data flows one way. Each stage is a module, takes the value of the stage before it, and knows nothing of the
//! stages after it:
//!
//! ```text
//! plan -> intake -> field -> surface -> zones -> diagnosis -> rates -> choice -> deliver
//!                                                                          \-> trial
//! floor:   units, analyte, provenance, remark, text
//! science: soil, rulebook
//! ```
//!
//! `tests/architecture.rs` holds the source to this picture.

pub mod analyte;
pub mod choice;
pub mod cli;
pub mod deliver;
pub mod diagnosis;
pub mod error;
pub mod field;
pub mod intake;
pub mod plan;
pub mod provenance;
pub mod rates;
pub mod remark;
pub mod rulebook;
pub mod sampling;
pub mod soil;
pub mod surface;
pub mod text;
pub mod trial;
pub mod units;
pub mod zones;

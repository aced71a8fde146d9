//! What is kept of a finished field.

use serde::{Deserialize, Serialize};

use super::field_row::{FieldRow, PieceRow};
use crate::deliver::Delivery;
use crate::engine::Run;
use crate::error::Failure;

/// What the farm's files need of a finished field, a few kilobytes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FieldRecord {
    /// A line of `fields.parquet`.
    pub row: FieldRow,
    /// Zones and strips with their ground.
    pub pieces: Vec<PieceRow>,
}

impl FieldRecord {
    /// What is kept of a run.
    ///
    /// # Errors
    /// Where the run's own files cannot be read again: a fault of the program.
    pub fn new(id: &str, plan: &str, run: &Run, delivery: &Delivery) -> Result<Self, Failure> {
        Ok(Self {
            row: FieldRow::new(id, plan, run, delivery),
            pieces: PieceRow::all(delivery)?,
        })
    }
}

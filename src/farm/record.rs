//! What is kept of a finished field.

use serde::{Deserialize, Serialize};

use super::field_row::{FieldRow, PieceRow};
use crate::deliver::{Delivery, FieldFacts};
use crate::engine::Run;
use crate::error::Failure;
use crate::rates::Offers;

/// What the farm's files need of a finished field, a few kilobytes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FieldRecord {
    /// A line of `fields.parquet`.
    pub row: FieldRow,
    /// Zones and strips with their ground.
    pub pieces: Vec<PieceRow>,
    /// What card, bill and sheet are made from.
    pub facts: FieldFacts,
    /// What money would buy here; empty where the farm has nothing to share out.
    pub offers: Offers,
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
            facts: delivery.facts.clone(),
            offers: run.prescription().offers.clone(),
        })
    }
}

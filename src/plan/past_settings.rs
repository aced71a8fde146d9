//! `[past]`: the output folders of earlier seasons.

use std::path::PathBuf;

use serde::Serialize;

use super::reading::{TableReader, Typed};
use crate::provenance::Place;

/// An output folder of an earlier season.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PastFolder {
    /// The folder, relative to the plan.
    pub folder: PathBuf,
    /// Where in the plan file this stands.
    pub place: Place,
}

/// The table as typed.
#[derive(Default)]
pub(super) struct PastTable {
    place: Option<Place>,
    runs: Typed<Vec<String>>,
}

impl PastTable {
    pub(super) fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            place: Some(table.place()),
            runs: table.texts(
                "runs",
                "runs = [\"../2027/out\"], a list of earlier output folders",
            ),
        };
        table.finish();
        read
    }
}

/// The folders of a plan, in its order.
pub(super) fn folders(table: &PastTable) -> Vec<PastFolder> {
    let place = || match (&table.place, table.runs.given()) {
        (_, Some(runs)) => Some(runs.place.clone()),
        (place, None) => place.clone(),
    };
    let runs = table.runs.given().into_iter().flat_map(|runs| &runs.value);
    runs.filter_map(|run| {
        Some(PastFolder {
            folder: PathBuf::from(run),
            place: place()?,
        })
    })
    .collect()
}

use serde::{Deserialize, Serialize};

use crate::error::{Error, Failure};

/// One thing that is wrong with one field, so that the field has no result. A row of `problems.csv`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problem {
    /// Name of the field in the farm.
    pub id: String,
    /// Plan file, relative to the farm file; empty where a table holds the plan.
    pub plan: String,
    /// Exit code that `lowstave plan` would have: 2 the input cannot be used, 3 the program or the machine failed.
    pub code: u8,
    /// What is wrong.
    pub what: String,
    /// File in which it is, where that is known.
    pub file: String,
    /// Row of that file, from 1.
    pub row: Option<u32>,
    /// Column or key.
    pub column: String,
    /// What can be done about it, where the message has it apart.
    pub way_out: String,
}

impl Problem {
    /// The problems of a field that failed, one for each error.
    #[must_use]
    pub fn all(id: &str, plan: &str, failure: &Failure) -> Vec<Self> {
        let problem = |error: &Error| {
            let place = error.place();
            let story = error.story();
            let (what, way_out) = parted(&story);
            let column = place.and_then(|place| place.column.clone().or_else(|| place.key.clone()));
            Self {
                id: id.to_owned(),
                plan: plan.to_owned(),
                code: error.outcome().code(),
                what: what.to_owned(),
                file: place.map_or_else(String::new, |place| place.file.to_string()),
                row: place.and_then(|place| place.row),
                column: column.map_or_else(String::new, |column| column.to_string()),
                way_out: way_out.to_owned(),
            }
        };
        failure.errors().iter().map(problem).collect()
    }
}

/// A message as what is wrong and the way out, which stands behind its first semicolon.
fn parted(story: &str) -> (&str, &str) {
    match story.split_once("; ") {
        Some((what, way_out)) => (what, way_out),
        None => (story, ""),
    }
}

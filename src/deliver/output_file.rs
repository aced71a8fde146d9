//! A file of the result, before it is written.

use serde::Serialize;

use super::error::DeliverError;
use crate::files::with_checksum;

/// One file, complete, not yet written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OutputFile {
    /// Path below the output folder, with `/`.
    pub path: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

impl OutputFile {
    /// A file of a path and its bytes.
    #[must_use]
    pub fn new(path: impl Into<String>, bytes: impl Into<Vec<u8>>) -> Self {
        Self {
            path: path.into(),
            bytes: bytes.into(),
        }
    }

    /// A record as JSON whose empty `checksum` becomes that of its own text, so that an edit shows.
    ///
    /// # Errors
    /// Where the JSON writer refuses a value.
    pub(super) fn checked_json(
        path: &'static str,
        record: &impl Serialize,
    ) -> Result<Self, DeliverError> {
        let text = serde_json::to_string_pretty(record).map_err(|cause| DeliverError::Package {
            path,
            cause: cause.to_string(),
        })?;
        Ok(Self::new(path, with_checksum(&format!("{text}\n"))))
    }
}

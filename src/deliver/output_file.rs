//! A file of the result, before it is written.

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
}

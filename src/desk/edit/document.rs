use toml_edit::{DocumentMut, TomlError};

use crate::desk::refused::Refused;

/// A text as TOML whose comments are kept.
pub(super) fn document(name: &str, text: &str) -> Result<DocumentMut, Refused> {
    text.parse().map_err(|error: TomlError| {
        Refused::Malformed(format!(
            "{name}: this is not valid TOML: {}",
            error.message()
        ))
    })
}

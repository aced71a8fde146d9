use toml_edit::{DocumentMut, TomlError};

use crate::desk::refused::Refused;

/// A text as TOML whose comments are kept.
pub(super) fn document(name: &str, text: &str) -> Result<DocumentMut, Refused> {
    text.parse().map_err(|error: TomlError| {
        let before = error.span().and_then(|span| text.get(..span.start));
        let row = before.map_or(1, |before| before.matches('\n').count() + 1);
        Refused::Malformed(format!(
            "{name}, row {row}: this is not valid TOML: {}; put it right in the file and read it again",
            error.message()
        ))
    })
}

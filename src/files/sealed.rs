//! A JSON file that carries the checksum of its own text, so that an edit shows.

use super::checksum::sha256;

/// The key, with nothing in it: what the checksum is taken over.
const EMPTY: &str = "\"checksum\": \"\"";
const OPEN: &str = "\"checksum\": \"";
/// Hexadecimal digits of a SHA-256.
const DIGITS: usize = 64;

/// Puts the SHA-256 of a text into its empty `checksum`. A text without one stays as it is.
#[must_use]
pub fn with_checksum(text: &str) -> String {
    text.replacen(EMPTY, &format!("{OPEN}{}\"", sha256(text.as_bytes())), 1)
}

/// Whether a text is as it was written.
#[must_use]
pub fn is_as_written(bytes: &[u8]) -> bool {
    let Ok(text) = std::str::from_utf8(bytes) else {
        return false;
    };
    let Some(at) = text.find(OPEN).map(|at| at + OPEN.len()) else {
        return false;
    };
    let Some(found) = text.get(at..at + DIGITS) else {
        return false;
    };
    let empty = format!("{}{}", &text[..at], &text[at + DIGITS..]);
    sha256(empty.as_bytes()) == found
}

#[cfg(test)]
mod tests {
    use super::{is_as_written, with_checksum};

    #[test]
    fn an_edit_shows() {
        let text = with_checksum("{\n  \"checksum\": \"\",\n  \"gain\": 3.1\n}\n");
        assert!(is_as_written(text.as_bytes()), "{text}");
        assert!(!is_as_written(text.replace("3.1", "4.1").as_bytes()));
        assert!(!is_as_written(b"{ \"gain\": 3.1 }"));
        assert!(!is_as_written(b"{ \"checksum\": \"abc\" }"));
    }
}

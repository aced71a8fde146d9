use sha2::{Digest, Sha256};

/// SHA-256 of bytes, as 64 hexadecimal digits.
///
/// # Source
/// FIPS 180-4.
///
/// # Example
/// ```
/// // The example of FIPS 180-4 for "abc".
/// assert_eq!(
///     lowstave::files::sha256(b"abc"),
///     "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
/// );
/// ```
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    hex(&Sha256::digest(bytes))
}

/// Bytes as hexadecimal digits, two for each.
#[must_use]
pub fn hex(bytes: &[u8]) -> String {
    bytes
        .iter()
        .flat_map(|byte| [byte >> 4, byte & 15])
        .filter_map(|digit| char::from_digit(u32::from(digit), 16))
        .collect()
}

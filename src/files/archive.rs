use std::io::{self, Cursor, Read};

use zip::ZipArchive;

use super::MOST_NAMES;

/// Most bytes that an archive may unpack to: a small archive can hold a disk full of zeros.
const MOST_BYTES: u64 = 1 << 30;

/// The files of a zip archive, by name.
pub(super) fn unpack(bytes: &[u8]) -> io::Result<Vec<(String, Vec<u8>)>> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(invalid)?;
    if archive.len() > MOST_NAMES {
        return Err(too_large(format!("it holds more than {MOST_NAMES} files")));
    }
    let mut left = MOST_BYTES;
    let mut files = Vec::new();
    for at in 0..archive.len() {
        let entry = archive.by_index(at).map_err(invalid)?;
        if !entry.is_file() {
            continue;
        }
        let name = entry.name().map_err(invalid)?.into_owned();
        let mut unpacked = Vec::new();
        entry.take(left + 1).read_to_end(&mut unpacked)?;
        left = left
            .checked_sub(unpacked.len() as u64)
            .ok_or_else(|| too_large(format!("it unpacks to more than {MOST_BYTES} bytes")))?;
        files.push((name, unpacked));
    }
    Ok(files)
}

fn invalid(cause: impl ToString) -> io::Error {
    io::Error::new(io::ErrorKind::InvalidData, cause.to_string())
}

fn too_large(what: String) -> io::Error {
    io::Error::new(io::ErrorKind::FileTooLarge, what)
}

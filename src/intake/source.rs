//! Bytes that can be read more than once, from a file or from memory, and the record of what was read.

use std::io::{self, Read};
use std::path::Path;

use sha2::{Digest, Sha256};

use crate::files::{Files, hex};
use crate::provenance::Place;

use super::error::IntakeError;
use super::survey::InputFile;

/// Largest table of text, in bytes.
pub(super) const LARGEST_TABLE: u64 = 8 << 30;
/// Largest file that is held in memory whole (GeoJSON, shapefile, XML), in bytes.
pub(super) const LARGEST_WHOLE: u64 = 512 << 20;

/// Where bytes come from.
#[derive(Clone, Copy)]
pub(super) enum Source<'a> {
    /// A file of a set.
    File(&'a Files, &'a Path),
    /// Memory.
    Bytes(&'a [u8]),
}

impl<'a> Source<'a> {
    /// A reader from the start.
    pub(super) fn open(self) -> io::Result<Box<dyn Read + Send + 'a>> {
        Ok(match self {
            Self::File(files, path) => files.open(path)?,
            Self::Bytes(bytes) => Box::new(bytes),
        })
    }

    /// Number of bytes.
    pub(super) fn size(self) -> io::Result<u64> {
        match self {
            Self::File(files, path) => files.size(path),
            Self::Bytes(bytes) => Ok(bytes.len() as u64),
        }
    }
}

/// A file as the user named it.
pub(super) fn shown(path: &Path) -> String {
    path.display().to_string()
}

/// The place of a whole file.
pub(super) fn place_of(path: &Path) -> Place {
    Place::file(shown(path))
}

/// Reads a whole file of limited size and notes it as an input.
pub(super) fn read_whole(
    files: &Files,
    path: &Path,
    inputs: &mut Vec<InputFile>,
) -> Result<Vec<u8>, IntakeError> {
    let unreadable = |cause| IntakeError::Unreadable {
        place: place_of(path),
        cause,
    };
    let size = files.size(path).map_err(unreadable)?;
    if size > LARGEST_WHOLE {
        return Err(too_large(path, size, LARGEST_WHOLE));
    }
    let bytes = files.read(path, LARGEST_WHOLE).map_err(unreadable)?;
    let mut hash = Sha256::new();
    hash.update(&bytes);
    note_input(inputs, path, hash, bytes.len() as u64);
    Ok(bytes)
}

pub(super) fn too_large(path: &Path, size: u64, limit: u64) -> IntakeError {
    IntakeError::OverLimit {
        place: place_of(path),
        what: format!("a size of {size} bytes"),
        limit: format!("{limit} bytes"),
    }
}

/// Adds a file to the inputs, once.
pub(super) fn note_input(inputs: &mut Vec<InputFile>, path: &Path, hash: Sha256, bytes: u64) {
    let path = shown(path);
    if inputs.iter().all(|input| input.path != path) {
        inputs.push(InputFile {
            path,
            sha256: hex(&hash.finalize()),
            bytes,
        });
    }
}

/// A reader that hashes what passes through it.
pub(super) struct Hashing<R> {
    inner: R,
    hash: Sha256,
    bytes: u64,
}

impl<R: Read> Hashing<R> {
    pub(super) fn new(inner: R) -> Self {
        Self {
            inner,
            hash: Sha256::new(),
            bytes: 0,
        }
    }

    /// The hash and the count of what was read.
    pub(super) fn finish(self) -> (Sha256, u64) {
        (self.hash, self.bytes)
    }
}

impl<R: Read> Read for Hashing<R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let count = self.inner.read(buffer)?;
        if let Some(read) = buffer.get(..count) {
            self.hash.update(read);
        }
        self.bytes += count as u64;
        Ok(count)
    }
}

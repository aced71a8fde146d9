//! `farm.json`: which files the farm's result has, each with its checksum; it is written last.

use serde::Serialize;

use super::out_folder::FARM_RECORD;
use crate::deliver::OutputFile;
use crate::files::{sha256, with_checksum};

#[derive(Serialize)]
struct FarmRecord<'a> {
    program: &'a str,
    version: &'a str,
    form: u32,
    farm: &'a str,
    fields: usize,
    without_result: usize,
    files: Vec<WrittenFile>,
    checksum: &'a str,
}

/// A file of the farm's result.
#[derive(Serialize)]
struct WrittenFile {
    path: String,
    bytes: u64,
    sha256: String,
}

/// The record of some files.
pub(super) fn file(
    farm: &str,
    (fields, without_result): (usize, usize),
    files: &[OutputFile],
) -> OutputFile {
    let written = files.iter().map(|file| WrittenFile {
        path: file.path.clone(),
        bytes: file.bytes.len() as u64,
        sha256: sha256(&file.bytes),
    });
    let record = FarmRecord {
        program: env!("CARGO_PKG_NAME"),
        version: env!("CARGO_PKG_VERSION"),
        form: 1,
        farm,
        fields,
        without_result,
        files: written.collect(),
        checksum: "",
    };
    let text = serde_json::to_string_pretty(&record).unwrap_or_default() + "\n";
    OutputFile::new(FARM_RECORD, with_checksum(&text))
}

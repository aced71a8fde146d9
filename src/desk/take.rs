//! The result files: written as `plan` writes them, or handed to the browser one by one or as a zip.

use std::io::{Cursor, Write as _};

use serde::{Deserialize, Serialize};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use super::desk::Desk;
use super::refused::Refused;
use crate::deliver::Delivery;

/// Which result is written, and where.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Taking {
    /// The answer of the saved plan.
    pub answer: u64,
    /// Name of the result folder in the plan's folder.
    pub out: String,
}

/// What was written.
#[derive(Debug, Serialize)]
pub struct Taken {
    /// The folder.
    pub folder: String,
    /// Its files with their bytes.
    pub files: Vec<(String, usize)>,
}

/// The files of an answer.
///
/// # Errors
/// As [`Desk::delivery`].
pub fn listed(desk: &Desk, answer: u64) -> Result<Vec<(String, usize)>, Refused> {
    let delivery = desk.delivery(answer)?;
    Ok(sizes(&delivery))
}

fn sizes(delivery: &Delivery) -> Vec<(String, usize)> {
    let files = delivery.files.iter();
    files
        .map(|file| (file.path.clone(), file.bytes.len()))
        .collect()
}

/// Writes the result folder.
///
/// # Errors
/// As `plan`.
pub fn write(desk: &Desk, taking: &Taking) -> Result<Taken, Refused> {
    let delivery = desk.delivery(taking.answer)?;
    let folder = desk.home.write_results(&taking.out, &delivery)?;
    Ok(Taken {
        folder: folder.display().to_string(),
        files: sizes(&delivery),
    })
}

/// One file.
///
/// # Errors
/// As [`Desk::delivery`]; a file that there is not.
pub fn file(desk: &Desk, answer: u64, path: &str) -> Result<Vec<u8>, Refused> {
    let delivery = desk.delivery(answer)?;
    let bytes = delivery.get(path);
    bytes
        .map(<[u8]>::to_vec)
        .ok_or_else(|| Refused::NotFound("there is no such file in the result".to_owned()))
}

/// All files as one archive with fixed times: the same result gives the same bytes.
///
/// # Errors
/// As [`Desk::delivery`].
pub fn archive(desk: &Desk, answer: u64) -> Result<Vec<u8>, Refused> {
    let delivery = desk.delivery(answer)?;
    packed(&delivery).map_err(|error| Refused::TooMuch(format!("the archive: {error}")))
}

fn packed(delivery: &Delivery) -> zip::result::ZipResult<Vec<u8>> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().last_modified_time(zip::DateTime::default());
    for file in &delivery.files {
        writer.start_file(file.path.as_str(), options)?;
        writer.write_all(&file.bytes)?;
    }
    Ok(writer.finish()?.into_inner())
}

//! The farm's result folder, written as `lowstave farm` writes it.

use std::io::{Cursor, Write as _};

use serde::{Deserialize, Serialize};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

use super::farm_desk::FarmDesk;
use super::progress::Watched;
use super::workshop::{Doing, refused, worked};
use crate::desk::refused::Refused;
use crate::desk::turn::Turn;
use crate::farm::FieldFiles;

/// What is written, and where.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FarmTaking {
    /// What tells the saved farm file's state.
    pub farm: String,
    /// Name of the result folder beside the farm file.
    pub out: String,
    /// Which files each field has of its own.
    #[serde(default)]
    pub files: FieldFiles,
}

/// What was written.
#[derive(Debug, Serialize)]
pub struct FarmTaken {
    /// The folder.
    pub folder: String,
    /// The farm's own files.
    pub files: Vec<String>,
    /// How many fields have a result.
    pub fields: usize,
}

/// Writes the result folder.
///
/// # Errors
/// As `lowstave farm`.
pub fn write(desk: &FarmDesk, taking: &FarmTaking, turn: &Turn) -> Result<FarmTaken, Refused> {
    let texts = desk.known(&taking.farm)?;
    let farm = desk.home.farm(&texts)?;
    let out = desk.home.out(&taking.out)?;
    let doing = Doing {
        name: desk.home.name(),
        files: taking.files,
        keeps: false,
    };
    let watched = Watched {
        progress: &desk.progress,
        turn,
    };
    let result = desk
        .progress
        .during(|| worked(&farm, &out, &doing, &watched));
    let result = result.map_err(|failure| refused(failure, turn))?;
    Ok(FarmTaken {
        folder: out.display().to_string(),
        fields: result.records.len(),
        files: result.files,
    })
}

/// The farm's own files as one archive with fixed times: the same result gives the same bytes.
///
/// # Errors
/// As [`FarmDesk::saved`].
pub fn archive(desk: &FarmDesk, turn: &Turn) -> Result<Vec<u8>, Refused> {
    let files = desk.saved(turn)?.1.result.files.clone();
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().last_modified_time(zip::DateTime::default());
    let failed = |error: String| Refused::TooMuch(format!("the archive: {error}"));
    for path in files {
        let bytes = desk.file(&path, turn)?;
        let started = writer.start_file(path.as_str(), options);
        started.map_err(|error| failed(error.to_string()))?;
        let written = writer.write_all(&bytes);
        written.map_err(|error| failed(error.to_string()))?;
    }
    let done = writer.finish().map_err(|error| failed(error.to_string()))?;
    Ok(done.into_inner())
}

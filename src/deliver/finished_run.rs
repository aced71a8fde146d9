use std::path::{Path, PathBuf};

use super::error::DeliverError;
use super::recovery;
use super::recovery::real_path;
use super::review::ZoneReview;
use super::run_record::{ListedFile, PROGRAM, RUN_FILE, ReadRecord, ReadSettings, WrittenFile};
use crate::field::WorkingCrs;
use crate::files::{Files, sha256};
use crate::remark::Remark;
use crate::trial::StripPlan;
use crate::units::UnitSystem;

/// Largest record of a run that is read, in bytes; that of a field of thirty zones has about one megabyte.
const LARGEST_RECORD: u64 = 256 << 20;
/// Largest result file whose bytes are looked at.
const LARGEST_RESULT: u64 = 8 << 30;

/// A result on the disk: its record, and whether its files are still what was written.
#[derive(Debug)]
pub struct FinishedRun {
    folder: PathBuf,
    record: ReadRecord,
    sha256: String,
}

/// What of a finished run a later step needs.
#[derive(Debug, Clone)]
pub struct RunFacts {
    /// The folder, as it was named.
    pub folder: String,
    /// SHA-256 of its record.
    pub sha256: String,
    /// Version of the record's form.
    pub form: u32,
    /// Name of the field.
    pub field: String,
    /// Season.
    pub season: u16,
    /// Crop.
    pub crop: String,
    /// Units that were printed.
    pub units: UnitSystem,
    /// What the crop sells for, United States dollars a kilogram.
    pub crop_price: Option<f64>,
    /// The field's plane.
    pub origin: WorkingCrs,
    /// Area of the field, m².
    pub area_m2: f64,
    /// The check strips.
    pub strips: StripPlan,
    /// What else was asked for.
    pub settings: ReadSettings,
}

/// A file of a result that is not as it was written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Change {
    /// Path below the result's folder.
    pub path: String,
    /// Whether it is gone; otherwise its bytes are others.
    pub is_gone: bool,
}

impl FinishedRun {
    /// Reads the record of a result. An old result that a killed run had set aside is put back first.
    ///
    /// # Errors
    /// Where the folder holds no result of this program.
    pub fn open(folder: &Path) -> Result<Self, DeliverError> {
        recovery::restore(folder);
        let failed = |cause: String| DeliverError::Read {
            path: folder.join(RUN_FILE),
            cause,
        };
        let bytes = Files::folder(folder)
            .read(Path::new(RUN_FILE), LARGEST_RECORD)
            .map_err(|cause| failed(cause.to_string()))?;
        let record: ReadRecord = serde_json::from_slice(&bytes)
            .map_err(|cause| failed(format!("it is not a record of a run ({cause})")))?;
        if record.program != PROGRAM {
            return Err(failed(format!(
                "it was written by \"{}\"",
                crate::text::one_line(&record.program)
            )));
        }
        Ok(Self {
            folder: folder.to_owned(),
            record,
            sha256: sha256(&bytes),
        })
    }

    /// What a verdict, or a plan of a later year, needs of it.
    #[must_use]
    pub fn facts(&self) -> RunFacts {
        let settings = self.record.settings.clone();
        RunFacts {
            folder: self.folder.display().to_string(),
            sha256: self.sha256.clone(),
            form: self.record.form,
            field: settings.field,
            season: settings.season,
            crop: settings.crop,
            units: settings.units,
            crop_price: settings.crop_price,
            origin: self.record.field.origin,
            area_m2: self.record.field.area_m2,
            strips: self.record.strips.clone(),
            settings: self.record.settings.clone(),
        }
    }

    /// One zone's reasons.
    ///
    /// # Errors
    /// Where the run has no such zone.
    pub fn zone(&self, number: u32) -> Result<&ZoneReview, DeliverError> {
        let mut zones = self.record.review.iter();
        zones
            .find(|review| review.zone == number)
            .ok_or_else(|| DeliverError::NoSuchZone {
                zone: number,
                folder: self.folder.clone(),
                last: self.record.review.len(),
            })
    }

    /// The files of the result as they were written; empty for a result of a version that kept no checksums.
    pub fn files(&self) -> impl Iterator<Item = &WrittenFile> {
        self.record.files.iter().filter_map(|file| match file {
            ListedFile::Written(file) => Some(file),
            ListedFile::Name(_) => None,
        })
    }

    /// Its record.
    pub(super) fn record(&self) -> &ReadRecord {
        &self.record
    }

    /// The bytes of one of its files, and whether they are still what was written; `None` of that where no checksum was kept.
    pub(super) fn read(&self, path: &str) -> Result<(Vec<u8>, Option<bool>), DeliverError> {
        let bytes = Files::folder(&self.folder)
            .read(Path::new(path), LARGEST_RECORD)
            .map_err(|cause| DeliverError::Read {
                path: self.folder.join(path),
                cause: cause.to_string(),
            })?;
        let listed = self.files().find(|file| file.path == path);
        let is_same = listed.map(|file| file.sha256 == sha256(&bytes));
        Ok((bytes, is_same))
    }

    /// The folder, as it was named.
    pub(super) fn folder(&self) -> &Path {
        &self.folder
    }

    /// The paths of the result's files, below its folder.
    pub(super) fn paths(&self) -> impl Iterator<Item = &str> {
        self.record.files.iter().map(|file| match file {
            ListedFile::Written(file) => file.path.as_str(),
            ListedFile::Name(name) => name,
        })
    }

    /// Refuses a folder for further results inside one that the run's own files lie in, such as that of the controller.
    ///
    /// # Errors
    /// [`DeliverError::InsideRun`].
    pub fn require_outside(&self, out: &Path) -> Result<(), DeliverError> {
        let (Some(own), Some(asked)) = (real_path(&self.folder), real_path(out)) else {
            return Ok(());
        };
        let rest = asked.strip_prefix(&own).unwrap_or(Path::new(""));
        let Some(part) = rest.iter().next() else {
            return Ok(());
        };
        let holds = |path: &str| {
            Path::new(path)
                .parent()
                .is_some_and(|above| above.iter().next() == Some(part))
        };
        if !self.paths().any(holds) {
            return Ok(());
        }
        Err(DeliverError::InsideRun {
            out: out.to_owned(),
            part: part.to_string_lossy().into_owned(),
        })
    }

    /// The files that were changed since they were written, or are gone. None are known of a result of a
    /// version that kept no checksums.
    #[must_use]
    pub fn changes(&self) -> Vec<Change> {
        let files = Files::folder(&self.folder);
        let change = |file: &WrittenFile| {
            let name = Path::new(&file.path);
            let Ok(size) = files.size(name) else {
                return Some(true);
            };
            let is_same = size == file.bytes
                && files
                    .read(name, LARGEST_RESULT)
                    .is_ok_and(|bytes| sha256(&bytes) == file.sha256);
            (!is_same).then_some(false)
        };
        self.files()
            .filter_map(|file| {
                let path = file.path.clone();
                change(file).map(|is_gone| Change { path, is_gone })
            })
            .collect()
    }

    /// The changes as remarks.
    #[must_use]
    pub fn remarks(&self) -> Vec<Remark> {
        let remark = |change: Change| {
            let (code, what) = if change.is_gone {
                ("result-file-gone", "is gone since it was written")
            } else {
                ("result-file-changed", "was changed since it was written")
            };
            let what = format!(
                "\"{}\" {what}; it may no longer fit this answer.",
                change.path
            );
            Remark::warning(code, what)
                .help("Run \"lowstave plan\" again, into another folder to keep what was changed.")
        };
        self.changes().into_iter().map(remark).collect()
    }
}

//! An output folder of an earlier season, read as far as it goes, with its checksums compared with its bytes.

use serde::Deserialize;

use super::error::PastError;
use super::older_record::OlderRun;
use super::outlines::{ZONES_FILE, ZoneOutline, outlines};
use super::past_verdict::{PastVerdict, VERDICT_FILE};
use super::season_record::{SEASON_FILE, SEASON_FORM, SeasonRecord};
use crate::files::{Files, is_as_written, sha256};
use crate::intake::InputFile;
use crate::plan::PastFolder;
use crate::provenance::Place;

/// Name of the record in the output folder.
const RUN_FILE: &str = "run.json";
/// Largest file of an earlier run that is read, in bytes.
const LARGEST: u64 = 256 << 20;
/// The program whose folders these are.
const PROGRAM: &str = env!("CARGO_PKG_NAME");
/// Forms of `run.json` that are known.
const FORMS: std::ops::RangeInclusive<u32> = 1..=2;

/// An earlier season.
#[derive(Debug, Clone, PartialEq)]
pub struct PastRun {
    /// The folder, as it was named.
    pub folder: String,
    /// Where in the plan it was named.
    pub place: Place,
    /// What was measured, found and ordered.
    pub record: SeasonRecord,
    /// Whether a version wrote it that kept no places, laboratories and dates.
    pub is_older: bool,
    /// The files that were read, for the record of this run.
    pub inputs: Vec<InputFile>,
    pub(super) outlines: Vec<ZoneOutline>,
    pub(super) verdict: Option<PastVerdict>,
}

/// What of `run.json` says whose it is, and what was written beside it.
#[derive(Debug, Deserialize)]
struct Head {
    program: String,
    #[serde(default)]
    form: u32,
    files: Vec<Listed>,
    season: Option<u16>,
    crop: Option<String>,
    settings: Option<HeadSettings>,
}

/// What of the record must be as the season's record says.
#[derive(Debug, Deserialize)]
struct HeadSettings {
    season: u16,
    crop: String,
}

#[derive(Debug, Deserialize)]
#[serde(untagged)]
enum Listed {
    Written { path: String, sha256: String },
    Name(String),
}

impl Head {
    /// Whether `run.json` says another season or crop than the season's record, which carries its own checksum.
    fn says_other_than(&self, record: &SeasonRecord) -> bool {
        let settings = self.settings.as_ref();
        let seasons = self
            .season
            .into_iter()
            .chain(settings.map(|said| said.season));
        let crops = self.crop.iter().chain(settings.map(|said| &said.crop));
        seasons.into_iter().any(|season| season != record.season)
            || crops.into_iter().any(|crop| *crop != record.crop)
    }
}

impl PastRun {
    /// Reads the folder.
    ///
    /// # Errors
    /// Where it holds no run of this program, or a file of it is gone or was edited.
    pub fn read(files: &Files, named: &PastFolder) -> Result<Self, PastError> {
        Reading {
            files,
            named,
            inputs: Vec::new(),
        }
        .run()
    }
}

/// The reading of one folder.
struct Reading<'a> {
    files: &'a Files,
    named: &'a PastFolder,
    inputs: Vec<InputFile>,
}

impl Reading<'_> {
    fn run(mut self) -> Result<PastRun, PastError> {
        let bytes = self.bytes(RUN_FILE)?;
        let run_sha256 = sha256(&bytes);
        let head: Head = serde_json::from_slice(&bytes)
            .map_err(|cause| self.no_run(format!("{RUN_FILE} is no record of a run ({cause})")))?;
        if head.program != PROGRAM {
            let program = crate::text::one_line(&head.program);
            return Err(self.no_run(format!("{RUN_FILE} was written by \"{program}\"")));
        }
        if !FORMS.contains(&head.form) {
            return Err(self.no_run(format!(
                "{RUN_FILE} has the form {}, of a version newer than this one",
                head.form
            )));
        }
        let outlines = self.listed(&head, ZONES_FILE)?;
        let outlines = outlines.ok_or_else(|| self.no_run(format!("{ZONES_FILE} is gone")))?;
        let outlines = self::outlines(&outlines)
            .map_err(|cause| self.edited(ZONES_FILE, format!("has no zones in it ({cause})")))?;
        let season = self.listed(&head, SEASON_FILE)?;
        let is_older = season.is_none();
        let record = match season {
            Some(season) => self.season(&season)?,
            None => self.older(&bytes)?,
        };
        if head.says_other_than(&record) {
            return Err(self.edited(
                RUN_FILE,
                format!("says another season or crop than {SEASON_FILE} beside it"),
            ));
        }
        let is_same = outlines.len() == record.zones.len()
            && record
                .zones
                .iter()
                .all(|zone| outlines.iter().any(|outline| outline.zone == zone.zone));
        if !is_same {
            return Err(self.edited(
                ZONES_FILE,
                "does not hold the zones that the record speaks of".to_owned(),
            ));
        }
        let verdict = self.verdict(&run_sha256)?;
        Ok(PastRun {
            folder: self.folder(),
            place: self.named.place.clone(),
            record,
            is_older,
            inputs: self.inputs,
            outlines,
            verdict,
        })
    }

    fn folder(&self) -> String {
        self.named.folder.display().to_string()
    }

    fn no_run(&self, cause: impl Into<String>) -> PastError {
        PastError::NoRun {
            place: self.named.place.clone(),
            folder: self.folder(),
            cause: cause.into(),
        }
    }

    fn edited(&self, file: &str, what: String) -> PastError {
        PastError::Edited {
            place: self.named.place.clone(),
            folder: self.folder(),
            file: file.to_owned(),
            what,
        }
    }

    fn bytes(&mut self, file: &str) -> Result<Vec<u8>, PastError> {
        let path = self.named.folder.join(file);
        let bytes = self
            .files
            .read(&path, LARGEST)
            .map_err(|cause| self.no_run(format!("{file}: {cause}")))?;
        self.inputs.push(InputFile {
            path: path.display().to_string(),
            sha256: sha256(&bytes),
            bytes: bytes.len() as u64,
        });
        Ok(bytes)
    }

    /// A file that the record lists, as it was written; nothing where the record does not list it.
    fn listed(&mut self, head: &Head, file: &str) -> Result<Option<Vec<u8>>, PastError> {
        let known = head.files.iter().find_map(|listed| match listed {
            Listed::Written { path, sha256 } => (path == file).then_some(Some(sha256.clone())),
            Listed::Name(name) => (name == file).then_some(None),
        });
        let Some(known) = known else {
            return Ok(None);
        };
        if !self.files.is_file(&self.named.folder.join(file)) {
            return Err(self.edited(file, "is gone since it was written".to_owned()));
        }
        let bytes = self.bytes(file)?;
        if known.is_some_and(|known| known != sha256(&bytes)) {
            return Err(self.edited(file, "was changed since it was written".to_owned()));
        }
        Ok(Some(bytes))
    }

    fn season(&self, bytes: &[u8]) -> Result<SeasonRecord, PastError> {
        if !is_as_written(bytes) {
            return Err(self.edited(SEASON_FILE, "was changed since it was written".to_owned()));
        }
        let record: SeasonRecord = serde_json::from_slice(bytes)
            .map_err(|cause| self.no_run(format!("{SEASON_FILE} cannot be read ({cause})")))?;
        if record.form > SEASON_FORM {
            return Err(self.no_run(format!(
                "{SEASON_FILE} has the form {}, of a version newer than this one",
                record.form
            )));
        }
        Ok(record)
    }

    fn older(&self, bytes: &[u8]) -> Result<SeasonRecord, PastError> {
        let run: OlderRun = serde_json::from_slice(bytes).map_err(|cause| {
            self.no_run(format!(
                "{RUN_FILE} is of an early version that did not keep what was found in each zone ({cause})"
            ))
        })?;
        Ok(run.record(PROGRAM))
    }

    /// The verdict on the run's strips, where the harvest was judged.
    fn verdict(&mut self, run_sha256: &str) -> Result<Option<PastVerdict>, PastError> {
        if !self.files.is_file(&self.named.folder.join(VERDICT_FILE)) {
            return Ok(None);
        }
        let bytes = self.bytes(VERDICT_FILE)?;
        if !is_as_written(&bytes) {
            return Err(self.edited(
                VERDICT_FILE,
                "was changed since it was written, or an earlier version wrote it; judge that harvest again: lowstave verdict DIR --results FILE --force"
                    .to_owned(),
            ));
        }
        let verdict: PastVerdict = serde_json::from_slice(&bytes)
            .map_err(|cause| self.edited(VERDICT_FILE, format!("is not a verdict ({cause})")))?;
        if verdict.program != PROGRAM || verdict.run_sha256 != run_sha256 {
            return Err(self.edited(
                VERDICT_FILE,
                "is the verdict on another run, not on the one beside it".to_owned(),
            ));
        }
        Ok(Some(verdict))
    }
}

impl PastRun {
    /// Its zone of a number.
    pub(super) fn zone(&self, number: u32) -> Option<&super::season_record::ZoneRecord> {
        self.record.zones.iter().find(|zone| zone.zone == number)
    }

    /// Refuses a run of this season or a later one, and two runs of one season.
    ///
    /// # Errors
    /// The first run that does not fit.
    pub fn check_order(runs: &[Self], now: u16) -> Result<(), PastError> {
        for (at, run) in runs.iter().enumerate() {
            if run.record.season >= now {
                return Err(PastError::NotEarlier {
                    place: run.place.clone(),
                    folder: run.folder.clone(),
                    then: run.record.season,
                    now,
                });
            }
            if let Some(other) = runs[..at].iter().find(|other| run.shares_a_harvest(other)) {
                return Err(PastError::Edited {
                    place: run.place.clone(),
                    folder: run.folder.clone(),
                    file: VERDICT_FILE.to_owned(),
                    what: format!(
                        "was judged by a file that the verdict of \"{}\" was judged by, byte for byte; one harvest counts once",
                        other.folder
                    ),
                });
            }
            let same = |other: &&Self| other.record.season == run.record.season;
            if let Some(other) = runs[..at].iter().find(same) {
                return Err(PastError::Twice {
                    place: run.place.clone(),
                    folder: run.folder.clone(),
                    other: other.folder.clone(),
                    season: run.record.season,
                });
            }
        }
        Ok(())
    }

    /// Whether a file of one harvest was taken for that of another.
    fn shares_a_harvest(&self, other: &Self) -> bool {
        let inputs = |run: &Self| {
            run.verdict
                .iter()
                .flat_map(|verdict| verdict.inputs.clone())
                .collect::<Vec<_>>()
        };
        let known = inputs(other);
        inputs(self).iter().any(|file| known.contains(file))
    }
}

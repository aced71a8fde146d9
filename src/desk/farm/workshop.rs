use std::path::Path;

use super::farm_home::{FarmHome, WorkFolder};
use super::progress::{Progress, Watched};
use crate::desk::refused::Refused;
use crate::desk::texts::Texts;
use crate::desk::turn::Turn;
use crate::engine::Watch as _;
use crate::error::{Error, Failure};
use crate::farm::{self, Farm, FarmError, FarmOptions, FarmResult, FieldFiles, JoinOptions};

/// A farm that was worked on.
#[derive(Debug)]
pub struct WorkedFarm {
    /// Its fields and what is said of it.
    pub farm: Farm,
    /// What came of it.
    pub result: FarmResult,
}

/// Where farms are worked on, one request after another.
#[derive(Debug)]
pub struct Workshop {
    folder: WorkFolder,
}

impl Workshop {
    /// A new one with a folder of its own.
    ///
    /// # Errors
    /// As [`WorkFolder::new`].
    pub fn new() -> Result<Self, Error> {
        Ok(Self {
            folder: WorkFolder::new()?,
        })
    }

    /// Works on a farm as a text of its farm file says; fields whose files did not change keep their result.
    ///
    /// # Errors
    /// What is wrong with the farm file; [`Refused::Newer`] where a newer change came.
    pub fn work(
        &mut self,
        home: &FarmHome,
        texts: &Texts,
        turn: &Turn,
        progress: &Progress,
    ) -> Result<WorkedFarm, Refused> {
        let farm = home.farm(texts)?;
        let out = self.folder.out();
        let watched = Watched { progress, turn };
        let doing = Doing {
            name: home.name(),
            files: FieldFiles::None,
            keeps: true,
        };
        let result = progress.during(|| worked(&farm, &out, &doing, &watched));
        Ok(WorkedFarm {
            result: result.map_err(|failure| refused(failure, turn))?,
            farm,
        })
    }

    /// A file of the farm's own as it was made last.
    ///
    /// # Errors
    /// Where there is none.
    pub fn file(&self, path: &str) -> Result<Vec<u8>, Refused> {
        let missing = || Refused::NotFound("there is no such file in the result".to_owned());
        self.folder.file(path).ok_or_else(missing)
    }
}

/// How a farm is worked on.
pub struct Doing {
    /// What the farm is known by to whoever joins its parts.
    pub name: String,
    /// Which files of each field are written.
    pub files: FieldFiles,
    /// Whether fields whose files did not change keep their result.
    pub keeps: bool,
}

/// Works on a farm into a folder, as `lowstave farm` does.
///
/// # Errors
/// As `lowstave farm`.
pub fn worked(
    farm: &Farm,
    out: &Path,
    doing: &Doing,
    watch: &Watched<'_>,
) -> Result<FarmResult, Failure> {
    let threads = std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
    let options = FarmOptions {
        farm: doing.name.clone(),
        files: doing.files,
        resume: doing.keeps,
        part: None,
        threads,
        overwrite_edited: false,
    };
    farm::work(farm, out, &options, watch)?;
    let joining = JoinOptions {
        threads,
        overwrite_edited: false,
    };
    farm::join(farm, out, joining, watch)
}

/// Work that was stopped for a newer change is not a failure.
pub fn refused(failure: Failure, turn: &Turn) -> Refused {
    let is_stop = |error: &Error| {
        matches!(
            error,
            Error::Farm(FarmError::Stopped { .. }) | Error::Cancelled
        )
    };
    if turn.is_cancelled() && failure.errors().iter().any(is_stop) {
        Refused::Newer
    } else {
        Refused::Engine(failure)
    }
}

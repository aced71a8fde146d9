use std::fs;
use std::path::{Path, PathBuf};

use toml_edit::DocumentMut;

use crate::deliver::{self, DeliverError};
use crate::desk::home::file_name;
use crate::desk::refused::Refused;
use crate::desk::texts::Texts;
use crate::error::{Error, Failure};
use crate::farm::{FARM_FILE, Farm};
use crate::files::Files;
use crate::plan::LARGEST_PLAN_BYTES;

/// The folder of a farm with its farm file.
#[derive(Debug, Clone)]
pub struct FarmHome {
    folder: PathBuf,
    file: String,
}

impl FarmHome {
    /// The farm of a path: a farm file, or a folder with `farm.toml` and no plan of its own; `None` where it is something else.
    #[must_use]
    pub fn of(path: Option<&Path>) -> Option<Self> {
        let found = path.unwrap_or(Path::new(".")).canonicalize().ok()?;
        if found.is_dir() {
            let has = |name: &str| found.join(name).is_file();
            let is_farm = has(FARM_FILE) && !has(crate::desk::home::PLAN_FILE);
            return is_farm.then(|| Self {
                folder: found,
                file: FARM_FILE.to_owned(),
            });
        }
        if fs::metadata(&found).ok()?.len() > LARGEST_PLAN_BYTES {
            return None;
        }
        let text: DocumentMut = fs::read_to_string(&found).ok()?.parse().ok()?;
        // A plan has no list of fields, and a farm file nothing else that must be there.
        text.get("fields")?;
        Some(Self {
            folder: found.parent()?.to_owned(),
            file: found.file_name()?.to_str()?.to_owned(),
        })
    }

    /// The folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The farm file's name.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// What the farm is known by to whoever joins its parts.
    #[must_use]
    pub fn name(&self) -> String {
        self.folder.join(&self.file).to_string_lossy().into_owned()
    }

    /// The farm file as it lies on the disk.
    ///
    /// # Errors
    /// Where it cannot be read.
    pub fn text(&self) -> Result<Texts, Refused> {
        let path = Path::new(&self.file);
        let unreadable = |cause: String| {
            Refused::NotFound(format!("{}: it cannot be read ({cause})", self.file))
        };
        let bytes = Files::folder(&self.folder).read(path, LARGEST_PLAN_BYTES);
        let bytes = bytes.map_err(|cause| unreadable(cause.to_string()))?;
        let plan = String::from_utf8(bytes)
            .map_err(|_| unreadable("this is not UTF-8 text".to_owned()))?;
        Ok(Texts {
            plan_file: self.file.clone(),
            plan,
            rules: None,
        })
    }

    /// Writes the farm file, whole or not at all.
    ///
    /// # Errors
    /// Where the disk refuses; then it is as it was.
    pub fn write(&self, texts: &Texts) -> Result<(), Refused> {
        let path = self.folder.join(&self.file);
        let written = deliver::write_file(&path, texts.plan.as_bytes(), true);
        written.map_err(|error: DeliverError| Refused::Engine(Failure::from(error)))
    }

    /// The farm with its farm file as a text says.
    ///
    /// # Errors
    /// What is wrong with the farm file.
    pub fn farm(&self, texts: &Texts) -> Result<Farm, Refused> {
        let files = texts.over(&Files::folder(&self.folder));
        let name = self.folder.file_name().unwrap_or_default();
        let farm = Farm::open(&files, Some(Path::new(&self.file)), &name.to_string_lossy());
        Ok(farm?)
    }

    /// A folder for results beside the farm file.
    ///
    /// # Errors
    /// A name that is none.
    pub fn out(&self, name: &str) -> Result<PathBuf, Refused> {
        Ok(self.folder.join(file_name(name)?))
    }

    /// A plan file of the farm, below its folder.
    ///
    /// # Errors
    /// Where it lies elsewhere or is not there.
    pub fn plan(&self, plan: &str) -> Result<PathBuf, Refused> {
        let path = self.folder.join(plan);
        let found = path.canonicalize().ok();
        found
            .filter(|path| path.starts_with(&self.folder) && path.is_file())
            .ok_or_else(|| {
                Refused::NotFound(format!(
                    "\"{plan}\" is no plan file below the farm's folder, so the field has no desk of its own; its plan may be a row of a table"
                ))
            })
    }
}

/// The folder for the time being, which is gone when the desk ends.
#[derive(Debug)]
pub struct WorkFolder {
    path: PathBuf,
}

impl WorkFolder {
    /// A new one, which only this user can read.
    ///
    /// # Errors
    /// Where the system has no random numbers or no room.
    pub fn new() -> Result<Self, Error> {
        let mut bytes = [0_u8; 12];
        getrandom::fill(&mut bytes)
            .map_err(|error| Error::Serve(std::io::Error::other(error.to_string())))?;
        let name: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        let path = std::env::temp_dir().join(format!("lowstave-desk-{name}"));
        let mut builder = fs::DirBuilder::new();
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(&path).map_err(Error::Serve)?;
        Ok(Self { path })
    }

    /// Where the farm's results lie for the time being.
    #[must_use]
    pub fn out(&self) -> PathBuf {
        self.path.join("farm")
    }

    /// A file of the results; `None` where there is none.
    #[must_use]
    pub fn file(&self, path: &str) -> Option<Vec<u8>> {
        fs::read(self.out().join(path)).ok()
    }
}

impl Drop for WorkFolder {
    fn drop(&mut self) {
        drop(fs::remove_dir_all(&self.path));
    }
}

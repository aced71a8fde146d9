//! The folder that the desk works in: the only file of the desk that touches the disk. Names that come from the page are names of files
//! in this folder, never paths.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use toml_edit::{DocumentMut, Item};

use super::edit::RULES;
use super::refused::Refused;
use super::texts::Texts;
use crate::deliver::{self, DeliverError, Delivery, WriteOptions};
use crate::error::{Error, Failure};
use crate::files::Files;
use crate::plan::LARGEST_PLAN_BYTES;

/// The plan's file name where none is given.
pub const PLAN_FILE: &str = "plan.toml";
/// Most files of a folder that are listed.
const MOST_FILES: usize = 1_000;
/// Largest rulebook file that is changed, in bytes.
const LARGEST_RULES: u64 = 10 << 20;

/// A folder with a plan, or with files that a plan is made from.
#[derive(Debug, Clone)]
pub struct Home {
    folder: PathBuf,
    plan: String,
    /// Name and text of the farm file that the plan takes tables from, as the engine looks for it beside the plan.
    farm_file: Option<(String, String)>,
}

/// A file of the folder.
#[derive(Debug, Clone, serde::Serialize)]
pub struct ListedFile {
    /// Its name.
    pub name: String,
    /// Size in bytes.
    pub bytes: u64,
}

impl Home {
    /// The home of a path: a plan file, a folder, or the working folder.
    ///
    /// # Errors
    /// Where there is neither a file nor a folder.
    pub fn open(path: Option<&Path>) -> Result<Self, Error> {
        let path = path.unwrap_or(Path::new("."));
        let missing = || Error::NoHome {
            path: path.to_owned(),
        };
        let found = path.canonicalize().map_err(|_| missing())?;
        if found.is_dir() {
            return Ok(Self {
                folder: found,
                plan: PLAN_FILE.to_owned(),
                farm_file: None,
            });
        }
        let plan = found.file_name().and_then(|name| name.to_str());
        match (found.parent(), plan) {
            (Some(folder), Some(plan)) => Ok(Self {
                folder: folder.to_owned(),
                plan: plan.to_owned(),
                farm_file: None,
            }),
            _ => Err(missing()),
        }
    }

    /// The same home of a field of a farm, whose farm file it knows by name and text.
    #[must_use]
    pub fn of_farm(self, name: &str, text: &str) -> Self {
        Self {
            farm_file: Some((name.to_owned(), text.to_owned())),
            ..self
        }
    }

    /// The folder.
    #[must_use]
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The plan's file name.
    #[must_use]
    pub fn plan_file(&self) -> &str {
        &self.plan
    }

    /// The folder's files.
    #[must_use]
    pub fn files(&self) -> Files {
        let files = Files::folder(&self.folder);
        match &self.farm_file {
            Some((name, text)) => files.with([(name, text.as_bytes())]),
            None => files,
        }
    }

    /// The plan with its rulebook as they lie on the disk; `None` where there is no plan yet.
    ///
    /// # Errors
    /// Where they cannot be read.
    pub fn texts(&self) -> Result<Option<Texts>, Refused> {
        let files = self.files();
        if !files.is_file(Path::new(&self.plan)) {
            return Ok(None);
        }
        let plan = self.text(&self.plan, LARGEST_PLAN_BYTES)?;
        let rules = rules_of(&plan).map(|name| {
            let text = self.text(&name, LARGEST_RULES)?;
            Ok::<_, Refused>((name, text))
        });
        Ok(Some(Texts {
            plan_file: self.plan.clone(),
            plan,
            rules: rules.transpose()?,
        }))
    }

    fn text(&self, name: &str, limit: u64) -> Result<String, Refused> {
        let unreadable =
            |cause: io::Error| Refused::NotFound(format!("{name}: it cannot be read ({cause})"));
        let bytes = self.files().read(Path::new(name), limit);
        String::from_utf8(bytes.map_err(unreadable)?)
            .map_err(|_| Refused::Malformed(format!("{name}: this is not UTF-8 text")))
    }

    /// Writes a plan and its rulebook: each whole or not at all, the rulebook first, so that a plan never names rules that are not there.
    ///
    /// # Errors
    /// Where the rulebook lies outside the folder, or the disk refuses; then the plan is as it was.
    pub fn write_texts(&self, texts: &Texts) -> Result<(), Refused> {
        let before = self.texts()?.and_then(|texts| texts.rules);
        if let Some((name, text)) = &texts.rules
            && before.as_ref() != texts.rules.as_ref()
        {
            file_name(name).map_err(|_| {
                Refused::Malformed(format!(
                    "\"{name}\" lies outside the folder of the plan, and the page writes only in it; change the threshold in that file"
                ))
            })?;
            let is_known = before.is_some_and(|(before, _)| before == *name);
            self.write(name, text.as_bytes(), is_known)?;
        }
        self.write(&self.plan, texts.plan.as_bytes(), true)
    }

    /// Writes a file of the folder.
    ///
    /// # Errors
    /// Where it is there and may not be replaced, or the disk refuses.
    pub fn write(&self, name: &str, bytes: &[u8], replace: bool) -> Result<(), Refused> {
        let path = self.folder.join(file_name(name)?);
        deliver::write_file(&path, bytes, replace).map_err(|error| match error {
            DeliverError::Exists { .. } => Refused::Malformed(format!(
                "\"{name}\" is there already; nothing was changed. Replace it, or give the file another name"
            )),
            other => Refused::Engine(Failure::from(other)),
        })
    }

    /// The name of a rulebook file that is not there yet: a file that the plan does not name is not the page's to write in.
    #[must_use]
    pub fn new_rules(&self) -> String {
        let stem = RULES.trim_end_matches(".toml");
        let more = (2..MOST_FILES).map(|count| format!("{stem}-{count}.toml"));
        let is_free = |name: &String| fs::symlink_metadata(self.folder.join(name)).is_err();
        let mut names = std::iter::once(RULES.to_owned()).chain(more);
        names.find(is_free).unwrap_or_else(|| RULES.to_owned())
    }

    /// Why a file of this name is not taken from the page: it holds what the page itself writes.
    #[must_use]
    pub fn own_file(&self, name: &str) -> Option<&'static str> {
        if name == self.plan {
            return Some("is the plan itself; open the desk on its folder instead");
        }
        let rules = self.texts().ok().flatten().and_then(|texts| texts.rules);
        let is_rules = name == RULES || rules.is_some_and(|(named, _)| named == name);
        is_rules.then_some("holds limits of your own, and the page writes them there; nothing was copied. Give the file another name, and name that in [rules] of the plan")
    }

    /// Takes away a file of the folder.
    ///
    /// # Errors
    /// Where the disk refuses.
    pub fn remove(&self, name: &str) -> Result<(), Refused> {
        let path = self.folder.join(file_name(name)?);
        deliver::remove_file(&path).map_err(|error| Refused::Engine(Failure::from(error)))
    }

    /// Writes the result folder.
    ///
    /// # Errors
    /// As `plan`: where the folder holds something else, or the disk refuses.
    pub fn write_results(&self, name: &str, delivery: &Delivery) -> Result<PathBuf, Refused> {
        let out = self.folder.join(file_name(name)?);
        let options = WriteOptions {
            overwrite_edited: false,
            is_stopped: &|| false,
        };
        deliver::write_with(delivery, &out, options).map_err(Failure::from)?;
        Ok(out)
    }

    /// The plain files of the folder, by name; hidden ones are not shown.
    #[must_use]
    pub fn list(&self) -> Vec<ListedFile> {
        let entries = fs::read_dir(&self.folder).into_iter().flatten().flatten();
        let mut files: Vec<ListedFile> = entries
            .filter_map(|entry| {
                let found = entry.metadata().ok().filter(fs::Metadata::is_file)?;
                let name = entry.file_name().to_str()?.to_owned();
                (!name.starts_with('.')).then_some(ListedFile {
                    name,
                    bytes: found.len(),
                })
            })
            .take(MOST_FILES)
            .collect();
        files.sort_by(|a, b| a.name.cmp(&b.name));
        files
    }
}

/// The rulebook file that a plan names.
fn rules_of(plan: &str) -> Option<String> {
    let plan: DocumentMut = plan.parse().ok()?;
    let file = plan.get("rules")?.as_table_like()?.get("file");
    file.and_then(Item::as_str).map(str::to_owned)
}

/// Endings of the files that are read, and of those that lie beside a shapefile.
const ENDINGS: [&str; 27] = [
    "csv",
    "txt",
    "tsv",
    "xlsx",
    "xls",
    "xlsm",
    "xlsb",
    "ods",
    "geojson",
    "json",
    "geojsonl",
    "shp",
    "dbf",
    "shx",
    "prj",
    "cpg",
    "qix",
    "sbn",
    "sbx",
    "zip",
    "kml",
    "kmz",
    "gpkg",
    "parquet",
    "geoparquet",
    "xml",
    "toml",
];
/// Names that stand for devices on Windows, whatever their ending.
const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "com1", "lpt1"];

/// A name of a file of a kind that is read.
///
/// # Errors
/// Every other name.
pub fn readable_name(name: &str) -> Result<&str, Refused> {
    let name = file_name(name)?;
    let lower = name.to_lowercase();
    let stem = lower.split('.').next().unwrap_or_default();
    let ending = lower.rsplit_once('.').map_or("", |(_, ending)| ending);
    if ENDINGS.contains(&ending) && !DEVICES.contains(&stem) {
        return Ok(name);
    }
    Err(Refused::Malformed(format!(
        "\"{name}\" is not a kind of file that is read; nothing was copied. Drop tables (CSV, Excel, ODS), GeoJSON, shapefiles, KML, GeoPackage or GeoParquet"
    )))
}

/// A name of a file in the folder: no path, nothing hidden, nothing that a file system reads otherwise.
///
/// # Errors
/// Every other text.
pub fn file_name(name: &str) -> Result<&str, Refused> {
    let is_plain = |c: char| !c.is_control() && !matches!(c, '/' | '\\' | ':');
    let is_name = !name.is_empty()
        && name.len() <= 150
        && !name.starts_with(['.', ' '])
        && !name.ends_with(['.', ' '])
        && name.chars().all(is_plain);
    if is_name {
        return Ok(name);
    }
    Err(Refused::Malformed(format!(
        "{name:?} is not a name for a file or folder here: letters without a slash or colon"
    )))
}

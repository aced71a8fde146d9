//! A farm as it is named: its facts, its fields and what holds for all of them.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use super::error::FarmError;
use super::facts::{FarmFacts, StockAmount};
use super::field_name::{check_name, name_of_plan};
use super::field_table::{FieldTable, Form};
use super::overlay::Overlay;
use super::patterns::matching;
use crate::error::Failure;
use crate::files::{Files, sha256};
use crate::plan::{self, FarmFile, FieldList, Inherited, Stock};
use crate::provenance::Place;
use crate::remark::Remark;

/// The farm file's usual name.
pub const FARM_FILE: &str = "farm.toml";
/// The name that a plan has in the set of files of its row.
const PLAN_OF_ROW: &str = "plan.toml";
/// Where no farm file says it: every plan below the folder.
const EVERY_PLAN: &str = "**/plan.toml";

/// A farm: its fields, and what holds for all of them.
#[derive(Debug)]
pub struct Farm {
    /// What is said of the farm itself.
    pub facts: FarmFacts,
    /// Its fields, in the order in which they are named.
    pub fields: Vec<FarmField>,
    /// What was noticed while the list of fields was read.
    pub remarks: Vec<Remark>,
    files: Files,
    table: Option<FieldTable>,
    inherited: Inherited,
    /// Bytes of the files in the folders that were looked at.
    weights: Mutex<BTreeMap<PathBuf, u64>>,
}

/// A field of a farm.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FarmField {
    /// Its name in the farm, which no other field has.
    pub id: String,
    /// Its plan file relative to the farm file, or the table's row that holds its plan.
    pub plan: String,
    source: Source,
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Source {
    File(PathBuf),
    Row(u32),
}

/// A field whose files can be read.
#[derive(Debug)]
pub struct OpenField {
    /// The files that its plan names, and the plan.
    pub files: Files,
    /// The plan's name among them.
    pub plan: PathBuf,
    /// What it takes from the farm.
    pub inherited: Inherited,
}

impl Farm {
    /// Reads a farm. `files` are those of the farm's folder; `farm_file` is the farm file's name in it, or `None` where the folder is to be
    /// searched for plans; `name` is what the farm is called where nothing says it.
    ///
    /// # Errors
    /// Where the farm file or its table of fields cannot be used, where it names no field, or one field twice.
    pub fn open(files: &Files, farm_file: Option<&Path>, name: &str) -> Result<Self, Failure> {
        let Some(path) = farm_file else {
            return Self::of_folder(files, name);
        };
        let file = plan::read_farm(files, path)?;
        let facts = facts_of(&file, name);
        let mut farm = Self {
            facts,
            fields: Vec::new(),
            remarks: Vec::new(),
            files: files.clone(),
            table: None,
            inherited: file.inherited.clone(),
            weights: Mutex::default(),
        };
        match &file.fields {
            FieldList::Patterns(patterns, place) => {
                farm.fields = fields_of_patterns(files, patterns, place)?;
            }
            FieldList::Table(table, _) => farm.take_table(FieldTable::open(files, table)?)?,
        }
        Ok(farm)
    }

    fn of_folder(files: &Files, name: &str) -> Result<Self, Failure> {
        let place = Place::file(name);
        let fields = fields_of_patterns(files, &[EVERY_PLAN.to_owned()], &place);
        let Ok(fields) = fields else {
            return Err(FarmError::NoFarm {
                folder: PathBuf::from(name),
            }
            .into());
        };
        Ok(Self {
            facts: FarmFacts {
                farm: name.to_owned(),
                ..FarmFacts::default()
            },
            fields,
            remarks: Vec::new(),
            files: files.clone(),
            table: None,
            inherited: Inherited::default(),
            weights: Mutex::default(),
        })
    }

    fn take_table(&mut self, table: FieldTable) -> Result<(), Failure> {
        if !table.unused.is_empty() {
            let what = format!("columns that are not used: {}", table.unused.join(", "));
            let help = format!(
                "columns that are: {}",
                super::field_table::COLUMNS.join(", ")
            );
            let remark = Remark::info("columns-not-used", what);
            self.remarks
                .push(remark.at(Place::file(&*table.file)).help(help));
        }
        let heads = table.heads()?;
        if heads.is_empty() {
            return Err(FarmError::NoRow {
                place: Place::file(&*table.file),
            }
            .into());
        }
        let field = |head: super::field_table::RowHead| {
            let place = table.place(head.row);
            let (plan, source) = if table.form == Form::PlanFile {
                (
                    head.plan_file.clone(),
                    Source::File(PathBuf::from(head.plan_file)),
                )
            } else {
                (place.to_string(), Source::Row(head.row))
            };
            let field = FarmField {
                id: head.id,
                plan,
                source,
            };
            (field, place)
        };
        let named: Vec<(FarmField, Place)> = heads.into_iter().map(field).collect();
        self.fields = each_once(named)?;
        if table.form == Form::Parts {
            self.inherited = self.inherited.with_points();
        }
        self.table = Some(table);
        Ok(())
    }

    /// The files of a field. What is large lies in memory only while it is held.
    ///
    /// # Errors
    /// Where the table's row cannot be read, or says too little.
    pub fn field_files(&self, field: &FarmField) -> Result<OpenField, Failure> {
        let (files, plan) = match (&field.source, &self.table) {
            (Source::Row(row), Some(table)) => {
                let row = table.plan(*row, &self.inherited)?;
                let mut over = row.files;
                over.push((PLAN_OF_ROW.to_owned(), row.text.into_bytes()));
                let overlay = Overlay::new(Files::memory(over), self.files.clone());
                (Files::of(overlay), PathBuf::from(PLAN_OF_ROW))
            }
            (Source::File(path), _) => (self.files.clone(), path.clone()),
            (Source::Row(_), None) => (self.files.clone(), PathBuf::from(&field.plan)),
        };
        Ok(OpenField {
            files,
            plan,
            inherited: self.inherited.clone(),
        })
    }

    /// A number that is the same where the farm's tables are the same, row by row.
    #[must_use]
    pub fn fingerprint(&self) -> String {
        sha256(self.inherited.as_text().as_bytes())
    }

    /// About how much work a field is: which files its plan names is not known before it is read, so all in its folder count. Each folder is
    /// looked at once.
    #[must_use]
    pub fn weight(&self, field: &FarmField) -> u64 {
        let Source::File(path) = &field.source else {
            return 0;
        };
        let folder = path.parent().unwrap_or(Path::new(""));
        let mut known = self.weights.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(weight) = known.get(folder) {
            return *weight;
        }
        let names = self.files.names_beside(path);
        let sizes = names.iter().map(|name| folder.join(name));
        let weight = sizes.filter_map(|path| self.files.size(&path).ok()).sum();
        known.insert(folder.to_owned(), weight);
        weight
    }
}

/// The fields that patterns name, each once; a file that two patterns match is one field.
fn fields_of_patterns(
    files: &Files,
    patterns: &[String],
    place: &Place,
) -> Result<Vec<FarmField>, FarmError> {
    let mut paths: Vec<PathBuf> = Vec::new();
    for pattern in patterns {
        let found = matching(files, pattern);
        if found.is_empty() {
            return Err(FarmError::NoField {
                place: place.clone(),
                pattern: crate::text::shorten(pattern),
            });
        }
        let is_one = !pattern.contains(['*', '?']);
        let known: std::collections::BTreeSet<PathBuf> = paths.iter().cloned().collect();
        if let Some(path) = found.iter().find(|path| is_one && known.contains(*path)) {
            return Err(FarmError::Twice {
                place: place.clone(),
                id: path.display().to_string(),
                other: "the same list".to_owned(),
            });
        }
        paths.extend(found.into_iter().filter(|path| !known.contains(path)));
    }
    let field = |path: PathBuf| {
        let field = FarmField {
            id: name_of_plan(&path),
            plan: path.to_string_lossy().replace('\\', "/"),
            source: Source::File(path),
        };
        (field, place.clone())
    };
    each_once(paths.into_iter().map(field).collect())
}

/// Refuses names that no folder can have, and two fields of one name.
fn each_once(named: Vec<(FarmField, Place)>) -> Result<Vec<FarmField>, FarmError> {
    let mut first: BTreeMap<String, String> = BTreeMap::new();
    for (field, place) in &named {
        check_name(&field.id, place)?;
        // Some file systems do not tell capitals from small letters.
        if let Some(other) = first.insert(field.id.to_lowercase(), field.plan.clone()) {
            return Err(FarmError::Twice {
                place: place.clone(),
                id: field.id.clone(),
                other,
            });
        }
    }
    Ok(named.into_iter().map(|(field, _)| field).collect())
}

fn facts_of(file: &FarmFile, name: &str) -> FarmFacts {
    let amount = |stock: &Stock| match stock {
        Stock::Mass(mass) => StockAmount::Kilograms(mass.kilograms()),
        Stock::Volume(volume) => StockAmount::Litres(volume.litres()),
    };
    let stock = file.stock.iter();
    FarmFacts {
        farm: file.farm.clone().unwrap_or_else(|| name.to_owned()),
        grower: file.people.grower.clone(),
        prepared_by: file.people.prepared_by.clone(),
        date: file.people.date,
        units: file.units,
        tank_l: file.tank.map(crate::units::Volume::litres),
        budget_usd: file.budget_usd,
        stock: stock
            .map(|(name, stock)| (name.clone(), amount(stock)))
            .collect(),
    }
}

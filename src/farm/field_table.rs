//! A table with one row a field: plan files, plans as text with their files, or boundary and points.

use std::path::Path;
use std::sync::Arc;

use super::error::FarmError;
use super::field_name::name_of_plan;
#[cfg(feature = "geoparquet")]
use super::parquet_rows::ParquetRows;
use crate::error::Failure;
use crate::files::Files;
use crate::intake::{TextTable, read_text_table};
use crate::plan::Inherited;
use crate::provenance::Place;

/// The columns that a table of fields may have.
pub(super) const COLUMNS: [&str; 10] = [
    "field_id",
    "plan_file",
    "plan",
    "files",
    "boundary",
    "points",
    "kind",
    "field",
    "crop",
    "season",
];

/// What a row gives of its field.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Form {
    /// The path of a plan file.
    PlanFile,
    /// The text of a plan, and perhaps the files that it names.
    PlanText,
    /// Paths of a boundary and of points.
    Parts,
}

/// A table of fields, as far as it is read before the work begins.
#[derive(Debug)]
pub(super) struct FieldTable {
    /// The table as the farm file names it.
    pub file: Arc<str>,
    pub form: Form,
    /// Columns that are not used.
    pub unused: Vec<String>,
    rows: Rows,
}

#[derive(Debug)]
enum Rows {
    Text(TextTable),
    #[cfg(feature = "geoparquet")]
    Parquet(ParquetRows),
}

/// The head of a row: what is known of a field before it is worked on.
pub(super) struct RowHead {
    /// Row of the table, from 1.
    pub row: u32,
    pub id: String,
    /// Path of the plan file, where the table names plan files.
    pub plan_file: String,
}

/// The plan of a row and the files that come with it.
pub(super) struct RowPlan {
    pub text: String,
    pub files: Vec<(String, Vec<u8>)>,
}

impl FieldTable {
    /// Opens a table.
    pub(super) fn open(files: &Files, path: &Path) -> Result<Self, Failure> {
        let file: Arc<str> = path.display().to_string().into();
        let is_parquet = path
            .extension()
            .is_some_and(|end| end.eq_ignore_ascii_case("parquet"));
        let rows = if is_parquet {
            parquet(files, path, &file)?
        } else {
            Rows::Text(read_text_table(files, path)?)
        };
        let columns = rows.columns();
        let has = |name: &str| columns.iter().any(|column| column == name);
        let form = form_of(&has, &columns).map_err(|(what, help)| FarmError::Columns {
            place: Place::file(Arc::clone(&file)).at_row(1),
            what,
            help,
        })?;
        let unused = columns
            .iter()
            .filter(|column| !COLUMNS.contains(&column.as_str()) && !column.is_empty())
            .cloned()
            .collect();
        Ok(Self {
            file,
            form,
            unused,
            rows,
        })
    }

    /// The place of a row.
    pub(super) fn place(&self, row: u32) -> Place {
        Place::file(Arc::clone(&self.file)).at_row(row)
    }

    /// The heads of all rows.
    pub(super) fn heads(&self) -> Result<Vec<RowHead>, Failure> {
        let cells = match &self.rows {
            Rows::Text(table) => {
                let [id, plan] = ["field_id", "plan_file"].map(|name| position(table, name));
                let cell = |cells: &[String], at: Option<usize>| {
                    at.and_then(|at| cells.get(at).cloned()).unwrap_or_default()
                };
                let head =
                    |(row, cells): &(u32, Vec<String>)| (*row, cell(cells, id), cell(cells, plan));
                table.rows.iter().map(head).collect()
            }
            #[cfg(feature = "geoparquet")]
            Rows::Parquet(rows) => rows.heads()?,
        };
        let head = |(row, id, plan_file): (u32, String, String)| {
            let id = match (id.is_empty(), self.form) {
                (true, Form::PlanFile) => name_of_plan(Path::new(&plan_file)),
                _ => id,
            };
            RowHead { row, id, plan_file }
        };
        Ok(cells.into_iter().map(head).collect())
    }

    /// The plan of a row, made where the row holds its parts.
    pub(super) fn plan(&self, row: u32, inherited: &Inherited) -> Result<RowPlan, Failure> {
        let cell = |name: &str| self.cell(row, name);
        if self.form == Form::PlanText {
            return self.plan_text(row);
        }
        let filled = |name: &'static str| -> Result<String, Failure> {
            let text = cell(name)?.filter(|text| !text.is_empty());
            Ok(text.ok_or_else(|| FarmError::Row {
                place: self.place(row).in_column(name),
                what: format!("there is no {name}"),
                help: format!("write the path of the field's {name}"),
            })?)
        };
        let mut text = String::new();
        let name = match cell("field")?.filter(|name| !name.is_empty()) {
            Some(name) => name,
            None => filled("field_id")?,
        };
        text.push_str(&format!("field = {}\n", quoted(&name)));
        for (key, is_text) in [("crop", true), ("season", false)] {
            if let Some(value) = cell(key)?.filter(|value| !value.is_empty()) {
                let value = if is_text { quoted(&value) } else { value };
                text.push_str(&format!("{key} = {value}\n"));
            }
        }
        let boundary = filled("boundary")?;
        text.push_str(&format!("boundary = {{ file = {} }}\n", quoted(&boundary)));
        let kind = cell("kind")?.filter(|kind| !kind.is_empty());
        let kind = kind.or_else(|| (!inherited.says_of_points("kind")).then(|| "cores".to_owned()));
        for file in filled("points")?.split(';') {
            text.push_str(&format!("[[points]]\nfile = {}\n", quoted(file.trim())));
            if let Some(kind) = &kind {
                text.push_str(&format!("kind = {}\n", quoted(kind)));
            }
        }
        Ok(RowPlan {
            text,
            files: Vec::new(),
        })
    }

    fn plan_text(&self, row: u32) -> Result<RowPlan, Failure> {
        let (text, files) = match &self.rows {
            Rows::Text(_) => (self.cell(row, "plan")?.unwrap_or_default(), Vec::new()),
            #[cfg(feature = "geoparquet")]
            Rows::Parquet(rows) => rows.plan(row)?,
        };
        let is_path = Path::new(text.trim_end())
            .extension()
            .is_some_and(|ending| ending == "toml");
        if is_path && !text.contains('\n') {
            return Err(FarmError::Row {
                place: self.place(row).in_column("plan"),
                what: "the column \"plan\" holds the text of a plan, and this looks like the path of one".to_owned(),
                help: "call the column \"plan_file\"".to_owned(),
            }
            .into());
        }
        Ok(RowPlan { text, files })
    }

    fn cell(&self, row: u32, name: &str) -> Result<Option<String>, Failure> {
        match &self.rows {
            Rows::Text(table) => {
                let at = position(table, name);
                let cells = table.rows.binary_search_by_key(&row, |(row, _)| *row);
                let cells = cells.ok().and_then(|found| table.rows.get(found));
                Ok(at.and_then(|at| cells?.1.get(at).cloned()))
            }
            #[cfg(feature = "geoparquet")]
            Rows::Parquet(rows) => rows.cell(row, name),
        }
    }
}

impl Rows {
    fn columns(&self) -> Vec<String> {
        match self {
            Self::Text(table) => table.columns.clone(),
            #[cfg(feature = "geoparquet")]
            Self::Parquet(rows) => rows.columns(),
        }
    }
}

#[cfg(feature = "geoparquet")]
fn parquet(files: &Files, path: &Path, file: &Arc<str>) -> Result<Rows, Failure> {
    ParquetRows::open(files, path, Arc::clone(file)).map(Rows::Parquet)
}

#[cfg(not(feature = "geoparquet"))]
fn parquet(_: &Files, _: &Path, file: &Arc<str>) -> Result<Rows, Failure> {
    Err(FarmError::Columns {
        place: Place::file(Arc::clone(file)),
        what: "this build reads no Parquet".to_owned(),
        help: "save the table as CSV".to_owned(),
    }
    .into())
}

/// What the columns of a table give; what is missing, and the way out, where they give too little.
fn form_of(has: &impl Fn(&str) -> bool, columns: &[String]) -> Result<Form, (String, String)> {
    let form = if has("plan_file") {
        Form::PlanFile
    } else if has("plan") {
        Form::PlanText
    } else if has("boundary") && has("points") {
        Form::Parts
    } else {
        let names: Vec<String> = columns
            .iter()
            .take(20)
            .map(|name| format!("\"{name}\""))
            .collect();
        let what = format!(
            "a table of fields needs a column plan_file, or plan, or boundary and points; its columns are {}",
            if names.is_empty() {
                "none".to_owned()
            } else {
                names.join(", ")
            }
        );
        return Err((what, "name its columns in its first row".to_owned()));
    };
    if form != Form::PlanFile && !has("field_id") {
        return Err((
            "the column field_id is missing".to_owned(),
            "give each field a name of its own in it".to_owned(),
        ));
    }
    Ok(form)
}

fn position(table: &TextTable, name: &str) -> Option<usize> {
    table.columns.iter().position(|column| column == name)
}

/// A text as TOML writes it; JSON's escapes are TOML's too.
fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

//! What a plan says of a file's samples and columns.

use toml_edit::{Array, DocumentMut, InlineTable, Item, Table, Value as TomlValue, value};

use super::value::{checked, replace};
use crate::desk::change::Sample;
use crate::desk::refused::Refused;

/// What a column is.
pub(super) struct Meaning<'a> {
    pub is: Option<&'a str>,
    pub method: Option<&'a str>,
    pub unit: Option<&'a str>,
    pub depth: Option<&'a str>,
}

/// The `[[points]]` table of a file.
fn points<'d>(plan: &'d mut DocumentMut, file: &str) -> Result<&'d mut Table, Refused> {
    let tables = plan
        .get_mut("points")
        .and_then(Item::as_array_of_tables_mut);
    let mut tables = tables.into_iter().flat_map(|tables| tables.iter_mut());
    let found = tables.find(|table| table.get("file").and_then(Item::as_str) == Some(file));
    found.ok_or_else(|| Refused::NotFound(format!("the plan names no file \"{file}\" of points")))
}

fn array<'t>(table: &'t mut Table, key: &str) -> Result<&'t mut Array, Refused> {
    let item = table.entry(key).or_insert_with(|| value(Array::new()));
    item.as_array_mut().ok_or_else(|| {
        let what = format!("the plan writes {key} in a form that is not changed here");
        Refused::Malformed(what)
    })
}

/// Leaves a sample out.
pub(super) fn leave_out(
    plan: &mut DocumentMut,
    file: &str,
    sample: &Sample,
    why: &str,
) -> Result<(), Refused> {
    take_back(plan, file, sample)?;
    let mut entry = InlineTable::new();
    match sample {
        Sample::Core(core) => entry.insert("core", checked(core)?.into()),
        Sample::Row(row) => entry.insert("row", i64::from(*row).into()),
    };
    entry.insert("why", checked(why)?.into());
    array(points(plan, file)?, "leave_out")?.push(entry);
    Ok(())
}

/// Uses a sample again.
pub(super) fn take_back(
    plan: &mut DocumentMut,
    file: &str,
    sample: &Sample,
) -> Result<(), Refused> {
    let table = points(plan, file)?;
    if !table.contains_key("leave_out") {
        return Ok(());
    }
    let list = array(table, "leave_out")?;
    list.retain(|entry| !is_of(entry, sample));
    if list.is_empty() {
        table.remove("leave_out");
    }
    Ok(())
}

fn is_of(entry: &TomlValue, sample: &Sample) -> bool {
    let of = |key: &str| entry.as_inline_table().and_then(|table| table.get(key));
    match sample {
        Sample::Core(core) => of("core").and_then(TomlValue::as_str) == Some(core),
        Sample::Row(row) => of("row").and_then(TomlValue::as_integer) == Some(i64::from(*row)),
    }
}

/// Says what a column is, or that it is not read.
pub(super) fn column(
    plan: &mut DocumentMut,
    file: &str,
    column: &str,
    meaning: &Meaning<'_>,
) -> Result<(), Refused> {
    let table = points(plan, file)?;
    let column = checked(column)?;
    let Some(is) = meaning.is else {
        if let Some(columns) = columns(table) {
            columns.remove(column);
        }
        let ignored = array(table, "ignore")?;
        if !ignored.iter().any(|name| name.as_str() == Some(column)) {
            ignored.push(column);
        }
        return Ok(());
    };
    not_ignored(table, column)?;
    let mut entry = InlineTable::new();
    entry.insert("is", checked(is)?.into());
    let parts = [
        ("method", meaning.method),
        ("unit", meaning.unit),
        ("depth", meaning.depth),
    ];
    for (key, text) in parts {
        if let Some(text) = text.filter(|text| !text.is_empty()) {
            entry.insert(key, checked(text)?.into());
        }
    }
    let all = table
        .entry("columns")
        .or_insert_with(|| Item::Table(Table::new()));
    let Some(all) = all.as_table_like_mut() else {
        let what = format!("the columns of \"{file}\" are no table in this plan");
        return Err(Refused::Malformed(what));
    };
    match all.get_mut(column) {
        Some(item) => {
            replace(item, entry.into());
            without_guess(item);
        }
        None => drop(all.insert(column, value(entry))),
    }
    Ok(())
}

/// Takes the mark of a guess from behind a line that somebody has said now.
fn without_guess(item: &mut Item) {
    let Some(entry) = item.as_value_mut() else {
        return;
    };
    let behind = entry.decor().suffix().and_then(|behind| behind.as_str());
    if behind.is_some_and(|behind| behind.contains("# LOOK:") || behind.contains("# GUESS")) {
        entry.decor_mut().set_suffix("");
    }
}

fn columns(table: &mut Table) -> Option<&mut dyn toml_edit::TableLike> {
    table.get_mut("columns")?.as_table_like_mut()
}

fn not_ignored(table: &mut Table, column: &str) -> Result<(), Refused> {
    if !table.contains_key("ignore") {
        return Ok(());
    }
    let ignored = array(table, "ignore")?;
    ignored.retain(|name| name.as_str() != Some(column));
    if ignored.is_empty() {
        table.remove("ignore");
    }
    Ok(())
}

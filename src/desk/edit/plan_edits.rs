//! Keys, overrides and files of results of a plan.

use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, TableLike, value};

use super::keys;
use super::reason::Reason;
use super::value::{checked, note, replace, toml};
use crate::desk::change::Value;
use crate::desk::refused::Refused;

/// Most corners of a drawn place, as the plan takes them.
const MOST_CORNERS: usize = 1_000;

/// Sets a key; its table is made where there is none.
pub(super) fn set(
    plan: &mut DocumentMut,
    key: &str,
    value: &Value,
    reason: Option<Reason<'_>>,
) -> Result<(), Refused> {
    let parts = keys::parts(key)?;
    let Some((last, tables)) = parts.split_last() else {
        return Ok(());
    };
    let table = table_at(plan, tables, key)?;
    let made = toml(value)?;
    match table.get_mut(last) {
        Some(item) => replace(item, made),
        None => drop(table.insert(last, Item::Value(made))),
    }
    if let (Some(reason), Some(mut key)) = (reason, table.key_mut(last)) {
        note(key.leaf_decor_mut(), reason);
    }
    Ok(())
}

/// Takes a key away.
pub(super) fn unset(plan: &mut DocumentMut, key: &str) -> Result<(), Refused> {
    let parts = keys::parts(key)?;
    if let Some((last, tables)) = parts.split_last() {
        table_at(plan, tables, key)?.remove(last);
    }
    Ok(())
}

fn table_at<'d>(
    plan: &'d mut DocumentMut,
    tables: &[&str],
    key: &str,
) -> Result<&'d mut dyn TableLike, Refused> {
    let mut table: &mut dyn TableLike = plan.as_table_mut();
    for name in tables {
        let item = table
            .entry(name)
            .or_insert_with(|| Item::Table(Table::new()));
        table = item.as_table_like_mut().ok_or_else(|| {
            Refused::Malformed(format!("\"{name}\" of \"{key}\" is no table in this plan"))
        })?;
    }
    Ok(table)
}

/// The key that says where an override is meant, with its value.
pub(super) fn ground(
    at: Option<[f64; 2]>,
    inside: Option<&[[f64; 2]]>,
) -> Result<(&'static str, Array), Refused> {
    let pair = |pair: &[f64; 2]| -> Array { pair.iter().copied().collect() };
    match (at, inside) {
        (Some(at), None) => Ok(("at", pair(&at))),
        (None, Some(corners)) if corners.len() <= MOST_CORNERS => {
            Ok(("inside", corners.iter().map(pair).collect()))
        }
        (None, Some(_)) => {
            let what = format!("a drawn place has at most {MOST_CORNERS} corners");
            Err(Refused::Malformed(what))
        }
        _ => {
            let what = "say one place for the rate, or the corners of a drawn one";
            Err(Refused::Malformed(what.to_owned()))
        }
    }
}

/// Adds an override for the zone at a place, or for a drawn place.
pub(super) fn add_override(
    plan: &mut DocumentMut,
    (key, place): (&str, Array),
    [product, rate, why]: [&String; 3],
) -> Result<(), Refused> {
    let mut table = Table::new();
    table[key] = value(place);
    table["product"] = value(checked(product)?);
    table["rate"] = value(checked(rate)?);
    table["why"] = value(checked(why)?);
    tables_of(plan, "override")?.push(table);
    Ok(())
}

/// Takes an override away.
pub(super) fn remove_override(plan: &mut DocumentMut, at: usize) -> Result<(), Refused> {
    let tables = tables_of(plan, "override")?;
    if at >= tables.len() {
        let what = format!("the plan has no override {}", at + 1);
        return Err(Refused::NotFound(what));
    }
    tables.remove(at);
    Ok(())
}

/// Takes the numbers of zones out of the check strips.
pub(super) fn strips_anywhere(plan: &mut DocumentMut) {
    let strips = plan.get_mut("strips").and_then(Item::as_table_like_mut);
    let products = strips.and_then(|strips| strips.get_mut("products"));
    let products = products.and_then(Item::as_array_mut);
    for own in products.into_iter().flat_map(Array::iter_mut) {
        if let Some(own) = own.as_inline_table_mut() {
            own.remove("zones");
        }
    }
}

/// Adds a file of results.
pub(super) fn add_results(plan: &mut DocumentMut, file: &str, kind: &str) -> Result<(), Refused> {
    let tables = tables_of(plan, "results")?;
    let is_known = |table: &Table| table.get("file").and_then(Item::as_str) == Some(file);
    if let Some(known) = tables.iter_mut().find(|table| is_known(table)) {
        known["kind"] = value(checked(kind)?);
        return Ok(());
    }
    let mut table = Table::new();
    table["file"] = value(checked(file)?);
    table["kind"] = value(checked(kind)?);
    tables.push(table);
    Ok(())
}

fn tables_of<'d>(plan: &'d mut DocumentMut, name: &str) -> Result<&'d mut ArrayOfTables, Refused> {
    let item = plan
        .entry(name)
        .or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()));
    item.as_array_of_tables_mut().ok_or_else(|| {
        let what = format!(
            "the plan writes {name} in a form that is not changed here; write it as [[{name}]]"
        );
        Refused::Malformed(what)
    })
}

//! Results without coordinates are joined to places by the sample's name.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use crate::provenance::Place;
use crate::remark::Remark;

use crate::intake::error::IntakeError;
use crate::intake::survey::PointTable;

/// Gives tables without coordinates those of the tables that have them. A table that holds places and nothing else
/// is taken out when others were joined to it.
pub(in crate::intake) fn join_places(
    tables: Vec<PointTable>,
    remarks: &mut Vec<Remark>,
    errors: &mut Vec<IntakeError>,
) -> Vec<PointTable> {
    let is_placed = |table: &PointTable| !table.crs.is_empty();
    let mut used = vec![false; tables.len()];
    let mut out: Vec<PointTable> = Vec::new();
    for table in &tables {
        if is_placed(table) {
            continue;
        }
        match places_for(table, &tables) {
            Some(at) => {
                if let (Some(slot), Some(places)) = (used.get_mut(at), tables.get(at)) {
                    *slot = true;
                    out.push(joined(table, places, remarks, errors));
                }
            }
            None => errors.push(IntakeError::Join {
                place: Place::file(Arc::clone(&table.file)),
                what: format!(
                    "the file has no columns of coordinates, and no other file of the plan holds places with the same sample names{}",
                    spellings(table, &tables)
                ),
                help: "set x and y, or add a [[points]] table with the places (GPX, GeoJSON, shapefile or CSV) and id in both"
                    .to_owned(),
            }),
        }
    }
    let mut joined_tables = out.into_iter();
    let mut result = Vec::new();
    for (at, table) in tables.into_iter().enumerate() {
        if !is_placed(&table) {
            result.extend(joined_tables.next());
        } else if table.layers.is_empty() && table.cone.is_none() {
            if !used.get(at).copied().unwrap_or(false) {
                let what = "the file holds no result that was recognised: not used".to_owned();
                remarks.push(
                    Remark::warning("no-results", what)
                        .at(Place::file(Arc::clone(&table.file)))
                        .help("name its columns under [points.columns]"),
                );
            }
        } else {
            result.push(table);
        }
    }
    result
}

/// The first names of both sides, so that the eye sees how they differ.
fn spellings(table: &PointTable, tables: &[PointTable]) -> String {
    let first = |table: &PointTable| {
        let ids: Vec<&str> = table.id.iter().flatten().map(|id| &**id).take(3).collect();
        list(&ids)
    };
    let with_places = tables
        .iter()
        .find(|other| !other.crs.is_empty() && other.id.is_some());
    match (table.id.as_ref(), with_places) {
        (Some(_), Some(places)) => format!(
            " (here {}; in {} {})",
            first(table),
            places.file,
            first(places)
        ),
        _ => String::new(),
    }
}

/// The table with coordinates that shares the most sample names.
fn places_for(table: &PointTable, tables: &[PointTable]) -> Option<usize> {
    let own = table.id.as_ref()?;
    let mut best: Option<(usize, usize)> = None;
    for (at, other) in tables
        .iter()
        .enumerate()
        .filter(|(_, other)| !other.crs.is_empty())
    {
        let Some(ids) = &other.id else { continue };
        let names: HashSet<&str> = ids.iter().map(|id| id.trim()).collect();
        let shared = own
            .iter()
            .filter(|id| !id.is_empty() && names.contains(id.trim()))
            .count();
        if shared > 0 && best.is_none_or(|(_, most)| shared > most) {
            best = Some((at, shared));
        }
    }
    best.map(|(at, _)| at)
}

fn joined(
    table: &PointTable,
    places: &PointTable,
    remarks: &mut Vec<Remark>,
    errors: &mut Vec<IntakeError>,
) -> PointTable {
    let by_name = places_by_name(places, errors);
    let ids: &[Arc<str>] = table.id.as_deref().unwrap_or_default();
    let found: Vec<Option<(f64, f64)>> = ids
        .iter()
        .map(|id| by_name.get(id.trim()).copied())
        .collect();
    let what = format!("places taken from {} by the sample's name", places.file);
    let place = Place::file(Arc::clone(&table.file));
    remarks.push(Remark::info("joined-by-name", what).at(place));
    errors.extend(names_with_two_results(table));
    remarks.extend(rows_without_place(table, &found));
    remarks.extend(places_without_row(table, places));
    keep_placed(table, &found, &places.crs)
}

/// The first place of each name; a name that stands at two places is an error.
fn places_by_name<'a>(
    places: &'a PointTable,
    errors: &mut Vec<IntakeError>,
) -> HashMap<&'a str, (f64, f64)> {
    let mut by_name: HashMap<&str, (f64, f64)> = HashMap::new();
    for ((id, x), y) in places.id.iter().flatten().zip(&places.x).zip(&places.y) {
        let place = *by_name.entry(id.trim()).or_insert((*x, *y));
        if place != (*x, *y) && !id.is_empty() {
            errors.push(IntakeError::Join {
                place: Place::file(Arc::clone(&places.file)),
                what: format!("the sample name \"{id}\" stands at two places"),
                help: "give each place its own name".to_owned(),
            });
        }
    }
    by_name
}

/// A sample's name with two results of one layer that differ: rows of two fields or two seasons would fall on one place.
fn names_with_two_results(table: &PointTable) -> Option<IntakeError> {
    let ids: &[Arc<str>] = table.id.as_deref().unwrap_or_default();
    for layer in &table.layers {
        let mut first: HashMap<&str, (usize, f64)> = HashMap::new();
        for (at, (id, value)) in ids.iter().zip(&layer.values).enumerate() {
            if id.is_empty() || !value.is_finite() {
                continue;
            }
            let (earlier, own) = *first.entry(id.trim()).or_insert((at, *value));
            if own != *value {
                let row = |at: usize| table.row.get(at).copied().unwrap_or_default();
                return Some(IntakeError::Join {
                    place: Place::file(Arc::clone(&table.file)).at_row(row(at)),
                    what: format!(
                        "the sample name \"{id}\" has two results of {}, here and in row {}: two fields or two seasons in one file?",
                        layer.key,
                        row(earlier)
                    ),
                    help: "leave the rows of the other field or season out, or give each place a name of its own in both files".to_owned(),
                });
            }
        }
    }
    None
}

fn rows_without_place(table: &PointTable, found: &[Option<(f64, f64)>]) -> Option<Remark> {
    let ids = table.id.iter().flatten();
    let missing: Vec<&str> = ids
        .zip(found)
        .filter(|(_, place)| place.is_none())
        .map(|(id, _)| &**id)
        .collect();
    let what = format!(
        "{} rows have no place: {} (not used)",
        missing.len(),
        list(&missing)
    );
    (!missing.is_empty()).then(|| {
        Remark::warning("samples-without-place", what)
            .at(Place::file(Arc::clone(&table.file)))
            .help("the names must be the same in both files, letter by letter")
    })
}

fn places_without_row(table: &PointTable, places: &PointTable) -> Option<Remark> {
    let ids: &[Arc<str>] = table.id.as_deref().unwrap_or_default();
    let spare: Vec<&str> = places
        .id
        .iter()
        .flatten()
        .map(|id| &**id)
        .filter(|id| !ids.iter().any(|own| own.trim() == id.trim()))
        .collect();
    let what = format!("{} places have no result: {}", spare.len(), list(&spare));
    (!spare.is_empty()).then(|| {
        Remark::warning("places-without-sample", what)
            .at(Place::file(Arc::clone(&places.file)))
            .help("check whether results are missing")
    })
}

fn list(names: &[&str]) -> String {
    let shown: Vec<String> = names
        .iter()
        .take(5)
        .map(|name| format!("\"{name}\""))
        .collect();
    let rest = names.len().saturating_sub(5);
    if rest > 0 {
        format!("{} and {rest} more", shown.join(", "))
    } else {
        shown.join(", ")
    }
}

/// The rows of a table that have a place.
fn keep_placed(table: &PointTable, found: &[Option<(f64, f64)>], crs: &str) -> PointTable {
    let kept: Vec<usize> = (0..found.len())
        .filter(|at| found.get(*at).is_some_and(Option::is_some))
        .collect();
    let new_index: HashMap<u32, u32> = kept
        .iter()
        .enumerate()
        .map(|(new, old)| (*old as u32, new as u32))
        .collect();
    let pick = |values: &[f64]| {
        kept.iter()
            .filter_map(|at| values.get(*at).copied())
            .collect::<Vec<f64>>()
    };
    let mut out = table.clone();
    crs.clone_into(&mut out.crs);
    out.x = kept
        .iter()
        .filter_map(|at| found.get(*at).copied().flatten().map(|(x, _)| x))
        .collect();
    out.y = kept
        .iter()
        .filter_map(|at| found.get(*at).copied().flatten().map(|(_, y)| y))
        .collect();
    out.row = kept
        .iter()
        .filter_map(|at| table.row.get(*at).copied())
        .collect();
    out.id = table
        .id
        .as_ref()
        .map(|ids| kept.iter().filter_map(|at| ids.get(*at).cloned()).collect());
    for layer in &mut out.layers {
        layer.values = pick(&layer.values);
        layer.qualified = layer
            .qualified
            .iter()
            .filter_map(|(at, qualifier)| Some((*new_index.get(at)?, *qualifier)))
            .collect();
    }
    if let (Some(cone), Some(own)) = (&mut out.cone, &table.cone) {
        let width = own.depths.len();
        cone.kilopascals = kept
            .iter()
            .flat_map(|at| {
                own.kilopascals
                    .get(at * width..(at + 1) * width)
                    .unwrap_or_default()
                    .iter()
                    .copied()
            })
            .collect();
    }
    out
}

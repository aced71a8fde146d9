//! `controller/shapefile/` of a farm: one shapefile per product over all fields that get it. Those of each field stand in its own folder.

use std::collections::BTreeMap;
use std::fmt::Write;

use super::facts::{ProductFacts, part};
use super::input::{FarmField, FarmInput};
use crate::deliver::degrees::Part;
use crate::deliver::error::DeliverError;
use crate::deliver::escape::csv;
use crate::deliver::output_file::OutputFile;
use crate::deliver::shapefile::{
    Cell, FOLDER, Field, failed, one_shapefile, rate_decimals, rings, shapes, table,
};

/// Most bytes of outlines in a file, about; the format ends at 2 GB and many readers before.
const MOST_BYTES: usize = 1 << 30;
/// Bytes of a place, and of a record besides its places.
const BYTES: (usize, usize) = (16, 160);
/// Most bytes of a field's name.
const LONGEST_NAME: u8 = 80;

/// One record of a product's file.
struct Record<'a> {
    outline: Part,
    rate: f64,
    zone: u32,
    field: &'a FarmField<'a>,
}

pub(super) fn files(input: &FarmInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let mut files = Vec::new();
    let mut names = String::from("file,field,meaning,unit\n");
    for (column, fields) in by_column(input) {
        let decimals = fields.iter().map(|(_, product)| product.decimals).max();
        let records: Vec<Record<'_>> = fields
            .iter()
            .flat_map(|(field, product)| records(field, product))
            .collect();
        for (at, records) in split(&records).into_iter().enumerate() {
            let base = match at {
                0 => column.to_owned(),
                _ => format!("{column}_{}", at + 1),
            };
            files.extend(shapefile(&base, records, decimals.unwrap_or_default())?);
            if let Some((_, product)) = fields.first() {
                push_names(&mut names, &base, product);
            }
        }
    }
    if !files.is_empty() {
        files.push(OutputFile::new(format!("{FOLDER}/field_names.csv"), names));
    }
    Ok(files)
}

fn push_names(names: &mut String, base: &str, product: &ProductFacts) {
    // Writing to a string cannot fail.
    let _ = write!(
        names,
        "{base}.shp,RATE,{},{}\n{base}.shp,ZONE,zone of the field,\n{base}.shp,FIELD,field,\n{base}.shp,SEASON,season,\n",
        csv(&product.label),
        csv(&product.unit)
    );
}

/// The products that go somewhere, each with its fields.
fn by_column<'a>(
    input: &'a FarmInput<'_>,
) -> BTreeMap<&'a str, Vec<(&'a FarmField<'a>, &'a ProductFacts)>> {
    let mut columns: BTreeMap<&str, Vec<_>> = BTreeMap::new();
    for field in &input.fields {
        for product in &field.facts.products {
            columns
                .entry(&product.column)
                .or_default()
                .push((field, product));
        }
    }
    columns
}

fn records<'a>(field: &'a FarmField<'a>, product: &ProductFacts) -> Vec<Record<'a>> {
    let pieces = field.facts.pieces.iter().zip(&field.outlines);
    pieces
        .zip(&product.rates)
        .flat_map(|(((_, zone), outlines), rate)| {
            let parts = outlines.iter().map(part);
            parts
                .flat_map(|part| rings(&part))
                .map(|outline| Record {
                    outline,
                    rate: *rate,
                    zone: *zone,
                    field,
                })
                .collect::<Vec<_>>()
        })
        .collect()
}

/// The records in files of a size that readers take.
fn split<'r, 'a>(records: &'r [Record<'a>]) -> Vec<&'r [Record<'a>]> {
    let size = |record: &Record<'_>| {
        let holes: usize = record.outline.holes.iter().map(Vec::len).sum();
        (record.outline.outer.len() + holes) * BYTES.0 + BYTES.1
    };
    let (mut from, mut bytes, mut files) = (0, 0, Vec::new());
    for (at, record) in records.iter().enumerate() {
        bytes += size(record);
        if bytes > MOST_BYTES && at > from {
            files.push(&records[from..at]);
            (from, bytes) = (at, size(record));
        }
    }
    files.push(&records[from..]);
    files
}

fn shapefile(
    base: &str,
    records: &[Record<'_>],
    decimals: usize,
) -> Result<[OutputFile; 5], DeliverError> {
    let parts: Vec<Part> = records
        .iter()
        .map(|record| record.outline.clone())
        .collect();
    let outlines = shapes(&parts).map_err(|cause| failed(&cause))?;
    let fields = [
        Field::number("RATE", 12, rate_decimals(decimals)),
        Field::number("ZONE", 9, 0),
        Field::text("FIELD", LONGEST_NAME),
        Field::number("SEASON", 4, 0),
    ];
    let rows: Vec<Vec<Cell>> = records
        .iter()
        .map(|record| {
            vec![
                Cell::Number(record.rate),
                Cell::Number(f64::from(record.zone)),
                Cell::Text(record.field.field.to_owned()),
                Cell::Number(f64::from(record.field.season)),
            ]
        })
        .collect();
    let year = records.iter().map(|record| record.field.season).max();
    let dbf = table(&fields, &rows, year.unwrap_or_default()).map_err(|cause| failed(&cause))?;
    Ok(one_shapefile(base, &outlines, dbf))
}

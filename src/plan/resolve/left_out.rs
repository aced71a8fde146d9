//! Samples that are not used.

use crate::plan::points_table::LeftOutTable;
use crate::plan::settings::{LeftOut, Sample};

use super::words::Resolver;

pub(super) fn all(tables: &[LeftOutTable], resolver: &Resolver<'_>) -> Vec<LeftOut> {
    tables
        .iter()
        .filter_map(|table| one(table, resolver))
        .collect()
}

fn one(table: &LeftOutTable, resolver: &Resolver<'_>) -> Option<LeftOut> {
    let why = resolver.required(
        &table.why,
        &table.place,
        "why",
        "why = \"pulled in a spoil heap\"; it is printed with the remarks",
    );
    let core = table.core.given().map(|core| &core.value);
    let sample = match (core, table.row.given()) {
        (Some(_), Some(row)) => {
            let what = "a sample is left out by its name and by its row".to_owned();
            resolver.contradiction(&row.place, what, "keep one of them");
            None
        }
        (Some(core), None) => Some(Sample::Core(core.clone())),
        (None, Some(row)) => u32::try_from(row.value).ok().map(Sample::Row),
        (None, None) => {
            if !table.core.is_written() && !table.row.is_written() {
                let example = "core = \"C7\", the sample's name, or row = 12";
                resolver.missing(&table.place, "core", example);
            }
            None
        }
    };
    Some(LeftOut {
        sample: sample?,
        why: why?.value.clone(),
        place: table.place.clone(),
    })
}

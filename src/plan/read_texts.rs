//! A table of names and texts.

use super::reading::{Item, TableReader, Written};

/// Entries of a table whose keys are the user's own and whose values are texts.
pub(super) fn read_texts(
    table: &TableReader<'_>,
    wanted: &str,
) -> Vec<(Written<String>, Written<String>)> {
    let read = |(name, item): (Written<String>, Item<'_>)| {
        let text = item.as_text();
        if text.is_none() {
            item.refuse(wanted);
        }
        text.map(|text| (name, text))
    };
    table.entries().into_iter().filter_map(read).collect()
}

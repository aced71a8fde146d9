//! Rows of text held in memory.

use crate::intake::formats::delimited::Row;

/// Rows of text held in one buffer.
#[derive(Default)]
pub(in crate::intake) struct TextRows {
    bytes: Vec<u8>,
    rows: Vec<(u32, Vec<(u32, u32)>)>,
}

impl TextRows {
    /// Adds a row.
    pub(in crate::intake) fn push<'t>(
        &mut self,
        number: u32,
        texts: impl Iterator<Item = &'t str>,
    ) {
        let mut cells = Vec::with_capacity(texts.size_hint().0);
        for text in texts {
            let from = self.bytes.len() as u32;
            self.bytes.extend_from_slice(text.as_bytes());
            cells.push((from, self.bytes.len() as u32));
        }
        self.rows.push((number, cells));
    }

    /// Calls `visit` with each row in turn.
    pub(in crate::intake) fn for_each(&self, visit: &mut dyn FnMut(&Row<'_>)) {
        for (number, cells) in &self.rows {
            visit(&Row::new(*number, &self.bytes, cells));
        }
    }
}

//! A long file of text in pieces that can be read side by side.
//!
//! The file comes in batches, each cut into pieces at the ends of lines. A piece is read as if it began with a row of its own. That
//! holds as long as every piece before it ends with a whole row: a quote that is still open at the end of a piece says that
//! the cut fell into a cell, and then nothing of this is used and the file is read row by row.

use std::io::{self, Read};

use memchr::{memchr, memchr_iter, memrchr};

use super::encoding::length_of_mark;
use super::rows::{Dialect, LONGEST_ROW, Row, RowReader};

/// Files under this size are read row by row.
pub(in crate::intake) const LONG_FILE: u64 = 1 << 20;
/// Bytes of a batch.
const BATCH: usize = 2 << 20;
/// Bytes of a piece.
const PIECE: usize = 1 << 17;

/// Some whole rows of a file.
#[derive(Debug, Clone, Copy)]
pub(in crate::intake) struct Piece<'b> {
    bytes: &'b [u8],
    dialect: Dialect,
    /// Lines of the file before it.
    lines_before: u32,
    last_head_row: u32,
}

impl Piece<'_> {
    /// Calls `visit` with each row of data; whether the piece could be read by itself.
    pub(in crate::intake) fn visit(&self, visit: &mut dyn FnMut(&Row<'_>)) -> bool {
        let mut rows = RowReader::of_piece(self.bytes, self.dialect, self.lines_before);
        loop {
            match rows.next_row() {
                Ok(Some(row)) if row.number <= self.last_head_row => {}
                Ok(Some(row)) => visit(&row),
                Ok(None) => return true,
                Err(_) => return false,
            }
        }
    }
}

/// Reads a file batch by batch.
pub(in crate::intake) struct Batches<R> {
    inner: R,
    dialect: Dialect,
    last_head_row: u32,
    lines: u32,
}

/// Bytes of a file: the rest of a line that the batch before could not end, and what was read after it.
#[derive(Default)]
pub(in crate::intake) struct Batch {
    bytes: Vec<u8>,
    /// Bytes from here on were read for this batch.
    fresh: usize,
    /// Bytes up to here are whole lines.
    whole: usize,
    is_last: bool,
}

impl Batch {
    /// What was read for this batch.
    pub(in crate::intake) fn fresh(&self) -> &[u8] {
        &self.bytes[self.fresh..]
    }

    /// Whether nothing comes after it.
    pub(in crate::intake) fn is_last(&self) -> bool {
        self.is_last
    }
}

impl<R: Read> Batches<R> {
    /// Of a reader at the start of a file.
    pub(in crate::intake) fn new(inner: R, dialect: Dialect, last_head_row: u32) -> Self {
        Self {
            inner,
            dialect,
            last_head_row,
            lines: 0,
        }
    }

    /// Reads the batch after another into a used one; `false` where a line is too long for a batch.
    pub(in crate::intake) fn read(&mut self, after: &Batch, into: &mut Batch) -> io::Result<bool> {
        into.bytes.clear();
        into.bytes.extend_from_slice(&after.bytes[after.whole..]);
        into.fresh = into.bytes.len();
        let wanted = BATCH as u64;
        into.is_last = (self
            .inner
            .by_ref()
            .take(wanted)
            .read_to_end(&mut into.bytes)? as u64)
            < wanted;
        let end = memrchr(self.dialect.line_end, &into.bytes).map_or(0, |at| at + 1);
        into.whole = if into.is_last { into.bytes.len() } else { end };
        let first_line = memchr(self.dialect.line_end, &into.bytes).unwrap_or(into.bytes.len());
        Ok(first_line <= LONGEST_ROW && (into.is_last || end > 0))
    }

    /// The pieces of a batch; to be asked of one batch after the other. `None` where the encoding has to be turned into another one.
    pub(in crate::intake) fn pieces<'b>(&mut self, batch: &'b Batch) -> Option<Vec<Piece<'b>>> {
        let mut rest = &batch.bytes[..batch.whole];
        if self.lines == 0 && batch.fresh == 0 {
            rest = &rest[length_of_mark(rest)?..];
        }
        let mut pieces = Vec::with_capacity(rest.len() / PIECE + 1);
        while !rest.is_empty() {
            let near = PIECE.min(rest.len()) - 1;
            let end =
                memchr(self.dialect.line_end, &rest[near..]).map_or(rest.len(), |at| near + at + 1);
            let (bytes, others) = rest.split_at(end);
            pieces.push(Piece {
                bytes,
                dialect: self.dialect,
                lines_before: self.lines,
                last_head_row: self.last_head_row,
            });
            self.lines += memchr_iter(self.dialect.line_end, bytes).count() as u32;
            rest = others;
        }
        Some(pieces)
    }
}

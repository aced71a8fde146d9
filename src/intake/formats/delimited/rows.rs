//! Cuts a stream of bytes into rows and cells. One buffer, no copy unless a cell is quoted.

use std::borrow::Cow;
use std::io::{self, Empty, Read};

use memchr::memchr;

/// Longest row, in bytes.
pub(in crate::intake) const LONGEST_ROW: usize = 4 << 20;
/// Most cells in a row.
const MOST_CELLS: usize = 16_384;
const BLOCK: usize = 1 << 18;

/// Why the rows cannot be cut.
#[derive(Debug)]
pub(in crate::intake) enum RowError {
    /// The stream failed.
    Io(io::Error),
    /// A row is too long (row number).
    TooLong(u32),
    /// A row has too many cells (row number).
    TooManyCells(u32),
    /// A quote is opened and never closed (row number).
    OpenQuote(u32),
}

/// How a file is cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::intake) struct Dialect {
    /// Between cells.
    pub separator: u8,
    /// At the end of a row: a line feed, or a lone carriage return.
    pub line_end: u8,
}

/// Reads rows.
pub(in crate::intake) struct RowReader<'b, R> {
    inner: R,
    dialect: Dialect,
    buffer: Cow<'b, [u8]>,
    start: usize,
    filled: usize,
    is_ended: bool,
    line: u32,
    scratch: Vec<u8>,
    cells: Vec<(u32, u32)>,
    /// Whether it is known that no quote is to come.
    is_free_of_quotes: bool,
}

/// One row: its number and its cells.
pub(in crate::intake) struct Row<'a> {
    /// Line of the file on which the row starts, from 1.
    pub number: u32,
    /// Whether the file ends with this row and no line end follows it.
    pub is_open: bool,
    bytes: &'a [u8],
    cells: &'a [(u32, u32)],
}

impl<'a> Row<'a> {
    /// A row from parts: the cells are ranges of the bytes.
    pub(in crate::intake) fn new(number: u32, bytes: &'a [u8], cells: &'a [(u32, u32)]) -> Self {
        Self {
            number,
            is_open: false,
            bytes,
            cells,
        }
    }

    /// Number of cells.
    pub(in crate::intake) fn len(&self) -> usize {
        self.cells.len()
    }

    /// A cell; empty where the row is too short.
    #[inline]
    pub(in crate::intake) fn cell(&self, at: usize) -> &'a [u8] {
        self.cells
            .get(at)
            .and_then(|&(from, to)| self.bytes.get(from as usize..to as usize))
            .unwrap_or_default()
    }

    /// Whether no cell holds anything.
    pub(in crate::intake) fn is_blank(&self) -> bool {
        (0..self.len()).all(|at| self.cell(at).trim_ascii().is_empty())
    }
}

impl<'b> RowReader<'b, Empty> {
    /// `RowReader` of bytes that lie in memory, after so many lines of the file.
    pub(in crate::intake) fn of_piece(
        bytes: &'b [u8],
        dialect: Dialect,
        lines_before: u32,
    ) -> Self {
        let (buffer, is_free_of_quotes) = (Cow::Borrowed(bytes), memchr(b'"', bytes).is_none());
        Self {
            is_free_of_quotes,
            buffer,
            filled: bytes.len(),
            is_ended: true,
            line: lines_before,
            ..Self::new(io::empty(), dialect)
        }
    }
}

impl<R: Read> RowReader<'_, R> {
    pub(in crate::intake) fn new(inner: R, dialect: Dialect) -> Self {
        Self {
            inner,
            dialect,
            buffer: Cow::Owned(Vec::new()),
            start: 0,
            filled: 0,
            is_ended: false,
            line: 0,
            scratch: Vec::new(),
            cells: Vec::new(),
            is_free_of_quotes: false,
        }
    }

    /// The next row; `None` at the end.
    pub(in crate::intake) fn next_row(&mut self) -> Result<Option<Row<'_>>, RowError> {
        let Some(end) = self.line_from(self.start)? else {
            return Ok(None);
        };
        self.line += 1;
        let number = self.line;
        self.cells.clear();
        let first = self.start;
        let line = &self.buffer[first..end];
        if self.is_free_of_quotes || memchr(b'"', line).is_none() {
            split_plain(trim_return(line), self.dialect.separator, &mut self.cells)
                .map_err(|()| RowError::TooManyCells(number))?;
            self.start = (end + 1).min(self.filled);
            return Ok(Some(Row {
                number,
                is_open: end == self.filled,
                bytes: &self.buffer[first..end],
                cells: &self.cells,
            }));
        }
        let is_open = self.quoted_row(end, number)?;
        Ok(Some(Row {
            number,
            is_open,
            bytes: &self.scratch,
            cells: &self.cells,
        }))
    }

    /// A row with a quote in it, which may run over several lines; whether the file ends with it and no line end follows.
    fn quoted_row(&mut self, first_end: usize, number: u32) -> Result<bool, RowError> {
        self.scratch.clear();
        let mut end = first_end;
        let mut state = Quoting::new();
        loop {
            let line = trim_return(&self.buffer[self.start..end]);
            state
                .feed(
                    line,
                    self.dialect.separator,
                    &mut self.scratch,
                    &mut self.cells,
                )
                .map_err(|()| RowError::TooManyCells(number))?;
            self.start = (end + 1).min(self.filled);
            if !state.is_inside {
                state.close(&self.scratch, &mut self.cells);
                return Ok(end == self.filled);
            }
            if self.scratch.len() > LONGEST_ROW {
                return Err(RowError::OpenQuote(number));
            }
            self.scratch.push(b'\n');
            end = self
                .line_from(self.start)?
                .ok_or(RowError::OpenQuote(number))?;
            self.line += 1;
        }
    }

    /// End of the line that starts at `from`; reads on where needed. `None` at the end of the stream.
    fn line_from(&mut self, from: usize) -> Result<Option<usize>, RowError> {
        let mut searched = from;
        loop {
            if let Some(at) = memchr(self.dialect.line_end, &self.buffer[searched..self.filled]) {
                return Ok(Some(searched + at));
            }
            if self.is_ended {
                return Ok((self.start < self.filled).then_some(self.filled));
            }
            let unread = self.filled - self.start;
            if unread > LONGEST_ROW {
                return Err(RowError::TooLong(self.line + 1));
            }
            let buffer = self.buffer.to_mut();
            buffer.copy_within(self.start..self.filled, 0);
            self.start = 0;
            self.filled = unread;
            searched = unread;
            if buffer.len() - unread < BLOCK / 2 {
                buffer.resize((buffer.len() * 2).max(BLOCK), 0);
            }
            self.fill()?;
        }
    }

    fn fill(&mut self) -> Result<(), RowError> {
        loop {
            match self.inner.read(&mut self.buffer.to_mut()[self.filled..]) {
                Ok(0) => self.is_ended = true,
                Ok(count) => self.filled += count,
                Err(error) if error.kind() == io::ErrorKind::Interrupted => continue,
                Err(error) => return Err(RowError::Io(error)),
            }
            return Ok(());
        }
    }
}

fn trim_return(line: &[u8]) -> &[u8] {
    line.strip_suffix(b"\r").unwrap_or(line)
}

/// Cuts a line without quotes, looking for separators in eight bytes at a time: cells are too short for a longer stride.
fn split_plain(line: &[u8], separator: u8, cells: &mut Vec<(u32, u32)>) -> Result<(), ()> {
    const ONES: u64 = u64::from_le_bytes([1; 8]);
    const LOW_BITS: u64 = u64::from_le_bytes([0x7F; 8]);
    let mut from = 0_u32;
    let mut cut = |at: u32| {
        cells.push((from, at));
        from = at + 1;
        if cells.len() > MOST_CELLS {
            Err(())
        } else {
            Ok(())
        }
    };
    let (eights, rest) = line.as_chunks::<8>();
    for (index, eight) in eights.iter().enumerate() {
        // A byte that equals the separator becomes zero; only then is its highest bit left in `found`.
        let differing = u64::from_le_bytes(*eight) ^ (ONES * u64::from(separator));
        let mut found = !(((differing & LOW_BITS) + LOW_BITS) | differing | LOW_BITS);
        while found != 0 {
            cut(index as u32 * 8 + found.trailing_zeros() / 8)?;
            found &= found - 1;
        }
    }
    let start = (line.len() - rest.len()) as u32;
    for (at, _) in rest
        .iter()
        .enumerate()
        .filter(|(_, byte)| **byte == separator)
    {
        cut(start + at as u32)?;
    }
    cells.push((from, line.len() as u32));
    Ok(())
}

/// The state of a row with quoted cells (RFC 4180; a quote inside an unquoted cell is an ordinary sign: `0-6"`).
struct Quoting {
    is_inside: bool,
    is_cell_start: bool,
    from: u32,
}

impl Quoting {
    fn new() -> Self {
        Self {
            is_inside: false,
            is_cell_start: true,
            from: 0,
        }
    }

    fn feed(
        &mut self,
        line: &[u8],
        separator: u8,
        out: &mut Vec<u8>,
        cells: &mut Vec<(u32, u32)>,
    ) -> Result<(), ()> {
        let mut at = 0;
        while let Some(&byte) = line.get(at) {
            at += 1;
            if self.is_inside {
                match (byte, line.get(at)) {
                    (b'"', Some(b'"')) => {
                        out.push(b'"');
                        at += 1;
                    }
                    (b'"', _) => self.is_inside = false,
                    _ => out.push(byte),
                }
            } else if byte == separator {
                self.close(out, cells);
                if cells.len() > MOST_CELLS {
                    return Err(());
                }
            } else if byte == b'"' && self.is_cell_start {
                self.is_inside = true;
                self.is_cell_start = false;
                out.truncate(self.from as usize);
            } else {
                self.is_cell_start &= byte == b' ';
                out.push(byte);
            }
        }
        Ok(())
    }

    fn close(&mut self, out: &[u8], cells: &mut Vec<(u32, u32)>) {
        let end = out.len() as u32;
        cells.push((self.from, end));
        self.from = end;
        self.is_cell_start = true;
    }
}

#[cfg(test)]
#[path = "rows_tests.rs"]
mod tests;

//! Tables of text: comma, semicolon, tab or bar between the cells, in any encoding and with any head.

use std::io::{self, Read};
use std::path::Path;

use sha2::{Digest, Sha256};

use crate::provenance::Place;
use crate::remark::Remark;

use crate::intake::columns::Header;
use crate::intake::columns::table_roles::table_roles;
use crate::intake::context::Context;
use crate::intake::error::IntakeError;
use crate::intake::source::{Hashing, LARGEST_TABLE, Source, too_large};
use crate::intake::survey::PointTable;
use crate::intake::table::builder::{RowSource, TakePieces, read_table};
use crate::intake::table::coordinates::settle_crs;
use crate::intake::table::duplicates::remark_on_duplicates;

use crate::intake::columns::layout::{Layout, find_layout};
use crate::intake::formats::delimited::{
    Batch, Batches, Dialect, LONG_FILE, Row, RowError, RowReader, Unmarked,
};

/// How much of a file is looked at before it is read.
const HEAD: u64 = 1 << 17;

/// A table that was read, with the hash of its bytes.
pub(in crate::intake) struct ReadFile {
    /// The table; `None` where the context has errors.
    pub table: Option<PointTable>,
    /// Hash and size of the bytes.
    pub hash: Option<(Sha256, u64)>,
}

/// Reads a table of text.
pub(in crate::intake) fn read_delimited(source: Source<'_>, context: &mut Context<'_>) -> ReadFile {
    match read_or_fail(source, context) {
        Ok(read) => read,
        Err(error) => {
            context.errors.push(error);
            ReadFile {
                table: None,
                hash: None,
            }
        }
    }
}

/// The head of a table of text.
pub(in crate::intake) fn read_header(
    source: Source<'_>,
    place: &Place,
    skip_rows: u32,
) -> Result<Header, IntakeError> {
    let head = head_of(source, place)?;
    find_layout(&head, &[], skip_rows)
        .map(|layout| layout.header)
        .ok_or_else(|| no_header(place))
}

/// The beginning of a table of text; another format is refused.
fn head_of(source: Source<'_>, place: &Place) -> Result<Vec<u8>, IntakeError> {
    let mut head = Vec::new();
    source
        .open()
        .and_then(Unmarked::new)
        .and_then(|reader| reader.take(HEAD).read_to_end(&mut head))
        .map_err(|cause| IntakeError::Unreadable {
            place: place.clone(),
            cause,
        })?;
    refuse_other_formats(&head, place)?;
    Ok(head)
}

fn no_header(place: &Place) -> IntakeError {
    IntakeError::Nothing {
        place: place.clone(),
        what: "no row with column names was found; the first row of a table names its columns; \
               where title lines stand above, say skip_rows = 3 (their number) in this [[points]] table"
            .to_owned(),
    }
}

fn read_or_fail(source: Source<'_>, context: &mut Context<'_>) -> Result<ReadFile, IntakeError> {
    let size = source.size().map_err(|cause| IntakeError::Unreadable {
        place: context.place(),
        cause,
    })?;
    if size > LARGEST_TABLE {
        return Err(too_large(Path::new(&*context.file), size, LARGEST_TABLE));
    }
    let head = head_of(source, &context.place())?;
    let wanted = wanted_names(context);
    let wanted: Vec<&str> = wanted.iter().map(String::as_str).collect();
    let Some(layout) = find_layout(&head, &wanted, context.settings.reading.skip_rows) else {
        return Err(no_header(&context.place()));
    };
    remark_on_layout(&layout, context);
    let errors_before = context.errors.len();
    let roles = table_roles(&layout.header, context, false);
    if context.errors.len() > errors_before {
        return Ok(ReadFile {
            table: None,
            hash: None,
        });
    }
    if roles.results.is_empty()
        && roles.long.is_none()
        && roles.cone.is_none()
        && roles.id.is_none()
    {
        return Err(nothing_to_read(&layout.header, context));
    }
    let names = [roles.x, roles.y]
        .map(|at| at.map_or_else(String::new, |at| layout.header.name(at).to_owned()));
    let mut rows = FileRows {
        source,
        dialect: layout.dialect,
        last_head_row: layout.last_head_row,
        place: context.place(),
        hash: None,
    };
    let table = read_table(&layout.header, &roles, context, &mut rows);
    let hash = rows.hash.take();
    let table = table.map(|table| {
        checked(
            table,
            roles.x.is_some() && roles.y.is_some(),
            context,
            (&names[0], &names[1]),
        )
    });
    Ok(ReadFile { table, hash })
}

/// Checks of a whole table.
fn checked(
    mut table: PointTable,
    has_place: bool,
    context: &mut Context<'_>,
    names: (&str, &str),
) -> PointTable {
    if table.x.is_empty() && context.errors.is_empty() {
        context.errors.push(IntakeError::Nothing {
            place: context.place(),
            what: "there is no usable row under the column names".to_owned(),
        });
        return table;
    }
    if has_place {
        settle_crs(&mut table, None, context, names);
    }
    remark_on_duplicates(&table, context);
    table
}

fn nothing_to_read(header: &Header, context: &Context<'_>) -> IntakeError {
    let names: Vec<String> = header
        .names
        .iter()
        .filter(|name| !name.is_empty())
        .take(20)
        .map(|name| format!("\"{name}\""))
        .collect();
    IntakeError::Nothing {
        place: context.place(),
        what: format!(
            "no column of results was recognised among {}; name them under [points.columns]",
            names.join(", ")
        ),
    }
}

/// The column names that the plan uses.
fn wanted_names(context: &Context<'_>) -> Vec<String> {
    let settings = context.settings;
    let mut names: Vec<String> = [&settings.x, &settings.y, &settings.id]
        .into_iter()
        .flatten()
        .cloned()
        .collect();
    names.extend(settings.columns.iter().map(|(name, _)| name.to_string()));
    names.extend(
        settings
            .cone
            .iter()
            .flat_map(|cone| cone.depths.iter().map(|(name, _)| name.clone())),
    );
    match &settings.depths {
        crate::plan::Depths::Column { column, .. } => names.push(column.clone()),
        crate::plan::Depths::TopAndBottom { top, bottom, .. } => {
            names.extend([top.clone(), bottom.clone()]);
        }
        _ => {}
    }
    names
}

/// Formats that are not text, by their first bytes.
pub(in crate::intake) fn refuse_other_formats(
    head: &[u8],
    place: &Place,
) -> Result<(), IntakeError> {
    let place = place.clone();
    let help = "open it in a spreadsheet and save it as CSV (check depths such as 6-12, which become dates)".to_owned();
    if head.starts_with(b"PK\x03\x04") {
        return Err(IntakeError::UnknownFormat {
            place,
            what: "a zipped file, perhaps a spreadsheet (.xlsx)".to_owned(),
            help,
        });
    }
    if head.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
        return Err(IntakeError::UnknownFormat {
            place,
            what: "an old spreadsheet (.xls)".to_owned(),
            help,
        });
    }
    if head.starts_with(b"%PDF") {
        return Err(IntakeError::UnknownFormat {
            place,
            what: "a PDF".to_owned(),
            help: "ask the lab for the results as CSV".to_owned(),
        });
    }
    if head.contains(&0) {
        return Err(IntakeError::Malformed {
            place,
            format: "a table of text",
            what: "it holds zero bytes".to_owned(),
        });
    }
    if head.trim_ascii().is_empty() {
        return Err(IntakeError::Nothing {
            place,
            what: "the file is empty".to_owned(),
        });
    }
    Ok(())
}

fn remark_on_layout(layout: &Layout, context: &mut Context<'_>) {
    if layout.header_row > 1 {
        let what = format!(
            "the column names stand in row {}; the rows above are not used",
            layout.header_row
        );
        context
            .remarks
            .push(Remark::info("title-lines", what).at(context.place().at_row(layout.header_row)));
    }
    if let Some(row) = layout.units_row {
        context.remarks.push(
            Remark::info("units-row", format!("row {row} holds units, not results"))
                .at(context.place().at_row(row)),
        );
    }
    if layout.is_latin {
        context.remarks.push(
            Remark::info(
                "read-as-windows-1252",
                "the file is not UTF-8: read as Windows-1252",
            )
            .at(context.place()),
        );
    }
    let repeated: Vec<&String> = layout
        .header
        .names
        .iter()
        .filter(|name| name.ends_with("#1"))
        .collect();
    if !repeated.is_empty() {
        let list = repeated
            .iter()
            .map(|name| format!("\"{}\"", name.trim_end_matches("#1")))
            .collect::<Vec<_>>()
            .join(", ");
        let what = format!(
            "several columns have the same name ({list}); they are numbered #1, #2 from the left"
        );
        context
            .remarks
            .push(Remark::info("repeated-names", what).at(context.place()));
    }
}

/// The rows of a file; the bytes are hashed on the first way through.
struct FileRows<'a> {
    source: Source<'a>,
    dialect: Dialect,
    last_head_row: u32,
    place: Place,
    hash: Option<(Sha256, u64)>,
}

impl RowSource for FileRows<'_> {
    fn visit(&mut self, visit: &mut dyn FnMut(&Row<'_>)) -> Result<(), IntakeError> {
        let mut hashing = Hashing::new(self.source.open().map_err(|cause| self.unreadable(cause))?);
        let unmarked = Unmarked::new(&mut hashing).map_err(|cause| self.unreadable(cause))?;
        let mut rows = RowReader::new(unmarked, self.dialect);
        loop {
            match rows.next_row() {
                Ok(Some(row)) if row.number <= self.last_head_row => {}
                Ok(Some(row)) => visit(&row),
                Ok(None) => break,
                Err(error) => return Err(self.row_error(error)),
            }
        }
        drop(rows);
        self.hash.get_or_insert(hashing.finish());
        Ok(())
    }

    fn visit_pieces(&mut self, take: &mut TakePieces<'_>) -> Result<bool, IntakeError> {
        let is_long = self.source.size().is_ok_and(|size| size >= LONG_FILE);
        if is_long {
            self.by_batches(take)
                .map_err(|cause| self.unreadable(cause))
        } else {
            Ok(false)
        }
    }
}

impl FileRows<'_> {
    /// Reads batch by batch: while the pieces of one are taken, it is hashed and the next one is read.
    fn by_batches(&mut self, take: &mut TakePieces<'_>) -> io::Result<bool> {
        let size = self.source.size()?.max(1);
        let mut batches = Batches::new(self.source.open()?, self.dialect, self.last_head_row);
        let mut hash = self.hash.is_none().then(Sha256::new);
        let (mut now, mut next) = (Batch::default(), Batch::default());
        let mut is_usable = batches.read(&Batch::default(), &mut now)?;
        let mut read = 0;
        while is_usable {
            let Some(pieces) = batches.pieces(&now) else {
                return Ok(false);
            };
            read += now.fresh().len() as u64;
            let share = (read as f64 / size as f64).min(1.0);
            let ahead = || -> io::Result<bool> {
                hash.iter_mut().for_each(|hash| hash.update(now.fresh()));
                if now.is_last() {
                    Ok(true)
                } else {
                    batches.read(&now, &mut next)
                }
            };
            let (ahead, is_taken) = rayon::join(ahead, || take(&pieces, share));
            is_usable = ahead? && is_taken;
            if is_usable && now.is_last() {
                self.hash = self.hash.take().or(hash.map(|hash| (hash, read)));
                return Ok(true);
            }
            std::mem::swap(&mut now, &mut next);
        }
        Ok(false)
    }

    fn unreadable(&self, cause: io::Error) -> IntakeError {
        IntakeError::Unreadable {
            place: self.place.clone(),
            cause,
        }
    }

    fn row_error(&self, error: RowError) -> IntakeError {
        let at = |row: u32| self.place.clone().at_row(row);
        match error {
            RowError::Io(cause) => self.unreadable(cause),
            RowError::TooLong(row) => IntakeError::OverLimit {
                place: at(row),
                what: "the length of the row".to_owned(),
                limit: "4 million bytes".to_owned(),
            },
            RowError::TooManyCells(row) => IntakeError::OverLimit {
                place: at(row),
                what: "the number of cells in the row".to_owned(),
                limit: "16,384".to_owned(),
            },
            RowError::OpenQuote(row) => IntakeError::Malformed {
                place: at(row),
                format: "a table",
                what: "a quote is opened at the start of a cell and never closed".to_owned(),
            },
        }
    }
}

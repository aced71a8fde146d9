//! `RowTally` become a table: coordinates, sample names, depths and the columns of results.

use std::sync::Arc;

use rayon::prelude::*;

use crate::analyte::{Catalogue, Conversion};

use crate::intake::columns::Header;
use crate::intake::columns::table_roles::TableRoles;
use crate::intake::context::Context;
use crate::intake::error::IntakeError;
use crate::intake::error::clipped;
use crate::intake::formats::delimited::{Piece, Row, text_of};
use crate::intake::survey::PointTable;
use crate::intake::table::cell::Cell;
use crate::intake::table::cone::ConeRows;
use crate::intake::table::coordinates::read_coordinate;
use crate::intake::table::dates::{Dates, plan_says_long_ago};
use crate::intake::table::last_row::LastRow;
use crate::intake::table::layers::layers_of;
use crate::intake::table::long::LongRows;
use crate::intake::table::number_style::NumberStyle;
use crate::intake::table::odd_rows::OddRows;
use crate::intake::table::result_column::{CellContext, Filling, NumberColumn};
use crate::intake::table::row_depth::RowDepths;
use crate::intake::table::styles::Styles;
use crate::intake::table::tally::Problems;

/// Something that can hand out its rows, as often as asked.
pub(in crate::intake) trait RowSource {
    /// Calls `visit` with each row in turn.
    fn visit(&mut self, visit: &mut dyn FnMut(&Row<'_>)) -> Result<(), IntakeError>;

    /// Hands out the rows in pieces that can be read side by side, some pieces at a time. Whether all were handed out and taken; if not,
    /// the rows have to be visited in turn.
    fn visit_pieces(&mut self, _take: &mut TakePieces<'_>) -> Result<bool, IntakeError> {
        Ok(false)
    }
}

/// Takes pieces with the share of the file that has been handed out after them; whether they could be read.
pub(in crate::intake) type TakePieces<'t> = dyn FnMut(&[Piece<'_>], f64) -> bool + Send + 't;

/// Reads all rows into a table. Where a column turns out to have a decimal comma or thousands separators, the rows
/// are read once more with that known. Gives nothing where the context has errors.
pub(in crate::intake) fn read_table(
    header: &Header,
    roles: &TableRoles,
    context: &mut Context<'_>,
    rows: &mut dyn RowSource,
) -> Option<PointTable> {
    let mut styles = Styles::of_plan(context.settings, header);
    for _ in 0..3 {
        let builder = match build(header, roles, context, &styles, rows) {
            Ok(builder) => builder,
            Err(error) => {
                context.errors.push(error);
                return None;
            }
        };
        match builder.settled(&styles) {
            Ok(None) => return Some(builder.finish(context)),
            Ok(Some(again)) => styles = again,
            Err(errors) => {
                context.errors.extend(errors);
                return None;
            }
        }
    }
    None
}

/// All rows in a builder: side by side where that can be done, else in turn.
fn build<'h>(
    header: &'h Header,
    roles: &TableRoles,
    context: &Context<'_>,
    styles: &Styles,
    rows: &mut dyn RowSource,
) -> Result<Builder<'h>, IntakeError> {
    let empty = || Builder::new(header, roles, context, styles);
    let mut whole = empty();
    if whole.is_joinable() {
        let read = |piece: &Piece<'_>| {
            let mut builder = empty();
            piece.visit(&mut |row| builder.take(row)).then_some(builder)
        };
        let mut take = |pieces: &[Piece<'_>], share: f64| {
            let Some(built) = pieces.par_iter().map(read).collect::<Option<Vec<_>>>() else {
                return false;
            };
            built.into_iter().for_each(|part| whole.join(part));
            whole.make_room(share);
            true
        };
        if rows.visit_pieces(&mut take)? {
            return Ok(whole);
        }
        whole = empty();
    }
    rows.visit(&mut |row| whole.take(row))?;
    Ok(whole)
}

/// A table being built.
struct Builder<'h> {
    header: &'h Header,
    x: Option<NumberColumn>,
    y: Option<NumberColumn>,
    depths: RowDepths,
    id: Option<usize>,
    columns: Vec<Filling>,
    long: Option<LongRows>,
    cone: Option<ConeRows>,
    table: PointTable,
    ids: Vec<Arc<str>>,
    bulk_density: f64,
    rules: crate::intake::context::ReadingRules,
    dates: Option<Dates>,
    odd_rows: OddRows,
    coordinates: Problems,
    last_row: LastRow,
}

impl<'h> Builder<'h> {
    fn new(header: &'h Header, roles: &TableRoles, context: &Context<'_>, styles: &Styles) -> Self {
        let number = |at: usize| styles.column(header, at);
        let place = |at: usize| styles.coordinate(header, at);
        let columns = roles
            .results
            .iter()
            .map(|spec| Filling::new(spec.clone(), number(spec.index), context.column(&spec.name)));
        Self {
            header,
            x: roles.x.map(place),
            y: roles.y.map(place),
            depths: RowDepths::new(&roles.depth, header, styles, context),
            id: roles.id,
            columns: columns.collect(),
            long: roles
                .long
                .as_ref()
                .map(|long| LongRows::new(long, header, styles, context)),
            cone: roles
                .cone
                .as_ref()
                .map(|cone| ConeRows::new(cone, header, styles, context)),
            table: PointTable {
                file: Arc::clone(&context.file),
                kind: context.settings.kind,
                crs: String::new(),
                x: Vec::new(),
                y: Vec::new(),
                row: Vec::new(),
                id: None,
                layers: Vec::new(),
                cone: None,
            },
            ids: Vec::new(),
            bulk_density: context
                .rules
                .bulk_density
                .unwrap_or(Catalogue::built_in().trade_bulk_density),
            rules: context.rules.clone(),
            dates: Dates::find(header, &roles.claimed, context),
            odd_rows: OddRows::default(),
            coordinates: Problems::default(),
            last_row: LastRow::new(header),
        }
    }

    /// Takes one row.
    fn take(&mut self, row: &Row<'_>) {
        self.last_row.take(row);
        if self.is_too_wide(row) {
            return;
        }
        if self.depths.is_section(row) {
            return;
        }
        let Some((x, y)) = self.place(row) else {
            return;
        };
        if let Some(dates) = &mut self.dates {
            dates.take(row);
        }
        let id = self.id.map(|at| {
            let (text, is_latin) = text_of(row.cell(at).trim_ascii());
            if is_latin {
                self.odd_rows.latin.add(row.number);
            }
            Arc::<str>::from(text.trim())
        });
        let depth = self.depths.depth_of(row, id.as_deref());
        let context = CellContext {
            rules: &self.rules,
            bulk_density: self.bulk_density,
            depth,
        };
        let next = self.table.x.len() as u32;
        if let Some(long) = &mut self.long {
            if let Some(at) = long.take(row, next, (x, y), id.as_deref(), depth, &context)
                && at == next
            {
                self.keep(x, y, row.number, id);
            }
            return;
        }
        if let Some(cone) = &mut self.cone {
            let at = cone.take(row, next, (x, y), id.as_deref());
            if at == next {
                self.columns
                    .iter_mut()
                    .for_each(|column| column.take(row, next, &context));
                self.keep(x, y, row.number, id);
            }
            return;
        }
        self.columns
            .iter_mut()
            .for_each(|column| column.take(row, next, &context));
        self.keep(x, y, row.number, id);
    }

    /// Whether a row is read by itself, so that rows read side by side can be joined.
    fn is_joinable(&self) -> bool {
        self.long.is_none() && self.cone.is_none() && !self.depths.is_by_row()
    }

    /// Adds later rows.
    fn join(&mut self, later: Self) {
        let rows = self.table.x.len();
        for (mine, theirs) in self
            .x
            .iter_mut()
            .chain(&mut self.y)
            .zip(later.x.iter().chain(&later.y))
        {
            mine.signs.join(&theirs.signs);
        }
        for (mine, theirs) in self.columns.iter_mut().zip(later.columns) {
            mine.join(theirs, rows);
        }
        self.table.x.extend_from_slice(&later.table.x);
        self.table.y.extend_from_slice(&later.table.y);
        self.table.row.extend_from_slice(&later.table.row);
        self.ids.extend(later.ids);
        if let (Some(mine), Some(theirs)) = (&mut self.dates, &later.dates) {
            mine.join(theirs);
        }
        self.odd_rows.join(later.odd_rows);
        self.depths.join(later.depths);
        self.coordinates.join(later.coordinates);
        self.last_row.join(later.last_row);
    }

    /// Makes room for the rows to come, once: the first share of a file tells how many that will be.
    fn make_room(&mut self, share: f64) {
        let rows = self.table.x.len();
        let more = (rows as f64 * (1.02 / share - 1.0)).max(0.0) as usize;
        if self.table.x.capacity() - rows >= more {
            return;
        }
        self.table.x.reserve_exact(more);
        self.table.y.reserve_exact(more);
        self.table.row.reserve_exact(more);
        self.columns
            .iter_mut()
            .for_each(|column| column.values.reserve_exact(more));
    }

    fn keep(&mut self, x: f64, y: f64, number: u32, id: Option<Arc<str>>) {
        self.table.x.push(x);
        self.table.y.push(y);
        self.table.row.push(number);
        self.ids.extend(id);
        self.depths.keep();
    }

    /// A row with more filled cells than the header: a separator stands inside a number or a text.
    fn is_too_wide(&mut self, row: &Row<'_>) -> bool {
        let width = self.header.names.len();
        // Up to two cells may be a note below the table.
        if (3..width).contains(&row.len()) {
            self.odd_rows.short.add(row.number);
        }
        if row.len() <= width || (width..row.len()).all(|at| row.cell(at).trim_ascii().is_empty()) {
            return false;
        }
        let place = crate::intake::provenance_of(&self.table.file).at_row(row.number);
        let what = format!(
            "the row has {} cells, the header {width}; a separator stands inside a cell (a decimal comma or a text without quotes?)",
            row.len()
        );
        self.odd_rows.too_wide.add(|| IntakeError::Malformed {
            place,
            format: "a table",
            what,
        });
        true
    }

    /// The coordinates of a row; nothing for a row that is not kept. A table without coordinates gets none yet.
    fn place(&mut self, row: &Row<'_>) -> Option<(f64, f64)> {
        let (Some(x), Some(y)) = (&mut self.x, &mut self.y) else {
            return (!row.is_blank()).then_some((f64::NAN, f64::NAN));
        };
        if let (Some(x), Some(y)) = (x.plain(row), y.plain(row))
            && (x != 0.0 || y != 0.0)
        {
            return Some((x, y));
        }
        let east = read_coordinate(x, row);
        let north = read_coordinate(y, row);
        if let (Cell::Number(x), Cell::Number(y)) = (&east.cell, &north.cell) {
            if east.is_text || north.is_text {
                self.odd_rows.is_degrees_text.add(row.number);
            }
            if *x == 0.0 && *y == 0.0 {
                self.odd_rows.without_fix.add(row.number);
                return None;
            }
            return Some((*x, *y));
        }
        self.no_place(
            row,
            &[
                (&east.cell, self.x.as_ref().map(|c| c.index)),
                (&north.cell, self.y.as_ref().map(|c| c.index)),
            ],
        );
        None
    }

    fn no_place(&mut self, row: &Row<'_>, cells: &[(&Cell<'_>, Option<usize>)]) {
        let filled = (0..row.len())
            .filter(|&at| !row.cell(at).trim_ascii().is_empty())
            .count();
        if filled == 0 {
            return;
        }
        if filled <= 2 {
            self.odd_rows.notes.add(row.number);
            return;
        }
        let wrong = cells
            .iter()
            .find(|(cell, _)| !matches!(cell, Cell::Missing | Cell::Number(_)));
        let Some((_, Some(index))) = wrong else {
            self.odd_rows.without_place.add(row.number);
            return;
        };
        let text = clipped(&text_of(row.cell(*index)).0);
        let place = crate::intake::provenance_of(&self.table.file)
            .at_row(row.number)
            .in_column(self.header.name(*index));
        self.coordinates.add(|| IntakeError::NotANumber {
            place,
            text,
            help: "coordinates are plain numbers such as -97.1234; correct the cell or leave the row out".to_owned(),
        });
    }

    fn number_columns(&self) -> impl Iterator<Item = &NumberColumn> {
        self.x
            .iter()
            .chain(&self.y)
            .chain(self.depths.number_columns())
            .chain(self.columns.iter().map(|column| &column.number))
            .chain(self.long.iter().flat_map(LongRows::number_columns))
            .chain(self.cone.iter().flat_map(ConeRows::number_columns))
    }

    /// Whether the styles that were assumed are those that the cells show; if not, the right ones.
    fn settled(&self, assumed: &Styles) -> Result<Option<Styles>, Vec<IntakeError>> {
        let mut styles = assumed.without_findings();
        let mut errors = Vec::new();
        for column in self.number_columns().filter(|column| !column.signs.is_said) {
            let place =
                crate::intake::provenance_of(&self.table.file).in_column(Arc::clone(&column.name));
            match column.signs.style(&place) {
                Ok(NumberStyle::Point) => {}
                Ok(style) => {
                    styles.has_decimal_comma |= style == NumberStyle::Comma;
                    styles.by_column.insert(column.index, style);
                }
                Err(error) => errors.push(error),
            }
        }
        match (errors.is_empty(), styles == *assumed) {
            (false, _) => Err(errors),
            (true, true) => Ok(None),
            (true, false) => Ok(Some(styles)),
        }
    }

    fn stack_depths(&mut self, columns: &[Filling], context: &mut Context<'_>) {
        let is_per_area = columns
            .iter()
            .any(|column| matches!(column.spec.unit.conversion, Conversion::PerArea(_)));
        let table = &self.table;
        let place_of = |row: usize| {
            let (x, y) = (table.x[row], table.y[row]);
            let id = table.id.as_ref().and_then(|ids| ids.get(row)).cloned();
            (x.to_bits(), y.to_bits(), id.filter(|_| x.is_nan()))
        };
        self.depths.stack_singles(&place_of, is_per_area, context);
    }

    fn finish(mut self, context: &mut Context<'_>) -> PointTable {
        self.odd_rows.remark(context);
        self.last_row.report(context);
        let place = context.place();
        context.errors.extend(
            std::mem::take(&mut self.odd_rows.too_wide)
                .into_errors(place.clone(), "rows with too many cells"),
        );
        context.errors.extend(
            std::mem::take(&mut self.coordinates)
                .into_errors(place, "coordinates that are no numbers"),
        );
        self.depths.report(context);
        let season = context.rules.season;
        context
            .remarks
            .extend(plan_says_long_ago(context.settings, season));
        if let Some(dates) = &self.dates {
            dates.report(context);
        }
        if self.id.is_some() {
            self.table.id = Some(std::mem::take(&mut self.ids));
        }
        let mut columns = std::mem::take(&mut self.columns);
        if let Some(long) = self.long.take() {
            columns.extend(long.finish(context));
        }
        let rows = self.table.x.len();
        self.stack_depths(&columns, context);
        if let Some(cone) = self.cone.take() {
            cone.finish(&mut self.table, context);
        }
        let rows_after = self.table.x.len();
        debug_assert_eq!(rows, rows_after);
        let layers = layers_of(columns, &self.depths, rows, &self.table.row, context);
        self.table.layers.extend(layers);
        self.table
    }
}

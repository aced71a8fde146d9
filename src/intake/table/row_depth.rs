//! The sampling depth of each row: one for all, a text, or two numbers.

use std::collections::BTreeMap;
use std::sync::Arc;

use crate::analyte::DepthRange;
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::Length;

use crate::intake::columns::Header;
use crate::intake::columns::table_roles::DepthRole;
use crate::intake::context::Context;
use crate::intake::error::IntakeError;
use crate::intake::error::clipped;
use crate::intake::formats::delimited::{Row, text_of};
use crate::intake::table::cell::{Cell, is_date_or_time};
use crate::intake::table::result_column::NumberColumn;
use crate::intake::table::styles::Styles;
use crate::intake::table::tally::{Problems, RowTally};

/// Most different depths in one file.
const MOST_DEPTHS: usize = 64;
/// Index of "no depth".
pub(in crate::intake) const NO_DEPTH: u8 = u8::MAX;

/// Finds and keeps the depth of each row.
pub(in crate::intake) struct RowDepths {
    role: DepthRole,
    pair: Option<(NumberColumn, NumberColumn)>,
    /// The different depths, in the order of their first rows.
    pub depths: Vec<DepthRange>,
    known: BTreeMap<Vec<u8>, DepthRange>,
    current: u8,
    /// Index into `depths` for each row kept; empty where the depth is the same for all rows.
    pub of_row: Vec<u8>,
    last: Option<(Arc<str>, DepthRange)>,
    filled_down: RowTally,
    without: RowTally,
    wrong: Problems,
    place: Place,
}

impl RowDepths {
    pub(in crate::intake) fn new(
        role: &DepthRole,
        header: &Header,
        styles: &Styles,
        context: &Context<'_>,
    ) -> Self {
        let pair = match role {
            DepthRole::Pair(top, bottom, _) => {
                Some((styles.column(header, *top), styles.column(header, *bottom)))
            }
            _ => None,
        };
        let place = match role {
            DepthRole::Text(at, _) | DepthRole::Pair(at, ..) => context.column(header.name(*at)),
            _ => context.place(),
        };
        Self {
            role: role.clone(),
            pair,
            depths: Vec::new(),
            known: BTreeMap::new(),
            current: NO_DEPTH,
            of_row: Vec::new(),
            last: None,
            filled_down: RowTally::default(),
            without: RowTally::default(),
            wrong: Problems::default(),
            place,
        }
    }

    /// The one depth of all rows.
    pub(in crate::intake) fn fixed(&self) -> Option<DepthRange> {
        if let DepthRole::Fixed(depth) = self.role {
            Some(depth)
        } else {
            None
        }
    }

    /// Whether rows may differ in depth.
    pub(in crate::intake) fn is_by_row(&self) -> bool {
        matches!(self.role, DepthRole::Text(..) | DepthRole::Pair(..))
    }

    pub(in crate::intake) fn number_columns(&self) -> impl Iterator<Item = &NumberColumn> {
        self.pair.iter().flat_map(|(top, bottom)| [top, bottom])
    }

    /// The depth of a row. A blank one is filled down within one sample (merged cells of a spreadsheet).
    pub(in crate::intake) fn depth_of(
        &mut self,
        row: &Row<'_>,
        id: Option<&str>,
    ) -> Option<DepthRange> {
        if !self.is_by_row() {
            return self.fixed();
        }
        let mut found = match &self.role {
            DepthRole::Text(at, unit) => {
                let (at, unit) = (*at, unit.clone());
                self.text_depth(row.cell(at).trim_ascii(), unit.as_deref(), row.number)
            }
            DepthRole::Pair(_, _, metres) => self.pair_depth(row, *metres),
            _ => Ok(None),
        };
        if let (Ok(None), Some(id), Some((last_id, depth))) = (&found, id, &self.last)
            && !id.is_empty()
            && **last_id == *id
        {
            found = Ok(Some(*depth));
            self.filled_down.add(row.number);
        }
        let depth = found.unwrap_or_else(|error| {
            self.wrong.add(|| error);
            None
        });
        if let (Some(depth), Some(id)) = (depth, id) {
            self.last = Some((id.into(), depth));
        }
        if depth.is_none() {
            self.without.add(row.number);
        }
        self.current = self.index(depth, row.number);
        depth
    }

    fn index(&mut self, depth: Option<DepthRange>, row: u32) -> u8 {
        let Some(depth) = depth else { return NO_DEPTH };
        if let Some(at) = self.depths.iter().position(|known| *known == depth) {
            return at as u8;
        }
        if self.depths.len() == MOST_DEPTHS {
            let place = self.place.clone().at_row(row);
            let limit = MOST_DEPTHS.to_string();
            self.wrong.add(|| IntakeError::OverLimit {
                place,
                what: "the number of different depths in one file".to_owned(),
                limit,
            });
            return NO_DEPTH;
        }
        self.depths.push(depth);
        (self.depths.len() - 1) as u8
    }

    fn text_depth(
        &mut self,
        cell: &[u8],
        unit: Option<&str>,
        row: u32,
    ) -> Result<Option<DepthRange>, IntakeError> {
        if cell.is_empty() || cell == b"-" {
            return Ok(None);
        }
        if let Some(known) = self.known.get(cell) {
            return Ok(Some(*known));
        }
        let (text, _) = text_of(cell);
        let text = text.trim();
        let place = self.place.clone().at_row(row);
        if is_date_or_time(text) {
            return Err(IntakeError::SpreadsheetDate {
                place,
                text: clipped(text),
            });
        }
        let depth = depth_of_text(text, unit).ok_or_else(|| IntakeError::Depth {
            place,
            what: format!("\"{}\" is not a depth range", clipped(text)),
            help: "write it like \"0-6 in\" or \"15-30 cm\"; for bare numbers add depth_unit = \"in\" to this [[points]] table"
                .to_owned(),
        })?;
        if self.known.len() < 1_000 {
            self.known.insert(cell.to_vec(), depth);
        }
        Ok(Some(depth))
    }

    fn pair_depth(
        &mut self,
        row: &Row<'_>,
        metres: f64,
    ) -> Result<Option<DepthRange>, IntakeError> {
        let place = self.place.clone().at_row(row.number);
        let Some((top, bottom)) = &mut self.pair else {
            return Ok(None);
        };
        let blank = |cell| match cell {
            Cell::NoNumber(_) => Cell::Missing,
            other => other,
        };
        match (blank(top.read(row)), blank(bottom.read(row))) {
            (Cell::Missing, Cell::Missing) | (Cell::Unsettled, _) | (_, Cell::Unsettled) => {
                Ok(None)
            }
            (Cell::Number(top), Cell::Number(bottom)) => {
                let (top, bottom) = (top.abs(), bottom.abs());
                DepthRange::new(Length::from_metres(top * metres), Length::from_metres(bottom * metres)).map(Some).ok_or_else(|| {
                    IntakeError::Depth {
                        place,
                        what: format!("{top} to {bottom} is not a depth range"),
                        help: "the top must lie above the bottom, and neither deeper than 5 m; is the unit right?".to_owned(),
                    }
                })
            }
            (Cell::Date, _) | (_, Cell::Date) => Err(IntakeError::SpreadsheetDate {
                place,
                text: "a date".to_owned(),
            }),
            _ => Err(IntakeError::Depth {
                place,
                what: "the upper or the lower depth is missing or not a number".to_owned(),
                help: "fill in both".to_owned(),
            }),
        }
    }

    /// Keeps the depth of the row that was read last.
    pub(in crate::intake) fn keep(&mut self) {
        if self.is_by_row() {
            self.of_row.push(self.current);
        }
    }

    pub(in crate::intake) fn report(&mut self, context: &mut Context<'_>) {
        context.errors.extend(
            std::mem::take(&mut self.wrong)
                .into_errors(self.place.clone(), "depths that cannot be read"),
        );
        if self.filled_down.count() > 0 {
            let what = format!(
                "{} without a depth: taken from the row above of the same sample (merged cells)",
                self.filled_down.show()
            );
            context.remarks.push(
                Remark::warning("depth-filled-down", what)
                    .at(self.place.clone())
                    .help("fill in the depth in each row"),
            );
        }
        if self.is_by_row() && self.without.count() > 0 {
            let what = format!(
                "{} without a depth; their results belong to no layer with a depth",
                self.without.show()
            );
            context.remarks.push(
                Remark::warning("rows-without-depth", what)
                    .at(self.place.clone())
                    .help("fill in the depth"),
            );
        }
    }
}

/// `0-6`, `0 - 6"`, `0 to 6 in`, `0_15cm`; a single number `6` means from the surface.
fn depth_of_text(text: &str, unit: Option<&str>) -> Option<DepthRange> {
    let plain = text
        .replace('_', "-")
        .replace(['\u{2013}', '\u{2014}', '\u{2212}'], "-");
    DepthRange::parse(&plain, unit).ok().or_else(|| {
        let (bottom, own) = crate::units::split_number_and_unit(&plain)?;
        let own = if own.is_empty() { unit? } else { own };
        let metres = crate::intake::columns::roles::length_unit(own)?;
        DepthRange::new(Length::ZERO, Length::from_metres(bottom * metres))
    })
}

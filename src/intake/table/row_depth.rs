//! The sampling depth of each row: one for all, a text, or two numbers.

use std::collections::{BTreeMap, BTreeSet, HashMap};
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

/// Coordinates of a row as bits, and its sample name where it has none.
pub(in crate::intake) type PlaceKey = (u64, u64, Option<Arc<str>>);

/// Finds and keeps the depth of each row.
pub(in crate::intake) struct RowDepths {
    role: DepthRole,
    pair: Option<(NumberColumn, NumberColumn)>,
    /// The different depths, in the order of their first rows.
    pub depths: Vec<DepthRange>,
    known: BTreeMap<Vec<u8>, DepthRange>,
    /// Depths that a single number gave, from the surface.
    singles: BTreeSet<DepthRange>,
    current: u8,
    /// Index into `depths` for each row kept; empty where the depth is the same for all rows.
    pub of_row: Vec<u8>,
    last: Option<(Arc<str>, DepthRange)>,
    /// The depth that a row of its own gave last.
    section: Option<DepthRange>,
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
            singles: BTreeSet::new(),
            current: NO_DEPTH,
            of_row: Vec::new(),
            last: None,
            section: None,
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
        matches!(
            self.role,
            DepthRole::Text(..) | DepthRole::Pair(..) | DepthRole::Sections
        )
    }

    pub(in crate::intake) fn number_columns(&self) -> impl Iterator<Item = &NumberColumn> {
        self.pair.iter().flat_map(|(top, bottom)| [top, bottom])
    }

    /// Takes a row that holds nothing but a depth; whether it is one. Where the rows have their depth from elsewhere, or the text has no
    /// unit, it is refused: rows of two depths are never taken together.
    pub(in crate::intake) fn is_section(&mut self, row: &Row<'_>) -> bool {
        let mut filled = (0..row.len()).filter(|&at| !row.cell(at).trim_ascii().is_empty());
        let (Some(only), None) = (filled.next(), filled.next()) else {
            return false;
        };
        let (text, _) = text_of(row.cell(only).trim_ascii());
        let found = DepthRange::parse(&text, None).ok();
        if found.is_none() && DepthRange::parse(&text, Some("cm")).is_err() {
            return false;
        }
        if let (DepthRole::Sections, Some(_)) = (&self.role, found) {
            self.section = found;
            return true;
        }
        let place = self.place.clone().at_row(row.number);
        let what = format!("the row holds nothing but \"{}\"", clipped(&text));
        self.wrong.add(|| IntakeError::Depth {
            place,
            what,
            help: "where it is the depth of the rows below, give each row its depth, with its unit, in a column of its own"
                .to_owned(),
        });
        true
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
            DepthRole::Sections => Ok(self.section),
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
        let (depth, is_single) =
            depth_of_text(text, unit).ok_or_else(|| no_depth_range(place, text))?;
        if is_single {
            self.singles.insert(depth);
        }
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
                between(top, bottom, metres, place).map(Some)
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

    /// Single depths of several rows at one place lie below each other: each begins where the one above ends. `place_of` tells the place of
    /// a kept row; `is_per_area` is whether a result was turned from an amount per area, which hangs on the depth that was taken for it.
    pub(in crate::intake) fn stack_singles(
        &mut self,
        place_of: &dyn Fn(usize) -> PlaceKey,
        is_per_area: bool,
        context: &mut Context<'_>,
    ) {
        if self.singles.len() < 2 {
            return;
        }
        let Some(example) = self.begin_below(place_of) else {
            return;
        };
        context
            .errors
            .extend(std::mem::take(&mut self.wrong).into_errors(self.place.clone(), "depths"));
        let help = "write where each begins and ends, for example \"0-6 in\" and \"6-24 in\"";
        if is_per_area {
            context.errors.push(IntakeError::Depth {
                place: self.place.clone(),
                what: "the depths are single numbers, several at one place, and amounts per area need to know where each begins"
                    .to_owned(),
                help: help.to_owned(),
            });
            return;
        }
        let what = format!(
            "the depths are single numbers, several at one place: each is taken to begin where the one above ends, for example {}",
            example.as_written()
        );
        let remark = Remark::assumption("depths-below-each-other", what).at(self.place.clone());
        context.remarks.push(remark.help(help));
    }

    /// Moves the upper edges of single depths down; gives one that was moved.
    fn begin_below(&mut self, place_of: &dyn Fn(usize) -> PlaceKey) -> Option<DepthRange> {
        let depth_at = |depths: &[DepthRange], index: u8| depths.get(usize::from(index)).copied();
        let mut at_place: HashMap<PlaceKey, BTreeSet<DepthRange>> = HashMap::new();
        for (row, index) in self.of_row.iter().enumerate() {
            if let Some(depth) = depth_at(&self.depths, *index) {
                at_place.entry(place_of(row)).or_default().insert(depth);
            }
        }
        let mut example = None;
        for row in 0..self.of_row.len() {
            let own = depth_at(&self.depths, self.of_row[row]);
            let Some(own) = own.filter(|own| self.singles.contains(own)) else {
                continue;
            };
            let others = at_place.get(&place_of(row)).into_iter().flatten();
            let above = others
                .map(|other| other.bottom())
                .filter(|bottom| *bottom < own.bottom())
                .max_by(|a, b| a.metres().total_cmp(&b.metres()));
            let Some(depth) = above.and_then(|above| DepthRange::new(above, own.bottom())) else {
                continue;
            };
            example = example.or(Some(depth));
            self.of_row[row] = self.index(Some(depth), 0);
        }
        example
    }

    /// Adds what is wrong in later rows, whose depth is that of all.
    pub(in crate::intake) fn join(&mut self, later: Self) {
        self.wrong.join(later.wrong);
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

/// The depths of two cells. Depths may be written as heights below the surface, both negative; one of them alone is a slip.
fn between(top: f64, bottom: f64, metres: f64, place: Place) -> Result<DepthRange, IntakeError> {
    let refused = |help: &str| IntakeError::Depth {
        place,
        what: format!("{top} to {bottom} is not a depth range"),
        help: help.to_owned(),
    };
    if top * bottom < 0.0 {
        return Err(refused(
            "one of them lies above the surface: take the minus out",
        ));
    }
    let length = |depth: f64| Length::from_metres(depth.abs() * metres);
    DepthRange::new(length(top), length(bottom)).ok_or_else(|| {
        refused(
            "the top must lie above the bottom, and neither deeper than 5 m; is the unit right?",
        )
    })
}

fn no_depth_range(place: Place, text: &str) -> IntakeError {
    let is_surface = text.parse::<f64>() == Ok(0.0);
    IntakeError::Depth {
        place,
        what: format!("\"{}\" is not a depth range", clipped(text)),
        help: if is_surface {
            "readings of a cone at single depths are kind = \"cone\" in this [[points]] table; for layers of soil write where each begins \
             and ends, like \"0-6 in\""
        } else {
            "write it like \"0-6 in\" or \"15-30 cm\"; for bare numbers add depth_unit = \"in\" to this [[points]] table"
        }
        .to_owned(),
    }
}

/// `0-6`, `0 - 6"`, `0 to 6 in`, `0_15cm`; a single number `6` means from the surface.
///
/// The depth, and whether it is a single number.
fn depth_of_text(text: &str, unit: Option<&str>) -> Option<(DepthRange, bool)> {
    let plain = text
        .replace('_', "-")
        .replace(['\u{2013}', '\u{2014}', '\u{2212}'], "-");
    if let Ok(depth) = DepthRange::parse(&plain, unit) {
        return Some((depth, false));
    }
    let (bottom, own) = crate::units::split_number_and_unit(&plain)?;
    let own = if own.is_empty() { unit? } else { own };
    let metres = crate::intake::columns::roles::length_unit(own)?;
    let depth = DepthRange::new(Length::ZERO, Length::from_metres(bottom * metres))?;
    Some((depth, true))
}

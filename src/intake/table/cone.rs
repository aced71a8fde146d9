//! Cone penetrometer pushes: readings per place and depth mark become profiles and layers of cone index.

use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

use crate::analyte::{Analyte, Catalogue};
use crate::plan::BlankBelow;
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::{Length, decimal, significant};

use crate::intake::columns::Header;
use crate::intake::columns::cone_roles::{ConeForm, ConeRoles};
use crate::intake::context::Context;
use crate::intake::error::IntakeError;
use crate::intake::error::clipped;
use crate::intake::formats::delimited::{Row, text_of};
use crate::intake::survey::{ConeProfiles, PointTable};
use crate::intake::table::cell::Cell;
use crate::intake::table::cone_layers::{layer, profile_layers};
use crate::intake::table::cone_profiles::{Mark, PlacePushes, Reach};
use crate::intake::table::cone_remarks::{
    ConeTally, remark_on_moisture, remark_on_replicates, remark_on_unit,
};
use crate::intake::table::no_numbers::NoNumbers;
use crate::intake::table::result_column::NumberColumn;
use crate::intake::table::styles::Styles;
use crate::intake::table::tally::Problems;

/// Most depth marks of a file.
const MOST_MARKS: usize = 1_024;

/// Gathers readings.
pub(in crate::intake) struct ConeRows {
    form: ConeForm,
    kilopascals: f64,
    unit: Arc<str>,
    columns: Vec<NumberColumn>,
    no_numbers: Vec<NoNumbers>,
    /// Index of each place among those of the table.
    index: HashMap<(u64, u64, Option<Arc<str>>), u32>,
    places: Vec<PlacePushes>,
    raw: Vec<f64>,
    marks: BTreeSet<Mark>,
    tally: ConeTally,
    problems: Problems,
    place: Place,
}

/// What one row of a file adds to a place.
#[derive(Default)]
struct RowReadings {
    readings: Vec<(Mark, f64)>,
    stop: Option<(Mark, Stop)>,
}

/// Why a push says nothing below a mark, where the file says it.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Stop {
    Stone,
    Refused,
    Ended,
}

impl Stop {
    fn from_cell(cell: &Cell<'_>) -> Option<Self> {
        match cell {
            Cell::Stone => Some(Self::Stone),
            Cell::Refused | Cell::Above(_) => Some(Self::Refused),
            Cell::Ended => Some(Self::Ended),
            _ => None,
        }
    }
}

impl ConeRows {
    pub(in crate::intake) fn new(
        roles: &ConeRoles,
        header: &Header,
        styles: &Styles,
        context: &Context<'_>,
    ) -> Self {
        let indices: Vec<usize> = match &roles.form {
            ConeForm::Wide(marks) => marks.iter().map(|(at, _, _)| *at).collect(),
            ConeForm::Long { depth, value, .. } => vec![*depth, *value],
            ConeForm::Maximum(at) => vec![*at],
        };
        Self {
            form: roles.form.clone(),
            kilopascals: roles.kilopascals,
            unit: Arc::clone(&roles.unit),
            no_numbers: vec![NoNumbers::default(); indices.len()],
            columns: indices
                .into_iter()
                .map(|at| styles.column(header, at))
                .collect(),
            index: HashMap::new(),
            places: Vec::new(),
            raw: Vec::new(),
            marks: BTreeSet::new(),
            tally: ConeTally::default(),
            problems: Problems::default(),
            place: context.place(),
        }
    }

    pub(in crate::intake) fn number_columns(&self) -> impl Iterator<Item = &NumberColumn> {
        self.columns.iter()
    }

    /// Takes a row; gives the index of the place it belongs to (`next` for a new one).
    pub(in crate::intake) fn take(
        &mut self,
        row: &Row<'_>,
        next: u32,
        (x, y): (f64, f64),
        id: Option<&str>,
    ) -> u32 {
        let by_id = if x.is_nan() { id.map(Arc::from) } else { None };
        let key = (x.to_bits(), y.to_bits(), by_id);
        let at = *self.index.entry(key).or_insert(next);
        if at as usize >= self.places.len() {
            self.places.resize(at as usize + 1, PlacePushes::default());
        }
        let found = match self.form.clone() {
            ConeForm::Wide(marks) => self.wide(row, &marks),
            ConeForm::Long { metres, .. } => self.long(row, metres),
            ConeForm::Maximum(_) => self.maximum(row),
        };
        self.marks
            .extend(found.readings.iter().map(|(mark, _)| *mark));
        self.add(at as usize, found);
        at
    }

    fn add(&mut self, at: usize, found: RowReadings) {
        let Some(place) = self.places.get_mut(at) else {
            return;
        };
        let is_again = |mark: &Mark| place.readings.iter().any(|(own, _)| own == mark);
        let is_new_push = matches!(self.form, ConeForm::Wide(_))
            || place.count == 0
            || found.readings.iter().any(|(mark, _)| is_again(mark));
        place.count += usize::from(is_new_push);
        place.readings.extend(found.readings);
        match found.stop {
            Some((mark, Stop::Refused)) => place.refused.push(mark),
            Some((mark, Stop::Stone | Stop::Ended)) => place.excused.push(mark),
            None => {}
        }
    }

    fn maximum(&mut self, row: &Row<'_>) -> RowReadings {
        RowReadings {
            readings: self
                .reading(row, 0)
                .ok()
                .flatten()
                .map(|value| (0, value))
                .into_iter()
                .collect(),
            stop: None,
        }
    }

    fn wide(&mut self, row: &Row<'_>, marks: &[(usize, Arc<str>, Length)]) -> RowReadings {
        let mut found = RowReadings::default();
        let mut is_blank_since = false;
        let mut has_gap = false;
        for (at, (_, _, depth)) in marks.iter().enumerate() {
            let mark = (depth.metres() * 10_000.0).round() as Mark;
            self.marks.insert(mark);
            if found.stop.is_some() {
                continue;
            }
            match self.reading(row, at) {
                Ok(Some(value)) => {
                    has_gap |= is_blank_since && !found.readings.is_empty();
                    is_blank_since = false;
                    found.readings.push((mark, value));
                }
                Ok(None) => is_blank_since = true,
                Err(stop) => found.stop = Some((mark, stop)),
            }
        }
        if has_gap {
            self.tally.gaps.add(row.number);
        }
        self.note_stop(found.stop, row.number);
        self.cut_zeros(&mut found.readings, row.number);
        found
    }

    fn note_stop(&mut self, stop: Option<(Mark, Stop)>, row: u32) {
        match stop {
            Some((_, Stop::Stone)) => self.tally.stones.add(row),
            Some((_, Stop::Ended)) => self.tally.ended.add(row),
            _ => {}
        }
    }

    /// Zeros below the last reading are a push that did not reach, not soft soil.
    fn cut_zeros(&mut self, found: &mut Vec<(Mark, f64)>, row: u32) {
        let reached = found
            .iter()
            .rposition(|(_, value)| *value > 0.0)
            .map_or(0, |at| at + 1);
        if reached > 0 && reached < found.len() {
            self.tally.filled_with_zero.add(row);
            found.truncate(reached);
        }
    }

    fn long(&mut self, row: &Row<'_>, metres: f64) -> RowReadings {
        let depth = self.columns.first_mut().map(|column| column.read(row));
        let Some(Cell::Number(depth)) = depth else {
            if !matches!(
                depth,
                Some(Cell::Missing | Cell::NoNumber(_) | Cell::Unsettled)
            ) {
                self.not_a_number(row, 0);
            }
            return RowReadings::default();
        };
        if depth < 0.0 {
            self.tally.negative_depth.add(row.number);
        }
        let metres = depth.abs() * metres;
        if metres > 3.0 || self.marks.len() >= MOST_MARKS {
            let place = self.at(row.number, 0);
            self.problems.add(|| IntakeError::Depth {
                place,
                what: format!(
                    "a depth of {} m, or more than {MOST_MARKS} depths",
                    decimal(metres, 3)
                ),
                help: "is the unit of the depth right?".to_owned(),
            });
            return RowReadings::default();
        }
        let mark = (metres * 10_000.0).round() as Mark;
        let (readings, stop) = match self.reading(row, 1) {
            Ok(value) => (value.map(|value| (mark, value)), None),
            Err(stop) => (None, Some((mark, stop))),
        };
        self.note_stop(stop, row.number);
        RowReadings {
            readings: readings.into_iter().collect(),
            stop,
        }
    }

    /// One reading in kPa, nothing where there is none, or why the push ended.
    fn reading(&mut self, row: &Row<'_>, at: usize) -> Result<Option<f64>, Stop> {
        let Some(cell) = self.columns.get_mut(at).map(|column| column.read(row)) else {
            return Ok(None);
        };
        if let Some(stop) = Stop::from_cell(&cell) {
            return Err(stop);
        }
        Ok(match cell {
            Cell::Number(raw) if !crate::intake::table::cell::MISSING_CODES.contains(&raw) => {
                self.checked(raw, row, at)
            }
            Cell::Estimated(raw) | Cell::Below(raw) => self.checked(raw, row, at),
            Cell::Text | Cell::Date | Cell::WithUnit(..) => {
                self.not_a_number(row, at);
                None
            }
            Cell::NoNumber(word) => {
                if let Some(counts) = self.no_numbers.get_mut(at) {
                    counts.add(word, row.number);
                }
                None
            }
            _ => None,
        })
    }

    fn checked(&mut self, raw: f64, row: &Row<'_>, at: usize) -> Option<f64> {
        let value = raw * self.kilopascals;
        let possible = Catalogue::built_in()
            .entry(&Analyte::ConeIndex)
            .map_or((0.0, f64::INFINITY), |entry| entry.possible);
        if value < possible.0 || value > possible.1 {
            let place = self.at(row.number, at);
            let hint = format!("; the plan or the file says {}, is that right?", self.unit);
            self.problems.add(|| IntakeError::Impossible {
                place,
                value: significant(value, 5),
                unit: "kPa".to_owned(),
                analyte: "cone index".to_owned(),
                low: significant(possible.0, 5),
                high: significant(possible.1, 5),
                hint,
            });
            return None;
        }
        self.raw.push(raw);
        Some(value)
    }

    fn not_a_number(&mut self, row: &Row<'_>, at: usize) {
        let Some(column) = self.columns.get(at) else {
            return;
        };
        let text = clipped(&text_of(row.cell(column.index)).0);
        let place = self.at(row.number, at);
        self.problems.add(|| IntakeError::NotANumber {
            place,
            text,
            help: "write the reading, leave the cell empty, or write stone".to_owned(),
        });
    }

    fn at(&self, row: u32, column: usize) -> Place {
        let place = self.place.clone().at_row(row);
        self.columns.get(column).map_or_else(
            || place.clone(),
            |column| place.clone().in_column(Arc::clone(&column.name)),
        )
    }

    /// Profiles and layers, after the last row.
    pub(in crate::intake) fn finish(mut self, table: &mut PointTable, context: &mut Context<'_>) {
        context.errors.extend(
            std::mem::take(&mut self.problems)
                .into_errors(self.place.clone(), "readings that cannot be used"),
        );
        self.places.resize(table.x.len(), PlacePushes::default());
        for (column, counts) in self.columns.iter().zip(&self.no_numbers) {
            context
                .remarks
                .extend(counts.remark(&context.column(&column.name)));
        }
        let reach = self.reach(context);
        let width = self.marks.len();
        let mut kilopascals = vec![f64::NAN; self.places.len() * width];
        let refused: Vec<Option<Mark>> = self
            .places
            .iter_mut()
            .zip(kilopascals.chunks_mut(width.max(1)))
            .map(|(place, out)| place.profile(&self.marks, reach, out))
            .collect();
        self.remark(reach, &refused, table, context);
        if let ConeForm::Maximum(_) = self.form {
            let name = self
                .columns
                .first()
                .map_or_else(|| "".into(), |column| Arc::clone(&column.name));
            table
                .layers
                .push(layer("profile-maximum", None, name, kilopascals));
            return;
        }
        let length = |mark: &Mark| Length::from_metres(f64::from(*mark) / 10_000.0);
        let depths: Vec<Length> = self.marks.iter().map(length).collect();
        let is_refused: Vec<bool> = refused.iter().map(Option::is_some).collect();
        let layers = profile_layers(&self.form, &depths, &kilopascals, &is_refused, context);
        table.layers.extend(layers);
        let moisture = context
            .settings
            .cone
            .as_ref()
            .and_then(|cone| cone.moisture.clone());
        table.cone = Some(ConeProfiles {
            depths,
            kilopascals,
            refused: refused
                .iter()
                .map(|mark| mark.as_ref().map(length))
                .collect(),
            moisture,
        });
    }

    /// How deep the pushes were meant to go; a blank below the last reading says nothing where the plan says so.
    fn reach(&self, context: &Context<'_>) -> Reach {
        let says_nothing = context
            .settings
            .cone
            .as_ref()
            .is_some_and(|cone| cone.blank_below == BlankBelow::NotPushed);
        match &self.form {
            _ if says_nothing => Reach::UNKNOWN,
            ConeForm::Wide(_) => Reach::of_columns(&self.places),
            ConeForm::Long { .. } => Reach::of_rows(&self.places),
            ConeForm::Maximum(_) => Reach::UNKNOWN,
        }
    }

    fn remark(
        &mut self,
        reach: Reach,
        refused: &[Option<Mark>],
        table: &PointTable,
        context: &mut Context<'_>,
    ) {
        let counts: Vec<usize> = self.places.iter().map(|place| place.count).collect();
        let last = self.places.iter().filter_map(PlacePushes::last).max();
        for ((place, refused), row) in self.places.iter().zip(refused).zip(&table.row) {
            let is_short = place.last() < last && place.excused.is_empty();
            if refused.is_some() {
                self.tally.refused.add(*row);
            } else if is_short && !matches!(self.form, ConeForm::Maximum(_)) {
                self.tally.ended.add(*row);
            }
        }
        self.remark_on_depths_not_reached(last, context);
        remark_on_replicates(&counts, context);
        self.tally.report(reach.deepest, context);
        remark_on_moisture(context);
        remark_on_unit(&mut self.raw, &self.unit, context);
    }
    /// Columns below the deepest reading of the whole file: nothing tells a hard layer from pushes that were ended.
    fn remark_on_depths_not_reached(&self, last: Option<Mark>, context: &mut Context<'_>) {
        let ConeForm::Wide(marks) = &self.form else {
            return;
        };
        let is_below = |depth: &Length| {
            last.is_none_or(|last| depth.metres() * 10_000.0 > f64::from(last) + 0.5)
        };
        let names: Vec<String> = marks
            .iter()
            .filter(|(_, _, depth)| is_below(depth))
            .map(|(_, name, _)| format!("\"{name}\""))
            .collect();
        if !names.is_empty() {
            let what = format!(
                "no push has a reading in {}: nothing says whether the soil was too hard there or nobody pushed that deep",
                names.join(", ")
            );
            let remark = Remark::warning("cone-not-reached", what).at(context.place());
            context.remarks.push(
                remark.help("where the soil was too hard, write \"refused\" in the cell below the last reading of such a push"),
            );
        }
    }
}

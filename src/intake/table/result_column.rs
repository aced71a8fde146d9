//! Fills one column of results, cell by cell, in the canonical unit.

use std::sync::Arc;

use crate::analyte::{Analyte, Catalogue, DepthRange, UnitRefusal};
use crate::plan::BelowDetection;
use crate::provenance::Place;
use crate::units::significant;

use crate::intake::columns::ResultColumn;
use crate::intake::columns::result_unit::{ResultUnit, refused_unit};
use crate::intake::context::ReadingRules;
use crate::intake::error::{IntakeError, clipped};
use crate::intake::formats::delimited::{Row, text_of};
use crate::intake::survey::Qualifier;
use crate::intake::table::cell::{Cell, MISSING_CODES, plain_cell, read_cell};
use crate::intake::table::no_numbers::NoNumbers;
use crate::intake::table::number_style::{NumberStyle, Signs};
use crate::intake::table::tally::{Problems, RowTally};

/// A column from which numbers are read.
#[derive(Debug)]
pub(in crate::intake) struct NumberColumn {
    /// Index in the row.
    pub index: usize,
    /// Name in the file.
    pub name: Arc<str>,
    /// How its numbers are written.
    pub style: NumberStyle,
    /// What its cells tell of that.
    pub signs: Signs,
    /// Texts that the plan says mean no result.
    pub na: Vec<String>,
}

impl NumberColumn {
    pub(in crate::intake) fn new(
        index: usize,
        name: Arc<str>,
        style: NumberStyle,
        is_watching_points: bool,
    ) -> Self {
        Self {
            index,
            name,
            style,
            signs: Signs::new(is_watching_points),
            na: Vec::new(),
        }
    }

    /// The number in the cell of a row, where it is plain; most cells of a long file are.
    #[inline]
    pub(in crate::intake) fn plain(&self, row: &Row<'_>) -> Option<f64> {
        if !self.na.is_empty() {
            return None;
        }
        plain_cell(row.cell(self.index), self.style, &self.signs)
    }

    /// The cell of a row.
    #[inline]
    pub(in crate::intake) fn read<'r>(&mut self, row: &Row<'r>) -> Cell<'r> {
        self.signs.row = row.number;
        if !self.na.is_empty() {
            let text = text_of(row.cell(self.index).trim_ascii()).0;
            if self.na.iter().any(|na| *na == text.trim()) {
                return Cell::Missing;
            }
        }
        read_cell(row.cell(self.index), self.style, &mut self.signs)
    }
}

/// The ways out where a cell holds no number.
const NO_NUMBER_HELP: &str = "correct the cell, leave it empty, say na = [\"...\"] in the plan for a word that means no result, \
                              or leave the column out with ignore";

/// One column of results being filled.
#[derive(Debug)]
pub(in crate::intake) struct Filling {
    /// What it is.
    pub spec: ResultColumn,
    /// How it is read.
    pub number: NumberColumn,
    /// One value per row kept.
    pub values: Vec<f64>,
    /// `RowTally` with a qualifier.
    pub qualified: Vec<(u32, Qualifier)>,
    /// `RowTally` with a logger's code for no reading.
    pub coded: RowTally,
    /// `RowTally` outside the plausible range.
    pub odd: RowTally,
    /// Cells with a program's word for no number.
    pub no_numbers: NoNumbers,
    possible: (f64, f64),
    plausible: (f64, f64),
    place: Place,
    texts: Problems,
    dates: Problems,
    impossible: Problems,
    units: Problems,
}

/// What bears on the reading of one cell.
pub(in crate::intake) struct CellContext<'a> {
    /// The plan's rules.
    pub rules: &'a ReadingRules,
    /// Bulk density to use.
    pub bulk_density: f64,
    /// Depth of the row.
    pub depth: Option<DepthRange>,
}

impl Filling {
    pub(in crate::intake) fn new(spec: ResultColumn, number: NumberColumn, place: Place) -> Self {
        let entry = Catalogue::built_in().entry(&spec.analyte);
        let everything = (f64::NEG_INFINITY, f64::INFINITY);
        let possible = entry.map_or(everything, |entry| entry.possible);
        let plausible = entry.map_or(everything, |entry| entry.plausible);
        Self {
            spec,
            number,
            values: Vec::new(),
            qualified: Vec::new(),
            coded: RowTally::default(),
            odd: RowTally::default(),
            no_numbers: NoNumbers::default(),
            possible,
            plausible,
            place,
            texts: Problems::default(),
            dates: Problems::default(),
            impossible: Problems::default(),
            units: Problems::default(),
        }
    }

    /// Reads the cell of a row and keeps it as the value at `at` (the row's index among those kept).
    #[inline]
    pub(in crate::intake) fn take(&mut self, row: &Row<'_>, at: u32, context: &CellContext<'_>) {
        if self.spec.qualifier.is_none()
            && let Some(number) = self.number.plain(row)
            && let Some(factor) = self
                .spec
                .unit
                .factor(self.spec.depth.or(context.depth), context.bulk_density)
        {
            let value = self.number(number, factor, row.number);
            self.put(at, value);
            return;
        }
        let cell = self.number.read(row);
        let cell = match self.spec.qualifier {
            Some(index) => with_qualifier(cell, row.cell(index)),
            None => cell,
        };
        self.note(&cell, row.cell(self.spec.index), row.number);
        let value = self.value_of(&cell, row.number, at, context);
        self.put(at, value);
    }

    /// Adds the same column of later rows; `rows` is how many were kept so far.
    pub(in crate::intake) fn join(&mut self, later: Self, rows: usize) {
        self.number.signs.join(&later.number.signs);
        self.values.resize(rows, f64::NAN);
        self.values.extend_from_slice(&later.values);
        self.qualified.extend(
            later
                .qualified
                .into_iter()
                .map(|(at, qualifier)| (at + rows as u32, qualifier)),
        );
        self.coded.join(&later.coded);
        self.odd.join(&later.odd);
        self.no_numbers.join(&later.no_numbers);
        self.texts.join(later.texts);
        self.dates.join(later.dates);
        self.impossible.join(later.impossible);
        self.units.join(later.units);
    }

    /// Keeps a value; rows in between have none.
    pub(in crate::intake) fn put(&mut self, at: u32, value: f64) {
        let at = at as usize;
        if self.values.len() < at {
            self.values.resize(at, f64::NAN);
        }
        match self.values.get_mut(at) {
            Some(slot) => *slot = value,
            None => self.values.push(value),
        }
    }

    /// The canonical value of a cell; qualifiers and problems are noted.
    pub(in crate::intake) fn value_of(
        &mut self,
        cell: &Cell<'_>,
        row: u32,
        at: u32,
        context: &CellContext<'_>,
    ) -> f64 {
        let Some(factor) = self
            .spec
            .unit
            .factor(self.spec.depth.or(context.depth), context.bulk_density)
        else {
            return if matches!(cell, Cell::Missing | Cell::NoNumber(_)) {
                f64::NAN
            } else {
                self.no_depth(row)
            };
        };
        match *cell {
            Cell::Number(number) => self.number(number, factor, row),
            Cell::Below(limit) => {
                self.qualified.push((at, Qualifier::Below(limit * factor)));
                let rule = counts_as(&self.spec.analyte, context.rules.below_detection);
                let value = below(limit, rule);
                self.checked(value, factor, row)
            }
            Cell::BelowUnknown => {
                self.qualified.push((at, Qualifier::BelowUnknown));
                f64::NAN
            }
            Cell::Above(limit) => {
                self.qualified.push((at, Qualifier::Above(limit * factor)));
                self.checked(limit, factor, row)
            }
            Cell::Estimated(number) => {
                self.qualified.push((at, Qualifier::Estimated));
                self.checked(number, factor, row)
            }
            Cell::WithUnit(number, unit) => self.with_unit(number, unit, factor, row, context),
            Cell::Missing | Cell::NoNumber(_) | Cell::Stone | Cell::Refused | Cell::Ended => {
                f64::NAN
            }
            Cell::Text | Cell::Unsettled | Cell::Date => f64::NAN,
        }
    }

    /// Notes what stands where a number belongs and is none.
    pub(in crate::intake) fn note(&mut self, cell: &Cell<'_>, bytes: &[u8], row: u32) {
        match cell {
            Cell::NoNumber(word) => self.no_numbers.add(*word, row),
            Cell::Text
            | Cell::Stone
            | Cell::Refused
            | Cell::Ended
            | Cell::Unsettled
            | Cell::Date => {
                self.note_text(cell, &text_of(bytes).0, row);
            }
            _ => {}
        }
    }

    fn note_text(&mut self, cell: &Cell<'_>, text: &str, row: u32) {
        let place = self.at(row);
        let text = clipped(text);
        match cell {
            Cell::Text | Cell::Stone | Cell::Refused | Cell::Ended | Cell::Unsettled => {
                self.texts.add(|| IntakeError::NotANumber {
                    place,
                    text,
                    help: NO_NUMBER_HELP.to_owned(),
                });
            }
            Cell::Date => self
                .dates
                .add(|| IntakeError::SpreadsheetDate { place, text }),
            _ => {}
        }
    }

    fn number(&mut self, number: f64, factor: f64, row: u32) -> f64 {
        if (number <= -999.0 || number == 9999.0)
            && MISSING_CODES.contains(&number)
            && !self.is_plausible(number * factor)
        {
            self.coded.add(row);
            return f64::NAN;
        }
        self.checked(number, factor, row)
    }

    /// For an analyte without a range, no code is plausible.
    fn is_plausible(&self, value: f64) -> bool {
        self.plausible.1.is_finite() && value >= self.plausible.0 && value <= self.plausible.1
    }

    fn checked(&mut self, number: f64, factor: f64, row: u32) -> f64 {
        let value = number * factor;
        if value < self.possible.0 || value > self.possible.1 {
            let error = self.impossible_value(number, value, row);
            self.impossible.add(|| error);
            return f64::NAN;
        }
        if value < self.plausible.0 || value > self.plausible.1 {
            self.odd.add(row);
        }
        value
    }

    fn with_unit(
        &mut self,
        number: f64,
        unit: &str,
        factor: f64,
        row: u32,
        context: &CellContext<'_>,
    ) -> f64 {
        let own =
            match Catalogue::built_in().conversion(&self.spec.analyte, unit, &context.rules.crop) {
                Ok(conversion) => ResultUnit {
                    text: Some(unit.to_owned()),
                    conversion,
                    canonical: Arc::clone(&self.spec.unit.canonical),
                },
                Err(refusal) => return self.refuse_unit(unit, &refusal, row),
            };
        let Some(own_factor) = own.factor(self.spec.depth.or(context.depth), context.bulk_density)
        else {
            return self.no_depth(row);
        };
        if let Some(declared) = &self.spec.unit.text
            && (own_factor / factor - 1.0).abs() > 1e-6
        {
            let (place, declared, unit) = (self.at(row), declared.clone(), unit.to_owned());
            self.units.add(|| IntakeError::UnitConflict {
                place,
                one: declared,
                one_from: "of the column",
                other: unit,
                other_from: "in the cell",
                help: "",
            });
            return f64::NAN;
        }
        self.number(number, own_factor, row)
    }

    fn refuse_unit(&mut self, unit: &str, refusal: &UnitRefusal, row: u32) -> f64 {
        let error = refused_unit(self.at(row), &self.spec.analyte, unit, refusal);
        self.units.add(|| error);
        f64::NAN
    }

    fn no_depth(&mut self, row: u32) -> f64 {
        let error = IntakeError::Depth {
            place: self.at(row),
            what: format!(
                "a result in {} without a sampling depth",
                self.spec.unit.text.as_deref().unwrap_or("mass per area")
            ),
            help: "fill in the depth, or give depth = \"0-6 in\" in the plan".to_owned(),
        };
        self.units.add(|| error);
        f64::NAN
    }

    fn at(&self, row: u32) -> Place {
        self.place.clone().at_row(row)
    }

    fn impossible_value(&self, number: f64, value: f64, row: u32) -> IntakeError {
        let show = |value: f64| significant(value, 5);
        IntakeError::Impossible {
            place: self.at(row),
            value: show(value),
            unit: self.spec.unit.canonical.to_string(),
            analyte: self.spec.analyte.label(),
            low: show(self.possible.0),
            high: show(self.possible.1),
            hint: mistaken_unit(&self.spec.analyte, number, self.plausible).map_or_else(
                || "; correct it, or leave the cell empty where there is no result".to_owned(),
                |unit| format!("; is the column in {unit}?"),
            ),
        }
    }

    /// All problems of the column.
    pub(in crate::intake) fn take_errors(&mut self) -> Vec<IntakeError> {
        let take = std::mem::take::<Problems>;
        let mut errors =
            take(&mut self.texts).into_errors(self.place.clone(), "text where a number belongs");
        errors.extend(
            take(&mut self.dates).into_errors(self.place.clone(), "dates where a number belongs"),
        );
        errors
            .extend(take(&mut self.units).into_errors(self.place.clone(), "units that do not fit"));
        errors.extend(
            take(&mut self.impossible)
                .into_errors(self.place.clone(), "values outside the possible range"),
        );
        errors
    }
}

/// What results of an analyte below a limit count as. A pH is a logarithm: half of a limit, or nothing, is another soil, so there the limit
/// stands for both.
pub(in crate::intake) fn counts_as(analyte: &Analyte, rule: BelowDetection) -> BelowDetection {
    let is_logarithm = matches!(analyte, Analyte::Ph | Analyte::BufferPh);
    let is_share_of_limit = matches!(rule, BelowDetection::Half | BelowDetection::Zero);
    if is_logarithm && is_share_of_limit {
        BelowDetection::Limit
    } else {
        rule
    }
}

/// What a result below a limit counts as.
fn below(limit: f64, rule: BelowDetection) -> f64 {
    match rule {
        BelowDetection::Half => limit / 2.0,
        BelowDetection::Limit => limit,
        BelowDetection::Zero => 0.0,
        BelowDetection::Missing => f64::NAN,
    }
}

/// The qualifier of a column beside the result.
fn with_qualifier<'a>(cell: Cell<'a>, beside: &[u8]) -> Cell<'a> {
    let Cell::Number(number) = cell else {
        return cell;
    };
    match beside.trim_ascii() {
        b"<" | b"U" | b"u" | b"UJ" | b"ND" | b"BDL" => Cell::Below(number),
        b">" => Cell::Above(number),
        b"J" | b"j" | b"E" => Cell::Estimated(number),
        _ => cell,
    }
}

/// An accepted unit in which a number would be plausible.
pub(in crate::intake) fn mistaken_unit(
    analyte: &Analyte,
    number: f64,
    plausible: (f64, f64),
) -> Option<String> {
    let mut found: Vec<&str> = Vec::new();
    let mut factors: Vec<f64> = Vec::new();
    for (unit, factor) in Catalogue::built_in().factors(analyte) {
        let value = number * factor;
        let is_new = !factors
            .iter()
            .any(|other| (other / factor - 1.0).abs() < 1e-9);
        if value >= plausible.0 && value <= plausible.1 && !unit.is_empty() && is_new {
            found.push(unit);
            factors.push(factor);
        }
    }
    (!found.is_empty() && found.len() <= 3).then(|| found.join(" or "))
}

//! Cone penetrometer pushes: readings per place and depth mark become profiles and layers of cone index.

use std::collections::{BTreeSet, HashMap};
use std::sync::Arc;

use crate::analyte::{Analyte, Catalogue, DepthRange, LayerKey, Method};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::units::{Length, decimal, significant};

use super::cell::Cell;
use super::columns::Header;
use super::cone_roles::{ConeForm, ConeRoles};
use super::context::Context;
use super::delimited::{Row, text_of};
use super::error::IntakeError;
use super::result_column::{NumberColumn, clipped};
use super::survey::{ConeProfiles, LayerColumn, PointTable};
use super::table::Styles;
use super::tally::{Problems, Rows};

/// Most depth marks of a file.
const MOST_MARKS: usize = 1_024;
/// Above this many marks the layers are slices of several marks.
const MOST_MARK_LAYERS: usize = 12;

/// A depth mark in tenths of a millimetre.
type Mark = u32;

/// Gathers readings.
pub(super) struct ConeRows {
    form: ConeForm,
    kilopascals: f64,
    unit: Arc<str>,
    columns: Vec<NumberColumn>,
    places: HashMap<(u64, u64, Option<Arc<str>>), u32>,
    readings: Vec<Vec<(Mark, f64)>>,
    raw: Vec<f64>,
    marks: BTreeSet<Mark>,
    pushes: Vec<u32>,
    stopped: Rows,
    filled_with_zero: Rows,
    short: Rows,
    negative_depth: Rows,
    problems: Problems,
    place: Place,
}

impl ConeRows {
    pub(super) fn new(
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
            columns: indices
                .into_iter()
                .map(|at| styles.column(header, at))
                .collect(),
            places: HashMap::new(),
            readings: Vec::new(),
            raw: Vec::new(),
            marks: BTreeSet::new(),
            pushes: Vec::new(),
            stopped: Rows::default(),
            filled_with_zero: Rows::default(),
            short: Rows::default(),
            negative_depth: Rows::default(),
            problems: Problems::default(),
            place: context.place(),
        }
    }

    pub(super) fn number_columns(&self) -> impl Iterator<Item = &NumberColumn> {
        self.columns.iter()
    }

    /// Takes a row; gives the index of the place it belongs to (`next` for a new one).
    pub(super) fn take(
        &mut self,
        row: &Row<'_>,
        next: u32,
        (x, y): (f64, f64),
        id: Option<&str>,
    ) -> u32 {
        let by_id = if x.is_nan() { id.map(Arc::from) } else { None };
        let at = *self
            .places
            .entry((x.to_bits(), y.to_bits(), by_id))
            .or_insert(next);
        if at as usize >= self.readings.len() {
            self.readings.resize(at as usize + 1, Vec::new());
            self.pushes.resize(at as usize + 1, 0);
        }
        let found = match self.form.clone() {
            ConeForm::Wide(marks) => self.wide(row, &marks),
            ConeForm::Long { metres, .. } => self.long(row, metres),
            ConeForm::Maximum(_) => self
                .reading(row, 0)
                .map(|value| (0, value))
                .into_iter()
                .collect(),
        };
        self.marks.extend(found.iter().map(|(mark, _)| *mark));
        if let (Some(own), Some(pushes)) = (
            self.readings.get_mut(at as usize),
            self.pushes.get_mut(at as usize),
        ) {
            let is_new_push = found
                .iter()
                .any(|(mark, _)| own.iter().any(|(other, _)| other == mark))
                || *pushes == 0;
            *pushes += u32::from(is_new_push);
            own.extend(found);
        }
        at
    }

    fn wide(&mut self, row: &Row<'_>, marks: &[(usize, Arc<str>, Length)]) -> Vec<(Mark, f64)> {
        let mut found = Vec::with_capacity(marks.len());
        let mut is_stopped = false;
        for (at, (_, _, depth)) in marks.iter().enumerate() {
            let mark = (depth.metres() * 10_000.0).round() as Mark;
            self.marks.insert(mark);
            if is_stopped {
                continue;
            }
            match self.reading(row, at) {
                Some(value) => found.push((mark, value)),
                None => is_stopped = self.stopped_at(row, at),
            }
        }
        if found.len() < marks.len() {
            self.short.add(row.number);
        }
        self.cut_zeros(found, row.number)
    }

    /// Whether the cell that gave no reading says that the push ended there.
    fn stopped_at(&mut self, row: &Row<'_>, at: usize) -> bool {
        let is_stop = self
            .columns
            .get_mut(at)
            .is_some_and(|column| matches!(column.read(row), Cell::Stopped | Cell::Above(_)));
        if is_stop {
            self.stopped.add(row.number);
        }
        is_stop
    }

    /// Zeros below the last reading are a push that did not reach, not soft soil.
    fn cut_zeros(&mut self, mut found: Vec<(Mark, f64)>, row: u32) -> Vec<(Mark, f64)> {
        let reached = found
            .iter()
            .rposition(|(_, value)| *value > 0.0)
            .map_or(0, |at| at + 1);
        if reached > 0 && reached < found.len() {
            self.filled_with_zero.add(row);
            found.truncate(reached);
        }
        found
    }

    fn long(&mut self, row: &Row<'_>, metres: f64) -> Vec<(Mark, f64)> {
        let depth = self.columns.first_mut().map(|column| column.read(row));
        let Some(Cell::Number(depth)) = depth else {
            if !matches!(depth, Some(Cell::Missing | Cell::Unsettled)) {
                self.not_a_number(row, 0);
            }
            return Vec::new();
        };
        if depth < 0.0 {
            self.negative_depth.add(row.number);
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
            return Vec::new();
        }
        if let Some(value) = self.reading(row, 1) {
            return vec![((metres * 10_000.0).round() as Mark, value)];
        }
        self.stopped_at(row, 1);
        Vec::new()
    }

    /// One reading in kPa; `None` where there is none.
    fn reading(&mut self, row: &Row<'_>, at: usize) -> Option<f64> {
        match self.columns.get_mut(at)?.read(row) {
            Cell::Number(raw) if !super::cell::MISSING_CODES.contains(&raw) => {
                self.checked(raw, row, at)
            }
            Cell::Estimated(raw) | Cell::Below(raw) => self.checked(raw, row, at),
            Cell::Text | Cell::Date | Cell::WithUnit(..) => {
                self.not_a_number(row, at);
                None
            }
            _ => None,
        }
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
    pub(super) fn finish(mut self, table: &mut PointTable, context: &mut Context<'_>) {
        context.errors.extend(
            std::mem::take(&mut self.problems)
                .into_errors(self.place.clone(), "readings that cannot be used"),
        );
        self.remark(context);
        let marks: Vec<Mark> = self.marks.iter().copied().collect();
        let width = marks.len();
        self.readings.resize(table.x.len(), Vec::new());
        let mut kilopascals = vec![f64::NAN; self.readings.len() * width];
        for (own, out) in self
            .readings
            .iter_mut()
            .zip(kilopascals.chunks_mut(width.max(1)))
        {
            medians(own, &marks, out);
        }
        if let ConeForm::Maximum(at) = self.form {
            let name: Arc<str> = self
                .columns
                .first()
                .map_or_else(|| at.to_string().into(), |column| Arc::clone(&column.name));
            table
                .layers
                .push(layer("profile-maximum", None, name, kilopascals));
            return;
        }
        let lengths: Vec<Length> = marks
            .iter()
            .map(|mark| Length::from_metres(f64::from(*mark) / 10_000.0))
            .collect();
        table
            .layers
            .extend(self.layers(&lengths, &kilopascals, context));
        let moisture = context
            .settings
            .cone
            .as_ref()
            .and_then(|cone| cone.moisture.clone());
        table.cone = Some(ConeProfiles {
            depths: lengths,
            kilopascals,
            moisture,
        });
    }

    /// One layer per mark (or slice of marks), and the maximum over the whole depth.
    fn layers(
        &self,
        marks: &[Length],
        kilopascals: &[f64],
        context: &mut Context<'_>,
    ) -> Vec<LayerColumn> {
        let width = marks.len();
        let (Some(first), Some(last)) = (marks.first(), marks.last()) else {
            return Vec::new();
        };
        let edges = slices(marks);
        if edges.len() < marks.iter().filter(|mark| mark.metres() > 0.0).count() {
            let what = format!(
                "{width} depth marks: the layers are the means of {} slices; the profiles are kept in full",
                edges.len()
            );
            context
                .remarks
                .push(Remark::info("cone-slices", what).at(context.place()));
        }
        let mut layers = Vec::new();
        let mut top = Length::ZERO;
        for bottom in edges {
            let inside: Vec<usize> = (0..width)
                .filter(|at| {
                    marks.get(*at).is_some_and(|mark| {
                        mark.metres() > top.metres() && mark.metres() <= bottom.metres()
                    })
                })
                .collect();
            let values = kilopascals
                .chunks(width)
                .map(|push| mean(inside.iter().filter_map(|at| push.get(*at))))
                .collect();
            let name = self.slice_name(&inside, marks);
            layers.extend(
                DepthRange::new(top, bottom)
                    .map(|depth| layer("profile", Some(depth), name, values)),
            );
            top = bottom;
        }
        let largest = kilopascals
            .chunks(width)
            .map(|push| push.iter().copied().fold(f64::NAN, f64::max))
            .collect();
        let name = format!(
            "largest of {width} readings from {} to {} cm",
            decimal(first.metres() * 100.0, 1),
            decimal(last.metres() * 100.0, 1)
        );
        layers.extend(
            DepthRange::new(Length::ZERO, *last)
                .map(|depth| layer("profile-maximum", Some(depth), name.into(), largest)),
        );
        layers
    }

    fn slice_name(&self, inside: &[usize], marks: &[Length]) -> Arc<str> {
        match (&self.form, inside) {
            (ConeForm::Wide(named), [at]) => {
                let near = |depth: &Length| {
                    marks
                        .get(*at)
                        .is_some_and(|mark| (mark.metres() - depth.metres()).abs() < 1e-4)
                };
                named
                    .iter()
                    .find(|(_, _, depth)| near(depth))
                    .map_or_else(|| "reading".into(), |(_, name, _)| Arc::clone(name))
            }
            (ConeForm::Long { .. }, [at]) => {
                let depth = marks.get(*at).map_or(0.0, |mark| mark.metres() * 100.0);
                format!("reading at {} cm", decimal(depth, 1)).into()
            }
            _ => format!("mean of {} readings", inside.len()).into(),
        }
    }

    fn remark(&mut self, context: &mut Context<'_>) {
        let place = context.place();
        let replicated = self.pushes.iter().filter(|count| **count > 1).count();
        if replicated > 0 {
            let pushes: u32 = self.pushes.iter().sum();
            let what = format!(
                "{pushes} pushes at {} places: the median of the pushes is used at each depth",
                self.pushes.len()
            );
            context
                .remarks
                .push(Remark::info("cone-replicates", what).at(place.clone()));
        }
        if self.stopped.count() > 0 {
            let what = format!(
                "{} met a stone or went over the range: missing from there on, not counted as soil",
                self.stopped.show()
            );
            context.remarks.push(
                Remark::warning("cone-stopped", what)
                    .at(place.clone())
                    .help("push again beside the stone"),
            );
        }
        if self.filled_with_zero.count() > 0 {
            let what = format!(
                "{} with zeros below the last reading: taken as not reached, not as soft soil",
                self.filled_with_zero.show()
            );
            context.remarks.push(
                Remark::warning("cone-zeros", what)
                    .at(place.clone())
                    .help("leave the cells empty where the push did not reach"),
            );
        }
        let only_short = self.short.count().saturating_sub(self.stopped.count());
        if only_short > 0 {
            let what = format!(
                "{only_short} pushes lack a reading at one depth or more ({}): missing there",
                self.short.show()
            );
            context
                .remarks
                .push(Remark::info("cone-short", what).at(place.clone()));
        }
        if self.negative_depth.count() > 0 {
            let what = format!(
                "{} negative depths, taken as below the surface",
                self.negative_depth.count()
            );
            context
                .remarks
                .push(Remark::info("cone-negative-depth", what).at(place.clone()));
        }
        Self::remark_on_moisture(context);
        self.remark_on_unit(context);
    }

    fn remark_on_moisture(context: &mut Context<'_>) {
        let moisture = context
            .settings
            .cone
            .as_ref()
            .and_then(|cone| cone.moisture.clone());
        let remark = match moisture.as_deref().map(str::to_lowercase) {
            None => Remark::warning("cone-moisture-not-given", "nothing says how wet the soil was; a reading means little without it")
                .help("add moisture = \"field capacity\" (or what the operator noted) to this [[points]] table"),
            Some(text) if text.contains("dry") => {
                Remark::warning("cone-dry-soil", format!("read in soil noted as \"{text}\": readings are an upper bound"))
                    .help("push again near field capacity before paying for loosening")
            }
            Some(_) => return,
        };
        context.remarks.push(remark.at(context.place()));
    }

    /// Contradicts a declared unit where the median speaks for another; never chooses one.
    fn remark_on_unit(&mut self, context: &mut Context<'_>) {
        self.raw.sort_by(f64::total_cmp);
        let Some(&median) = self.raw.get(self.raw.len() / 2) else {
            return;
        };
        let looks_like = match median {
            m if (0.3..=6.0).contains(&m) => "MPa",
            m if (60.0..600.0).contains(&m) => "psi",
            m if (700.0..=5_000.0).contains(&m) => "kPa",
            _ => return,
        };
        let fits = match self.unit.to_ascii_lowercase().as_str() {
            "mpa" => looks_like == "MPa",
            "psi" => looks_like == "psi",
            "kpa" => looks_like == "kPa" || median >= 400.0,
            _ => true,
        };
        if !fits {
            let what = format!(
                "the median reading is {}; that is usual in {looks_like}, but the unit is {}",
                significant(median, 4),
                self.unit
            );
            context.remarks.push(
                Remark::warning("unit-mistake", what)
                    .at(context.place())
                    .help(format!(
                        "if the readings are in {looks_like}, set unit = \"{looks_like}\""
                    )),
            );
        }
    }
}

fn layer(
    method: &str,
    depth: Option<DepthRange>,
    column: Arc<str>,
    values: Vec<f64>,
) -> LayerColumn {
    let key = LayerKey::new(Analyte::ConeIndex, Some(Method::new(method)), depth);
    LayerColumn {
        key,
        column,
        unit: "kPa".into(),
        values,
        qualified: Vec::new(),
        derived: false,
    }
}

/// Median of the readings of one place at each mark.
fn medians(readings: &mut [(Mark, f64)], marks: &[Mark], out: &mut [f64]) {
    readings.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut rest: &[(Mark, f64)] = readings;
    for (mark, out) in marks.iter().zip(out) {
        let start = rest.partition_point(|(own, _)| own < mark);
        let end = rest.partition_point(|(own, _)| own <= mark);
        let own = rest.get(start..end).unwrap_or_default();
        let half = own.len() / 2;
        *out = match (own.get(half), own.len() % 2) {
            (None, _) => f64::NAN,
            (Some((_, middle)), 1) => *middle,
            (Some((_, upper)), _) => own
                .get(half - 1)
                .map_or(*upper, |(_, lower)| f64::midpoint(*lower, *upper)),
        };
        rest = rest.get(end..).unwrap_or_default();
    }
}

fn mean<'a>(values: impl Iterator<Item = &'a f64>) -> f64 {
    let finite: Vec<f64> = values.copied().filter(|v| v.is_finite()).collect();
    if finite.is_empty() {
        f64::NAN
    } else {
        finite.iter().sum::<f64>() / finite.len() as f64
    }
}

/// Lower edges of the layers: each mark, or slices of 3 in (7.5 cm where the marks are metric) where there are many.
fn slices(marks: &[Length]) -> Vec<Length> {
    let below: Vec<Length> = marks
        .iter()
        .copied()
        .filter(|mark| mark.metres() > 0.0)
        .collect();
    let (Some(last), true) = (below.last().copied(), below.len() > MOST_MARK_LAYERS) else {
        return below;
    };
    let is_inches = below
        .iter()
        .all(|mark| ((mark.metres() / 0.0127).round() * 0.0127 - mark.metres()).abs() < 2e-4);
    let step = if is_inches { 0.0762 } else { 0.075 };
    let count = ((last.metres() / step) - 1e-6).ceil().max(1.0) as usize;
    (1..=count.min(64))
        .map(|n| {
            if n == count {
                last
            } else {
                Length::from_metres(step * n as f64)
            }
        })
        .collect()
}

//! A long table of results: each row is one result; rows of one sample and depth become one row of the table.

use std::collections::HashMap;
use std::sync::Arc;

use crate::analyte::{Analyte, DepthRange, LayerKey, Meaning, NamedResult, meaning_of};
use crate::plan::ColumnMeaning;
use crate::provenance::Place;
use crate::remark::Remark;

use crate::intake::columns::check_name;
use crate::intake::columns::result_unit::{IN_THE_PLAN, ResultUnit, check_per_area, resolve_unit};
use crate::intake::columns::table_roles::LongRoles;
use crate::intake::columns::{Header, ResultColumn, plan_line};
use crate::intake::context::Context;
use crate::intake::error::IntakeError;
use crate::intake::formats::delimited::{Row, text_of};
use crate::intake::table::cell::Cell;
use crate::intake::table::result_column::{CellContext, Filling, NumberColumn};
use crate::intake::table::styles::Styles;
use crate::intake::table::tally::RowTally;

/// Most different analytes in a long table.
const MOST_ANALYTES: usize = 1_000;

type SampleKey = (u64, u64, Option<Arc<str>>, Option<DepthRange>);

/// Gathers the rows of a long table.
pub(in crate::intake) struct LongRows {
    roles: LongRoles,
    value: NumberColumn,
    samples: HashMap<SampleKey, u32>,
    columns: HashMap<Vec<u8>, Option<usize>>,
    fillings: Vec<Filling>,
    unknown: Vec<String>,
    doubles: RowTally,
    /// A context of its own: columns are found while rows are read.
    found: Found,
}

/// What is said while columns are found.
struct Found {
    settings: crate::plan::PointsSettings,
    rules: crate::intake::context::ReadingRules,
    remarks: Vec<Remark>,
    errors: Vec<IntakeError>,
    place: Place,
    has_depth: bool,
}

impl LongRows {
    pub(in crate::intake) fn new(
        roles: &LongRoles,
        header: &Header,
        styles: &Styles,
        context: &Context<'_>,
    ) -> Self {
        Self {
            roles: roles.clone(),
            value: styles.column(header, roles.value),
            samples: HashMap::new(),
            columns: HashMap::new(),
            fillings: Vec::new(),
            unknown: Vec::new(),
            doubles: RowTally::default(),
            found: Found {
                settings: context.settings.clone(),
                rules: context.rules.clone(),
                remarks: Vec::new(),
                errors: Vec::new(),
                place: context.place(),
                has_depth: false,
            },
        }
    }

    pub(in crate::intake) fn number_columns(&self) -> impl Iterator<Item = &NumberColumn> {
        std::iter::once(&self.value)
    }

    /// Takes a row; gives the index of the sample it belongs to (`next` for a new one), nothing for a row that is not used.
    pub(in crate::intake) fn take(
        &mut self,
        row: &Row<'_>,
        next: u32,
        place: (f64, f64),
        id: Option<&str>,
        depth: Option<DepthRange>,
        context: &CellContext<'_>,
    ) -> Option<u32> {
        let column = self.column(row, depth.is_some())?;
        let id = id.filter(|id| !id.is_empty()).map(Arc::from);
        let key = (place.0.to_bits(), place.1.to_bits(), id, depth);
        let at = *self.samples.entry(key).or_insert(next);
        let cell = self.value.read(row);
        let filling = self.fillings.get_mut(column)?;
        if filling
            .values
            .get(at as usize)
            .is_some_and(|value| value.is_finite())
        {
            self.doubles.add(row.number);
            return Some(at);
        }
        filling.note(&cell, row.cell(self.roles.value), row.number);
        let cell = match (self.roles.qualifier, &cell) {
            (Some(index), Cell::Number(number)) if row.cell(index).trim_ascii() == b"<" => {
                Cell::Below(*number)
            }
            (Some(index), Cell::Number(number)) if row.cell(index).trim_ascii() == b">" => {
                Cell::Above(*number)
            }
            _ => cell,
        };
        let value = filling.value_of(&cell, row.number, at, context);
        filling.put(at, value);
        Some(at)
    }

    /// The column that a row's analyte, unit and method make.
    fn column(&mut self, row: &Row<'_>, has_depth: bool) -> Option<usize> {
        self.found.has_depth |= has_depth;
        let mut key = row.cell(self.roles.analyte).trim_ascii().to_vec();
        for part in [self.roles.unit, self.roles.method].into_iter().flatten() {
            key.push(0);
            key.extend_from_slice(row.cell(part).trim_ascii());
        }
        if let Some(known) = self.columns.get(&key) {
            return *known;
        }
        let text = |at: Option<usize>| {
            at.map(|at| text_of(row.cell(at).trim_ascii()).0.trim().to_owned())
                .filter(|text| !text.is_empty())
        };
        let name = text(Some(self.roles.analyte)).unwrap_or_default();
        let spec = if self.columns.len() < MOST_ANALYTES {
            self.found.column(
                &name,
                text(self.roles.unit).as_deref(),
                text(self.roles.method).as_deref(),
                &self.value,
            )
        } else {
            None
        };
        if spec.is_none()
            && !name.is_empty()
            && !self.unknown.contains(&name)
            && self.unknown.len() < MOST_ANALYTES
        {
            self.unknown.push(name);
        }
        let index = spec.map(|spec| {
            let mut number = NumberColumn::new(
                self.roles.value,
                Arc::clone(&self.value.name),
                self.value.style,
                false,
            );
            number.signs.is_said = self.value.signs.is_said;
            number.na.clone_from(&self.value.na);
            let place = self.found.place.clone().in_column(Arc::clone(&spec.name));
            self.fillings.push(Filling::new(spec, number, place));
            self.fillings.len() - 1
        });
        if self.columns.len() < MOST_ANALYTES {
            self.columns.insert(key, index);
        }
        index
    }

    /// The columns, after the last row.
    pub(in crate::intake) fn finish(self, context: &mut Context<'_>) -> Vec<Filling> {
        context.remarks.extend(self.found.remarks);
        context.errors.extend(self.found.errors);
        for (name, meaning) in &context.settings.columns {
            if !self
                .fillings
                .iter()
                .any(|filling| *filling.spec.name == **name)
            {
                let what = format!(
                    "no row holds the analyte \"{name}\" that the plan names as {}",
                    meaning.analyte
                );
                context
                    .remarks
                    .push(Remark::warning("analyte-not-in-file", what).at(context.place()));
            }
        }
        if !self.unknown.is_empty() {
            let list = self
                .unknown
                .iter()
                .map(|name| format!("\"{name}\""))
                .collect::<Vec<_>>()
                .join(", ");
            let remark = Remark::info(
                "columns-not-recognised",
                format!("analytes not recognised and not used: {list}"),
            )
            .at(context.place());
            context
                .remarks
                .push(remark.help("name an analyte under [points.columns] to use it"));
        }
        let place = context.place();
        context.remarks.extend(self.doubles.remark(|rows| {
            let what = format!(
                "{} a result of the same sample, depth and method: the first is used",
                rows.do_it("repeats", "repeat")
            );
            let remark = Remark::warning("two-results", what).at(place);
            remark.help("keep one of them in the file")
        }));
        self.fillings
    }
}

impl Found {
    fn column(
        &mut self,
        name: &str,
        unit: Option<&str>,
        method: Option<&str>,
        value: &NumberColumn,
    ) -> Option<ResultColumn> {
        if self.is_ignored(name) {
            return None;
        }
        let planned = self.planned(name);
        let with_method = method.map(|method| format!("{name} {method}"));
        let guess = named_result(name, with_method.as_deref());
        let analyte = planned
            .as_ref()
            .map(|meaning| meaning.analyte.clone())
            .or_else(|| guess.as_ref().map(|found| found.analyte.clone()))?;
        let settings = self.settings.clone();
        let rules = self.rules.clone();
        let mut context = Context::new(&settings, &rules);
        if let Some(meaning) = &planned {
            let said = with_method.as_deref().unwrap_or(name);
            check_name(&mut context, said, name, meaning);
        }
        let who = (planned.as_ref(), guess.as_ref(), unit);
        let resolved = unit_of_result(&mut context, name, &analyte, who);
        if let Some(resolved) = &resolved {
            check_per_area(&mut context, name, &analyte, resolved, self.has_depth);
        }
        let method = planned
            .as_ref()
            .and_then(|meaning| meaning.method.clone())
            .or_else(|| guess.and_then(|found| found.method));
        if planned.is_none() {
            let key = LayerKey::new(analyte.clone(), method.clone(), None);
            note_guess(&mut context, name, &key, unit, &value.name);
        }
        self.remarks.append(&mut context.remarks);
        self.errors.append(&mut context.errors);
        let depth = planned.and_then(|meaning| meaning.depth);
        Some(ResultColumn {
            index: 0,
            name: name.into(),
            analyte,
            method,
            unit: resolved?,
            depth,
            qualifier: None,
        })
    }

    fn is_ignored(&self, name: &str) -> bool {
        let mut ignored = self.settings.ignore.iter();
        ignored.any(|ignored| ignored.trim() == name)
    }

    /// What the plan says of an analyte's name.
    fn planned(&self, name: &str) -> Option<ColumnMeaning> {
        let mut columns = self.settings.columns.iter();
        columns
            .find(|(own, _)| own.trim() == name)
            .map(|(_, meaning)| meaning.clone())
    }
}

/// What an analyte's name says, with its method where that tells more.
fn named_result(name: &str, with_method: Option<&str>) -> Option<NamedResult> {
    let by_name = |text: &str| {
        if let Meaning::Result(found) = meaning_of(text) {
            Some(found)
        } else {
            None
        }
    };
    with_method.and_then(by_name).or_else(|| by_name(name))
}

/// The unit of a result by what plan, analyte's name and row say; where the plan is sure of one, nobody else is asked.
fn unit_of_result(
    context: &mut Context<'_>,
    name: &str,
    analyte: &Analyte,
    (planned, guess, in_the_row): (Option<&ColumnMeaning>, Option<&NamedResult>, Option<&str>),
) -> Option<ResultUnit> {
    let planned_unit = planned.and_then(|meaning| meaning.unit.as_deref());
    let is_open = !(planned_unit.is_some() && planned.is_some_and(|plan| plan.sure));
    let in_name = guess
        .filter(|found| found.analyte == *analyte)
        .and_then(|found| found.unit.as_deref());
    let sayings = [
        (planned_unit, IN_THE_PLAN),
        (in_the_row.filter(|_| is_open), "in the unit column"),
        (in_name.filter(|_| is_open), "in the analyte's name"),
    ];
    resolve_unit(context, name, analyte, sayings)
}

fn note_guess(
    context: &mut Context<'_>,
    name: &str,
    key: &LayerKey,
    unit: Option<&str>,
    column: &str,
) {
    let what = format!("\"{name}\" read as {key}, because of its name");
    let line = plan_line(name, key, unit);
    let remark = Remark::assumption("column-guessed", what)
        .at(context.column(column))
        .help(format!("say so in the plan: {line}"));
    context.remarks.push(remark);
}

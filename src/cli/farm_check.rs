//! `lowstave check FARM`: reads every field, and says of each which value comes from the farm file and which from its plan.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

use rayon::prelude::*;
use serde::Serialize;

use super::color::Tone;
use super::commands::farm::open;
use super::page::Page;
use super::terminal::Terminal;
use crate::engine::{self, Grant, Terms, Watch};
use crate::error::{Failure, Outcome};
use crate::farm::{FARM_FILE, Farm, FarmField, Problem};
use crate::files::Files;
use crate::plan::{self, PlanValue, Purpose};
use crate::remark::{Level, Remark};
use crate::toml_tree;

/// Largest file that is looked at to tell a farm file from a plan.
const LARGEST: u64 = 1 << 20;
const SQUARE_METRES_PER_HECTARE: f64 = 10_000.0;

/// The result for machines.
#[derive(Debug, Serialize)]
struct FarmCheck<'a> {
    outcome: Outcome,
    exit_code: u8,
    farm: &'a str,
    fields: Vec<FieldCheck>,
    remarks: &'a [Remark],
}

/// A field as it was read.
#[derive(Debug, Serialize)]
struct FieldCheck {
    field_id: String,
    plan: String,
    exit_code: u8,
    area_ha: Option<f64>,
    values: Vec<ValueRow>,
    problems: Vec<Problem>,
    remarks: Vec<Remark>,
}

/// A value of a plan, and where it was typed.
#[derive(Debug, Serialize)]
struct ValueRow {
    key: String,
    value: String,
    file: Arc<str>,
    row: Option<u32>,
    inherited: bool,
}

/// Whether a path names a farm: a folder, `farm.toml`, or a file that names fields.
pub(super) fn is_farm(path: &Path) -> bool {
    if path.is_dir() || path.file_name().is_some_and(|name| name == FARM_FILE) {
        return true;
    }
    let bytes = Files::folder("").read(path, LARGEST).unwrap_or_default();
    let text = String::from_utf8_lossy(&bytes);
    let tree = toml_tree::parse(&text, &Arc::from("farm"));
    tree.is_ok_and(|tree| tree.contains_key("fields"))
}

struct Granted(Grant);

impl Watch for Granted {
    fn grant(&self) -> Grant {
        self.0
    }
}

pub(super) fn run(path: &Path, terminal: Terminal, grant: Grant) -> Result<Outcome, Failure> {
    let farm = open(path)?;
    let watch = Granted(grant);
    let fields: Vec<FieldCheck> = farm
        .fields
        .par_iter()
        .with_max_len(1)
        .map(|field| check(&farm, field, &watch))
        .collect();
    let worst = fields.iter().map(|field| field.exit_code).max();
    let outcome = match worst {
        Some(3) => Outcome::Failed,
        Some(2) if fields.iter().all(|field| field.exit_code == 2) => Outcome::Refused,
        Some(1 | 2) => Outcome::Look,
        _ => Outcome::Done,
    };
    let record = FarmCheck {
        outcome,
        exit_code: outcome.code(),
        farm: &farm.facts.farm,
        fields,
        remarks: &farm.remarks,
    };
    terminal.remarks(&farm.remarks);
    terminal.result(&page(&record), &record)?;
    Ok(outcome)
}

fn check(farm: &Farm, field: &FarmField, watch: &Granted) -> FieldCheck {
    let read = farm.field_files(field).map(|opened| {
        let terms = Terms {
            inherited: Some(&opened.inherited),
            ..Terms::default()
        };
        let values = plan::values(&opened.files, &opened.plan, Some(&opened.inherited));
        let values = values.unwrap_or_default();
        let read = engine::read_with(&opened.files, &opened.plan, Purpose::Rates, &terms, watch);
        (values, read)
    });
    let (values, read) = match read {
        Ok((values, read)) => (values, read),
        Err(failure) => (Vec::new(), Err(failure)),
    };
    let mut check = FieldCheck {
        field_id: field.id.clone(),
        plan: field.plan.clone(),
        exit_code: 0,
        area_ha: None,
        values: values.into_iter().map(value_row).collect(),
        problems: Vec::new(),
        remarks: Vec::new(),
    };
    match read {
        Ok(inputs) => {
            let has_look = |remark: &Remark| remark.level == Level::Warning;
            check.exit_code = u8::from(inputs.remarks.iter().any(has_look));
            check.area_ha = Some(inputs.field.workable_m2 / SQUARE_METRES_PER_HECTARE);
            check.remarks = inputs.remarks;
        }
        Err(failure) => {
            check.exit_code = failure.outcome().code();
            check.problems = Problem::all(&field.id, &field.plan, &failure);
        }
    }
    check
}

fn value_row(value: PlanValue) -> ValueRow {
    ValueRow {
        key: value.key,
        value: value.value,
        file: value.place.file,
        row: value.place.row,
        inherited: value.is_inherited,
    }
}

fn page(record: &FarmCheck<'_>) -> Page {
    let mut page = Page::default();
    let count = record.fields.len();
    let fields = if count == 1 {
        "1 field".to_owned()
    } else {
        format!("{count} fields")
    };
    page.pieces([
        (Tone::Strong, record.farm.to_owned()),
        (Tone::Plain, format!(": {fields}")),
    ]);
    for field in &record.fields {
        push_field(&mut page, field);
    }
    push_inherited(&mut page, &record.fields);
    page
}

fn push_field(page: &mut Page, field: &FieldCheck) {
    let looks = field
        .remarks
        .iter()
        .filter(|remark| remark.level == Level::Warning);
    let state = match (field.exit_code, looks.count()) {
        (2 | 3, _) => "cannot be used".to_owned(),
        (_, 0) => "good".to_owned(),
        (_, looks) => format!("{looks} to look at"),
    };
    let tone = if field.exit_code > 1 {
        Tone::Wrong
    } else {
        Tone::Plain
    };
    page.wrapped(
        (Tone::Plain, "- "),
        tone,
        &format!("{} ({}): {state}", field.field_id, field.plan),
    );
    for problem in &field.problems {
        let way_out = if problem.way_out.is_empty() { "" } else { "; " };
        let text = format!("{}{way_out}{}", problem.what, problem.way_out);
        page.set_in(Tone::Plain, 6, &text);
    }
}

/// Values that come from the farm file; fields that take the same ones stand together.
fn push_inherited(page: &mut Page, fields: &[FieldCheck]) {
    let mut groups: BTreeMap<String, Vec<&str>> = BTreeMap::new();
    for field in fields {
        let mut taken: Vec<&ValueRow> = field
            .values
            .iter()
            .filter(|value| value.inherited)
            .collect();
        taken.sort_by_key(|value| value.row);
        let taken: Vec<String> = taken
            .into_iter()
            .map(|value| {
                let row = value
                    .row
                    .map_or_else(String::new, |row| format!(" row {row}"));
                format!("{} = {} ({}{row})", value.key, value.value, value.file)
            })
            .collect();
        groups
            .entry(taken.join("\n"))
            .or_default()
            .push(&field.field_id);
    }
    for (taken, ids) in groups.iter().filter(|(taken, _)| !taken.is_empty()) {
        page.gap();
        let who = if ids.len() == fields.len() && fields.len() > 1 {
            "every field".to_owned()
        } else {
            ids.join(", ")
        };
        page.wrapped(
            (Tone::Strong, "From the farm file"),
            Tone::Plain,
            &format!(" for {who}"),
        );
        for line in taken.lines() {
            page.set_in(Tone::Plain, 2, line);
        }
    }
}

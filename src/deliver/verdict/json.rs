//! `verdict.json`.

use serde::Serialize;

use super::{SetFacts, VerdictInput};
use crate::deliver::error::DeliverError;
use crate::deliver::output_file::OutputFile;
use crate::deliver::run_record::{PROGRAM, VERSION, WrittenFile};
use crate::intake::InputFile;
use crate::remark::Remark;
use crate::trial::harvest::Fate;

#[derive(Serialize)]
struct VerdictRecord<'a> {
    program: &'a str,
    version: &'a str,
    form: u32,
    checksum: &'a str,
    files: Vec<WrittenFile>,
    field: &'a str,
    season: u16,
    crop: &'a str,
    run_sha256: &'a str,
    inputs: &'a [InputFile],
    columns: Vec<ColumnRecord<'a>>,
    cleaning: CleaningRecord,
    standard_moisture_pct: f64,
    sets: &'a [SetFacts],
    remarks: &'a [Remark],
}

#[derive(Serialize)]
struct ColumnRecord<'a> {
    file: &'a str,
    column: &'a str,
    is: &'static str,
    unit: Option<&'a str>,
}

#[derive(Serialize)]
struct CleaningRecord {
    records: usize,
    kept: usize,
    lag_records: i32,
    left_out: Vec<(Fate, usize)>,
}

/// The file. It lists `others`, the files that were made with it, so that an edit of theirs shows.
///
/// # Errors
/// Where the JSON writer refuses a value.
pub fn file(
    input: &VerdictInput,
    sets: &[SetFacts],
    others: &[OutputFile],
) -> Result<OutputFile, DeliverError> {
    let cleaned = &input.harvest.cleaned;
    let record = VerdictRecord {
        program: PROGRAM,
        version: VERSION,
        form: 1,
        checksum: "",
        files: others.iter().map(WrittenFile::new).collect(),
        field: &input.facts.field,
        season: input.facts.season,
        crop: &input.facts.crop,
        run_sha256: &input.facts.sha256,
        inputs: &input.inputs,
        columns: input
            .columns
            .iter()
            .map(|(file, column, role, unit)| ColumnRecord {
                file,
                column,
                is: role.name(),
                unit: unit.as_deref(),
            })
            .collect(),
        cleaning: CleaningRecord {
            records: input.points.len(),
            kept: cleaned.points.len(),
            lag_records: cleaned.lag.records,
            left_out: Fate::DROPPED
                .map(|fate| (fate, cleaned.count(fate)))
                .to_vec(),
        },
        standard_moisture_pct: input.harvest.standard_moisture,
        sets,
        remarks: &input.remarks,
    };
    OutputFile::checked_json("verdict.json", &record)
}

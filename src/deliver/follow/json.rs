//! `follow.json`.

use serde::Serialize;

use super::{FollowInput, ReadSeasonFile};
use crate::deliver::error::DeliverError;
use crate::deliver::output_file::OutputFile;
use crate::deliver::run_record::{PROGRAM, VERSION, WrittenFile};
use crate::intake::InputFile;
use crate::plan::{Day, SeasonRole};
use crate::remark::Remark;
use crate::season::SeasonReview;
use crate::units::UnitSystem;

#[derive(Serialize)]
struct FollowRecord<'a> {
    program: &'a str,
    version: &'a str,
    form: u32,
    checksum: &'a str,
    files: Vec<WrittenFile>,
    field: &'a str,
    season: u16,
    crop: &'a str,
    units: UnitSystem,
    run_sha256: &'a str,
    planted: Option<Day>,
    target_per_acre: Option<f64>,
    is_compensated: bool,
    brix_floor: f64,
    inputs: &'a [InputFile],
    read: Vec<ReadRecord<'a>>,
    #[serde(flatten)]
    review: &'a SeasonReview,
    remarks: &'a [Remark],
}

#[derive(Serialize)]
struct ReadRecord<'a> {
    file: &'a str,
    kinds: Vec<&'static str>,
    rows: usize,
    columns: Vec<ColumnRecord<'a>>,
    not_used: &'a [String],
}

#[derive(Serialize)]
struct ColumnRecord<'a> {
    column: &'a str,
    is: SeasonRole,
    unit: Option<&'a str>,
}

/// The file. It lists `others`, the files that were made with it, so that an edit of theirs shows.
///
/// # Errors
/// Where the JSON writer refuses a value.
pub(super) fn file(input: &FollowInput, others: &[OutputFile]) -> Result<OutputFile, DeliverError> {
    let facts = &input.facts;
    let record = FollowRecord {
        program: PROGRAM,
        version: VERSION,
        form: 1,
        checksum: "",
        files: others.iter().map(WrittenFile::new).collect(),
        field: &facts.field,
        season: facts.season,
        crop: &facts.crop,
        units: facts.units,
        run_sha256: &facts.sha256,
        planted: input.settings.planted,
        target_per_acre: input.settings.population,
        is_compensated: input.settings.is_compensated,
        brix_floor: input.rulebook.numbers.brix_floor,
        inputs: &input.inputs,
        read: input.files.iter().map(read).collect(),
        review: &input.review,
        remarks: &input.remarks,
    };
    OutputFile::checked_json("follow.json", &record)
}

fn read(file: &ReadSeasonFile) -> ReadRecord<'_> {
    ReadRecord {
        file: &file.file,
        kinds: file.kinds.iter().map(|kind| kind.name()).collect(),
        rows: file.rows,
        columns: file
            .columns
            .iter()
            .map(|column| ColumnRecord {
                column: &column.name,
                is: column.role,
                unit: column.unit.as_deref(),
            })
            .collect(),
        not_used: &file.unused,
    }
}

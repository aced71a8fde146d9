//! `run.json`: what went in, what was decided and why, enough to redo the run and to explain it later.

use std::io;
use std::path::PathBuf;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use serde_json::ser::{Formatter, PrettyFormatter, Serializer};

use super::error::DeliverError;
use super::output_file::OutputFile;
use super::overview::Overview;
use super::review::{Review, ZoneReview};
use crate::choice::Worth;
use crate::diagnosis::ZoneDiagnosis;
use crate::field::{KeptOut, PROJ_DATABASE, ProjDatabase, WorkingCrs};
use crate::files::sha256;
use crate::intake::InputFile;
use crate::plan::{People, Settings};
use crate::rates::Prescription;
use crate::remark::Remark;
use crate::surface::{Flat, Map, Method, Skill, Surface};
use crate::trial::StripPlan;
use crate::units::{Area, Quantity, UnitSystem};
use crate::zones::{Component, CountRow};

/// Name of the program, by which a result is known to be ours.
pub const PROGRAM: &str = env!("CARGO_PKG_NAME");
/// Version of the program.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");
/// Name of the record in the output folder.
pub const RUN_FILE: &str = "run.json";
/// Version of the record's form; a change that breaks a reader raises it.
pub const RECORD_FORM: u32 = 2;

#[derive(Serialize)]
struct RunRecord<'a> {
    program: &'a str,
    version: &'a str,
    form: u32,
    settings: &'a Settings,
    inputs: &'a [InputFile],
    field: FieldRecord<'a>,
    remarks: &'a [Remark],
    maps: Vec<MapRecord<'a>>,
    zones: ZonesRecord<'a>,
    diagnosis: &'a [ZoneDiagnosis],
    prescription: &'a Prescription,
    #[serde(skip_serializing_if = "is_empty")]
    strips: &'a StripPlan,
    worth: &'a Worth,
    review: &'a [ZoneReview],
    files: Vec<WrittenFile>,
    timings: serde_json::Map<String, serde_json::Value>,
}

#[expect(
    clippy::trivially_copy_pass_by_ref,
    reason = "the serializer hands in a reference to the field"
)]
fn is_empty(strips: &&StripPlan) -> bool {
    strips.sets.is_empty()
}

#[derive(Serialize)]
struct FieldRecord<'a> {
    working_crs: String,
    projections: ProjDatabase,
    origin: &'a WorkingCrs,
    area_m2: f64,
    workable_m2: f64,
    keep_outs: Vec<KeepOutRecord<'a>>,
    cell_m: f64,
    rows: usize,
    columns: usize,
    cells: usize,
}

/// What a keep-out takes.
#[derive(Serialize)]
struct KeepOutRecord<'a> {
    why: &'a str,
    file: &'a str,
    /// Ground that it covers with its distance, inside the field or not.
    asked_m2: f64,
    /// Ground that it takes inside the field.
    inside_m2: f64,
}

#[derive(Serialize)]
struct MapRecord<'a> {
    layer: String,
    unit: &'a str,
    method: Method,
    is_in_logarithms: bool,
    power: f64,
    neighbours: Option<usize>,
    skill: Option<&'a Skill>,
    is_drawn: bool,
    value: Option<f64>,
    why_flat: Option<Flat>,
}

#[derive(Serialize)]
struct ZonesRecord<'a> {
    count: usize,
    why: &'a str,
    layers: Vec<(String, f64)>,
    /// The principal components of the layers; empty where the plan does not ask for them.
    components: &'a [Component],
    tried: &'a [CountRow],
    areas_ha: Vec<f64>,
}

/// The record's text.
///
/// # Errors
/// Where a value has no form in JSON, for example a path that is not Unicode.
pub fn record(
    overview: &Overview<'_>,
    review: &Review,
    files: &[OutputFile],
) -> Result<Vec<u8>, DeliverError> {
    let stages = overview.stages;
    let field = stages.field;
    let record = RunRecord {
        program: PROGRAM,
        version: VERSION,
        form: RECORD_FORM,
        settings: stages.settings,
        inputs: stages.inputs,
        field: FieldRecord {
            working_crs: field.crs.definition(),
            projections: PROJ_DATABASE,
            origin: &field.crs,
            area_m2: field.area_m2,
            workable_m2: field.workable_m2,
            keep_outs: field.kept_out.iter().map(keep_out_record).collect(),
            cell_m: field.grid.cell,
            rows: field.grid.rows,
            columns: field.grid.columns,
            cells: field.grid.cells.len(),
        },
        remarks: stages.remarks,
        maps: stages.surfaces.surfaces.iter().map(map_record).collect(),
        zones: zones_record(overview),
        diagnosis: &stages.diagnosis.zones,
        prescription: stages.prescription,
        strips: stages.strips,
        worth: stages.worth,
        review: &review.zones,
        files: files.par_iter().map(WrittenFile::new).collect(),
        timings: stages
            .timings
            .iter()
            .map(|(stage, seconds)| ((*stage).to_owned(), (*seconds).into()))
            .collect(),
    };
    plain_json(&record).map_err(|cause| DeliverError::Record {
        cause: cause.to_string(),
    })
}

fn keep_out_record(kept: &KeptOut) -> KeepOutRecord<'_> {
    KeepOutRecord {
        why: &kept.why,
        file: &kept.file,
        asked_m2: kept.covered_m2,
        inside_m2: kept.inside_m2,
    }
}

fn map_record(surface: &Surface) -> MapRecord<'_> {
    let (value, why_flat) = match &surface.map {
        Map::Drawn { .. } => (None, None),
        Map::Flat { value, why, .. } => (Some(*value), Some(*why)),
    };
    MapRecord {
        layer: surface.key.slug(),
        unit: &surface.unit,
        method: surface.method,
        is_in_logarithms: surface.logs.is_some(),
        power: surface.power,
        neighbours: surface.neighbours,
        skill: surface.skill.as_ref(),
        is_drawn: why_flat.is_none(),
        value,
        why_flat,
    }
}

fn zones_record<'a>(overview: &Overview<'a>) -> ZonesRecord<'a> {
    let zones = overview.stages.zones;
    let hectares = |square_metres: f64| {
        Area::from_square_metres(square_metres)
            .in_unit("ha")
            .unwrap_or_default()
    };
    ZonesRecord {
        count: zones.zones.len(),
        why: &zones.why,
        layers: zones
            .layers
            .iter()
            .map(|(key, weight)| (key.slug(), *weight))
            .collect(),
        components: &zones.components,
        tried: &zones.tried,
        areas_ha: overview
            .zones
            .iter()
            .map(|view| hectares(view.zone.area_m2))
            .collect(),
    }
}

/// A file of a result, as it was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct WrittenFile {
    /// Path below the result's folder, with `/`.
    pub path: String,
    /// Its size.
    pub bytes: u64,
    /// SHA-256 of its bytes, in hexadecimal digits.
    pub sha256: String,
}

impl WrittenFile {
    /// A file as it is about to be written.
    pub(super) fn new(file: &OutputFile) -> Self {
        Self {
            path: file.path.clone(),
            bytes: file.bytes.len() as u64,
            sha256: sha256(&file.bytes),
        }
    }
}

/// A file in the list of a record.
#[derive(Debug, Deserialize)]
#[serde(untagged)]
pub enum ListedFile {
    /// As it was written.
    Written(WrittenFile),
    /// Its name alone, in a record of form 1, which says nothing of its bytes.
    Name(String),
}

/// What `explain` needs of a record.
#[derive(Debug, Deserialize)]
pub struct ReadRecord {
    /// The program that wrote it.
    pub program: String,
    /// Version of its form.
    #[serde(default)]
    pub form: u32,
    /// Its zones in words.
    pub review: Vec<ZoneReview>,
    /// Its files.
    pub files: Vec<ListedFile>,
    /// What was asked for.
    pub settings: ReadSettings,
    /// The field's plane and area.
    pub field: ReadField,
    /// The check strips; none in a record of a version that laid none.
    #[serde(default)]
    pub strips: StripPlan,
}

/// What is needed of a run's settings.
#[derive(Debug, Clone, Deserialize)]
pub struct ReadSettings {
    /// Name of the field.
    pub field: String,
    /// Season.
    pub season: u16,
    /// Crop.
    pub crop: String,
    /// Units that were printed.
    pub units: UnitSystem,
    /// What the crop sells for, United States dollars a kilogram.
    #[serde(default)]
    pub crop_price: Option<f64>,
    /// The user's rulebook file, where the run had one.
    #[serde(default)]
    pub rules: Option<PathBuf>,
    /// Whose field it is.
    #[serde(default)]
    pub people: People,
    /// Planter and sprayer.
    #[serde(default)]
    pub machine: Option<ReadMachine>,
    /// Region and yield goals.
    #[serde(default)]
    pub supply: ReadSupply,
}

/// What is needed of a run's machines, as texts with their units.
#[derive(Debug, Clone, Deserialize)]
pub struct ReadMachine {
    /// Working width.
    pub swath: String,
    /// Distance between rows.
    pub row_spacing: String,
    /// Direction of travel, degrees from north.
    pub heading: f64,
}

/// What is needed of a run's region and yield goals.
#[derive(Debug, Clone, Default, Deserialize)]
pub struct ReadSupply {
    /// The region.
    #[serde(default)]
    pub region: Option<String>,
    /// Yield goal of each crop that the plan names, as it was written.
    #[serde(default)]
    pub yield_goals: Vec<(String, serde_json::Value)>,
}

/// What is needed of a run's field.
#[derive(Debug, Clone, Deserialize)]
pub struct ReadField {
    /// The plane.
    pub origin: WorkingCrs,
    /// Area of the boundary, m².
    pub area_m2: f64,
    /// Side of a cell, metres.
    #[serde(default)]
    pub cell_m: Option<f64>,
}

/// Indented JSON whose numbers are plain decimals, never with an exponent.
pub(super) fn plain_json(value: &impl Serialize) -> serde_json::Result<Vec<u8>> {
    let mut bytes = Vec::with_capacity(64 * 1024);
    value.serialize(&mut Serializer::with_formatter(
        &mut bytes,
        PlainNumbers(PrettyFormatter::with_indent(b" ")),
    ))?;
    bytes.push(b'\n');
    Ok(bytes)
}

struct PlainNumbers<'a>(PrettyFormatter<'a>);

impl Formatter for PlainNumbers<'_> {
    fn write_f64<W: ?Sized + io::Write>(&mut self, writer: &mut W, value: f64) -> io::Result<()> {
        // Rust prints the shortest decimal that reads back equal, without an exponent. `+ 0.0` turns -0 into 0.
        write!(writer, "{}", value + 0.0)
    }
    fn write_f32<W: ?Sized + io::Write>(&mut self, writer: &mut W, value: f32) -> io::Result<()> {
        write!(writer, "{}", value + 0.0)
    }
    fn begin_array<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_array(writer)
    }
    fn end_array<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array(writer)
    }
    fn begin_array_value<W: ?Sized + io::Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.0.begin_array_value(writer, first)
    }
    fn end_array_value<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_array_value(writer)
    }
    fn begin_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object(writer)
    }
    fn end_object<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object(writer)
    }
    fn begin_object_key<W: ?Sized + io::Write>(
        &mut self,
        writer: &mut W,
        first: bool,
    ) -> io::Result<()> {
        self.0.begin_object_key(writer, first)
    }
    fn begin_object_value<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.begin_object_value(writer)
    }
    fn end_object_value<W: ?Sized + io::Write>(&mut self, writer: &mut W) -> io::Result<()> {
        self.0.end_object_value(writer)
    }
}

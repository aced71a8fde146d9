//! The front door: all files of a plan become a survey.

use std::path::Path;

use geo::{Geometry, MultiPolygon};

use crate::files::Files;
use crate::plan::{PointsSettings, Settings};
use crate::remark::Remark;

use super::boundary::{Notes, read_boundary, read_keep_out};
use super::columns::Header;
use super::context::{Context, ReadingRules};
use super::derive;
use super::error::IntakeError;
use super::formats::modus::modus;
use super::formats::read_shapes::{layer_names, read_shapes};
use super::formats::shapes::{LayerWish, shape_format};
use super::formats::spreadsheet::sheet_text;
use super::leave_out::leave_out;
use super::source::{Source, note_input, read_whole};
use super::survey::{AreaShape, InputFile, PointTable, Survey};
use super::table::delimited::read_delimited;
use super::table::duplicates::remark_on_files_at_one_place;
use super::table::join::join_places;
use super::table::shape_table::{placed, table_of_rows, table_of_shapes};

type Boundary = AreaShape<MultiPolygon<f64>>;
type KeptOut = AreaShape<Geometry<f64>>;

/// Reads every file that a plan names; `files` is seen from the plan's folder. From the pH in water `free_lime_ph` (the rulebook's) on,
/// calcium and total carbon are remarked on.
///
/// # Errors
/// Everything that is wrong in any of the files, each with its place and the way out.
pub fn read(
    files: &Files,
    settings: &Settings,
    free_lime_ph: f64,
) -> Result<Survey, Vec<IntakeError>> {
    let mut remarks = Vec::new();
    let (mut inputs, mut errors) = texts(files, settings);
    let mut notes = Notes {
        files,
        remarks: &mut remarks,
        inputs: &mut inputs,
    };
    let boundary = read_boundary(&settings.boundary, &mut notes);
    let keep_outs: Vec<_> = settings
        .keep_outs
        .iter()
        .map(|keep_out| read_keep_out(keep_out, &mut notes))
        .collect();
    let tables = read_all_points(files, settings, &mut inputs, &mut remarks, &mut errors);
    let mut tables = if errors.is_empty() {
        join_places(tables, &mut remarks, &mut errors)
    } else {
        tables
    };
    leave_out(&mut tables, settings, &mut remarks);
    remarks.extend(remark_on_files_at_one_place(&tables));
    for table in &mut tables {
        derive::add(table, settings, free_lime_ph, &mut remarks);
    }
    let (boundary, keep_outs) = areas(boundary, keep_outs, &mut errors);
    match boundary {
        Some(boundary) if errors.is_empty() => {
            let survey = Survey {
                boundary,
                keep_outs,
                tables,
                inputs,
                remarks,
            };
            super::sign_check::check_sign(&survey).map_or(Ok(survey), |error| Err(vec![error]))
        }
        _ => Err(errors),
    }
}

/// The plan and the user's rulebook as inputs: what leads the list of a survey.
///
/// # Errors
/// Where one of them cannot be read.
pub fn plan_files(files: &Files, settings: &Settings) -> Result<Vec<InputFile>, Vec<IntakeError>> {
    let (inputs, errors) = texts(files, settings);
    if errors.is_empty() {
        Ok(inputs)
    } else {
        Err(errors)
    }
}

fn texts(files: &Files, settings: &Settings) -> (Vec<InputFile>, Vec<IntakeError>) {
    let (mut inputs, mut errors) = (Vec::new(), Vec::new());
    let own = std::iter::once(&settings.plan_file);
    for file in own.chain(&settings.farm.file).chain(&settings.rules) {
        errors.extend(read_whole(files, file, &mut inputs).err());
    }
    (inputs, errors)
}

/// The tables of all files of points, those with errors left out.
fn read_all_points(
    files: &Files,
    settings: &Settings,
    inputs: &mut Vec<InputFile>,
    remarks: &mut Vec<Remark>,
    errors: &mut Vec<IntakeError>,
) -> Vec<PointTable> {
    let rules = ReadingRules::from_settings(settings);
    let mut tables = Vec::new();
    for points in &settings.points {
        let mut context = Context::new(points, &rules);
        let table = read_points(files, points, &mut context, inputs);
        remarks.append(&mut context.remarks);
        if context.errors.is_empty() {
            tables.extend(table);
        }
        errors.append(&mut context.errors);
    }
    tables
}

/// The boundary and the keep-outs that could be read. What is wrong with the boundary is told first of all.
fn areas(
    boundary: Result<Boundary, IntakeError>,
    keep_outs: Vec<Result<KeptOut, IntakeError>>,
    errors: &mut Vec<IntakeError>,
) -> (Option<Boundary>, Vec<KeptOut>) {
    let boundary = match boundary {
        Ok(boundary) => Some(boundary),
        Err(error) => {
            errors.insert(0, error);
            None
        }
    };
    let mut shapes = Vec::new();
    for keep_out in keep_outs {
        match keep_out {
            Ok(shape) => shapes.push(shape),
            Err(error) => errors.push(error),
        }
    }
    (boundary, shapes)
}

/// Reads one file of points.
pub(super) fn read_points(
    files: &Files,
    points: &PointsSettings,
    context: &mut Context<'_>,
    inputs: &mut Vec<InputFile>,
) -> Option<PointTable> {
    if shape_format(&points.file).is_some() {
        if let Some(wanted) = points.reading.sheet.as_deref() {
            let mut others =
                layer_names(files, &points.file, LayerWish::Points).unwrap_or_default();
            others.retain(|name| name != wanted);
            if !others.is_empty() {
                let remark = others_remark("layer", wanted, &others).at(context.place());
                context.remarks.push(remark);
            }
        }
        return match read_shapes(
            files,
            &points.file,
            LayerWish::or(points.reading.sheet.as_deref(), LayerWish::Points),
            inputs,
        ) {
            Ok(shapes) => table_of_shapes(&shapes, context),
            Err(error) => {
                context.errors.push(error);
                None
            }
        };
    }
    if is_xml(&points.file) {
        return read_whole(files, &points.file, inputs)
            .map_err(|error| context.errors.push(error))
            .ok()
            .and_then(|bytes| read_modus(&bytes, context));
    }
    if is_spreadsheet(&points.file) {
        return read_whole(files, &points.file, inputs)
            .map_err(|error| context.errors.push(error))
            .ok()
            .and_then(|bytes| read_sheet(&bytes, context));
    }
    let read = read_delimited(Source::File(files, &points.file), context);
    if let Some((hash, bytes)) = read.hash {
        note_input(inputs, Path::new(&points.file), hash, bytes);
    }
    read.table
}

/// Whether a file is XML by its name: the results of a laboratory in Modus form.
pub(super) fn is_xml(file: &Path) -> bool {
    file.extension()
        .is_some_and(|extension| extension.eq_ignore_ascii_case("xml"))
}

/// Whether a file is a spreadsheet by its name.
pub(super) fn is_spreadsheet(file: &Path) -> bool {
    let is = |wanted: &&str| {
        file.extension()
            .is_some_and(|extension| extension.eq_ignore_ascii_case(wanted))
    };
    ["xlsx", "xlsm"].iter().any(is)
}

/// Reads a sheet of a spreadsheet.
pub(super) fn read_sheet(bytes: &[u8], context: &mut Context<'_>) -> Option<PointTable> {
    let wanted = context.settings.reading.sheet.as_deref();
    let sheet = match sheet_text(bytes, wanted, &context.place()) {
        Ok(sheet) => sheet,
        Err(error) => {
            context.errors.push(error);
            return None;
        }
    };
    if !sheet.others.is_empty() && wanted.is_none() {
        let names: Vec<String> = sheet
            .others
            .iter()
            .map(|name| format!("\"{name}\""))
            .collect();
        let what = format!(
            "the sheet \"{}\" is read; not read: {}",
            sheet.sheet,
            names.join(", ")
        );
        let help = "say sheet = \"...\" in this [[points]] table to read another one";
        let remark = Remark::assumption("first-sheet", what).at(context.place());
        context.remarks.push(remark.help(help));
    }
    if let (false, Some(wanted)) = (sheet.others.is_empty(), wanted) {
        context
            .remarks
            .push(others_remark("sheet", wanted, &sheet.others).at(context.place()));
    }
    if sheet.percent_cells > 0 {
        let what = format!(
            "{} cells are shown as percent in the sheet: a share of 0.025 is read as 2.5, as it is shown",
            sheet.percent_cells
        );
        let remark = Remark::assumption("percent-cells", what).at(context.place());
        context.remarks.push(remark);
    }
    if sheet.merged_rows > 0 {
        let what = format!(
            "{} cells are merged with the one above: its value holds for their rows too",
            sheet.merged_rows
        );
        context
            .remarks
            .push(Remark::assumption("merged-cells", what).at(context.place()));
    }
    read_delimited(Source::Bytes(&sheet.text), context).table
}

/// The sheets or layers of a file that a table of points does not read.
fn others_remark(kind: &str, wanted: &str, others: &[String]) -> Remark {
    const MOST_LISTED: usize = 12;
    let names: Vec<String> = others
        .iter()
        .take(MOST_LISTED)
        .map(|name| format!("\"{name}\""))
        .collect();
    let more = if others.len() > MOST_LISTED {
        " and more"
    } else {
        ""
    };
    let what = format!(
        "the {kind} \"{wanted}\" is read here; the file holds {}{more} as well",
        names.join(", ")
    );
    Remark::info("other-sheets", what)
}

/// Reads laboratory results in Modus form; what the file says of its columns stands in for the plan's columns.
pub(super) fn read_modus(bytes: &[u8], context: &mut Context<'_>) -> Option<PointTable> {
    let mut read = match modus(bytes, context.settings, &context.place()) {
        Ok(read) => read,
        Err(error) => {
            context.errors.push(error);
            return None;
        }
    };
    context.remarks.append(&mut read.remarks);
    let header = Header::new(&read.names, Vec::new(), Vec::new());
    let mut own = Context::new(&read.settings, context.rules);
    let table = table_of_rows(&header, &mut read.rows, &mut own, read.has_geometry);
    let table = table.map(|table| {
        if read.has_geometry {
            placed(table, Some("EPSG:4326".to_owned()), &mut own)
        } else {
            table
        }
    });
    context.remarks.append(&mut own.remarks);
    context.errors.append(&mut own.errors);
    table
}

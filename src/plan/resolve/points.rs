//! Files of located results: where the depth stands, what the columns are, what a cone file needs.

use std::sync::Arc;

use crate::analyte::DepthRange;
use crate::plan::error::{Hint, PlanError};
use crate::plan::people::Day;
use crate::plan::points_table::{ColumnTable, PointsTable};
use crate::plan::reading::{Typed, Written};
use crate::plan::settings::{
    BlankBelow, ColumnMeaning, ConeSettings, Depths, PointKind, PointsSettings,
};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::text::{nearest, shorten};
use crate::units::{Area, Length, Pressure, Quantity};

use super::words::Resolver;
use super::{FIRST_YEAR, day, form, left_out, plain, roles};

/// Units of a cone reading that are a force and need the cone's base area.
const FORCES: [&str; 3] = ["N", "kgf", "lbf"];
/// Deepest cone reading, in metres; anything deeper is a unit mistake.
const DEEPEST_METRES: f64 = 5.0;

pub(super) fn all(
    tables: &Typed<Vec<PointsTable>>,
    plan: &Place,
    resolver: &Resolver<'_>,
) -> Option<Vec<PointsSettings>> {
    let example = "a [[points]] table with file and kind for each file of cores or readings; where none were taken yet, \
                   `lowstave cores PLAN --add N --pattern regular` lays out the first";
    let tables = &resolver.required(tables, plan, "points", example)?.value;
    if tables.is_empty() {
        resolver.missing(plan, "points", example);
    }
    let all: Vec<_> = tables.iter().map(|table| points(table, resolver)).collect();
    roles::check_files(tables, resolver);
    all.into_iter().collect()
}

fn points(table: &PointsTable, resolver: &Resolver<'_>) -> Option<PointsSettings> {
    let file = resolver.required_file(&table.file, &table.place, "file = \"cores.csv\"");
    let kinds = [
        ("cores", PointKind::Cores),
        ("cone", PointKind::Cone),
        ("readings", PointKind::Readings),
    ];
    resolver.required(
        &table.kind,
        &table.place,
        "kind",
        "kind = \"cores\" (or \"cone\", \"readings\")",
    );
    let kind = resolver.word(&table.kind, "a kind of points", &kinds);
    let depths = depths(table, resolver);
    let cone = match kind {
        Some(PointKind::Cone) => cone(table, resolver),
        Some(PointKind::Cores | PointKind::Readings) => {
            refuse_cone_keys(table, resolver);
            None
        }
        None => None,
    };
    let columns = table
        .columns
        .iter()
        .filter_map(|(name, column)| meaning(name, column, resolver))
        .collect();
    roles::check_columns(table, resolver);
    Some(PointsSettings {
        file: file?,
        kind: kind?,
        crs: plain(&table.crs),
        x: plain(&table.x),
        y: plain(&table.y),
        id: plain(&table.id),
        depths,
        columns,
        ignore: table
            .ignore
            .given()
            .map(|ignore| ignore.value.clone())
            .unwrap_or_default(),
        leave_out: left_out::all(&table.leave_out, resolver),
        reading: form::file_form(table, kind?, resolver),
        cone,
        laboratory: plain(&table.laboratory),
        sampled: sampled(table, resolver),
        place: table.place.clone(),
    })
}

/// The day of sampling; one before any season of a plan is a slip.
fn sampled(table: &PointsTable, resolver: &Resolver<'_>) -> Option<Day> {
    let sampled = day(&table.sampled)?;
    if let Some(written) = table.sampled.given().filter(|_| sampled.year < FIRST_YEAR) {
        resolver.out_of_range(&written.place, written.value, "a day from 1950-01-01 on");
    }
    Some(sampled)
}

fn depths(table: &PointsTable, resolver: &Resolver<'_>) -> Depths {
    let has_pair = table.top.is_written() || table.bottom.is_written();
    let pair = table.top.given().or(table.bottom.given());
    let ways = [
        (table.depth.given(), "depth"),
        (table.depth_column.given(), "depth_column"),
        (pair, "top and bottom"),
    ];
    let (written, said): (Vec<_>, Vec<_>) = ways
        .into_iter()
        .filter_map(|(typed, name)| Some((typed?, name)))
        .unzip();
    if let [_, second, ..] = written.as_slice() {
        let what = format!(
            "the sampling depth is said in {} ways: {}",
            said.len(),
            said.join(", ")
        );
        resolver.contradiction(
            &second.place,
            what,
            "keep the one that is true of this file",
        );
    }
    let unit = depth_unit(table, resolver);
    if let Some(written) = table.depth_unit.given()
        && !has_pair
        && !table.depth_column.is_written()
    {
        let help = "name the columns with depth_column, or with top and bottom";
        resolver.contradiction(
            &written.place,
            "depth_unit has no columns that it could speak of",
            help,
        );
    }
    if has_pair {
        return top_and_bottom(table, unit, resolver).unwrap_or(Depths::Unknown);
    }
    if let Some(column) = plain(&table.depth_column) {
        return Depths::Column { column, unit };
    }
    depth_range(&table.depth, resolver).map_or(Depths::Unknown, Depths::Fixed)
}

fn top_and_bottom(
    table: &PointsTable,
    unit: Option<String>,
    resolver: &Resolver<'_>,
) -> Option<Depths> {
    let top = resolver.required(
        &table.top,
        &table.place,
        "top",
        "top = \"from_in\", the column of the upper edge",
    );
    let bottom = resolver.required(
        &table.bottom,
        &table.place,
        "bottom",
        "bottom = \"to_in\", the column of the lower edge",
    );
    resolver.required(
        &table.depth_unit,
        &table.place,
        "depth_unit",
        "depth_unit = \"in\" (or \"cm\")",
    );
    Some(Depths::TopAndBottom {
        top: top?.value.clone(),
        bottom: bottom?.value.clone(),
        unit: unit?,
    })
}

/// The depth unit in the spelling of the table of lengths.
fn depth_unit(table: &PointsTable, resolver: &Resolver<'_>) -> Option<String> {
    let words = [
        ("in", "in"),
        ("cm", "cm"),
        ("mm", "mm"),
        ("ft", "ft"),
        ("m", "m"),
    ];
    resolver
        .word(&table.depth_unit, "a unit of depth", &words)
        .map(str::to_owned)
}

fn depth_range(typed: &Typed<String>, resolver: &Resolver<'_>) -> Option<DepthRange> {
    let written = typed.given()?;
    DepthRange::parse(&written.value, None)
        .map_err(|cause| {
            resolver.note(PlanError::Depth {
                place: written.place.clone(),
                cause,
            });
        })
        .ok()
}

fn meaning(
    name: &Written<String>,
    column: &ColumnTable,
    resolver: &Resolver<'_>,
) -> Option<(Arc<str>, ColumnMeaning)> {
    let is = resolver.required(
        &column.is,
        &column.place,
        "is",
        "is = \"ph\", what the column holds",
    );
    let analyte = is.and_then(|is| resolver.analyte(is));
    let depth = depth_range(&column.depth, resolver);
    let method = form::column_method(&column.method, analyte.as_ref(), resolver);
    let meaning = ColumnMeaning {
        analyte: analyte?,
        method,
        unit: plain(&column.unit),
        depth,
        sure: column.sure.given().is_some_and(|sure| sure.value),
        numbers: form::number_form(&column.numbers, resolver),
        place: column.place.clone(),
    };
    Some((name.value.trim().into(), meaning))
}

fn cone(table: &PointsTable, resolver: &Resolver<'_>) -> Option<ConeSettings> {
    let unit = resolver.required(
        &table.unit,
        &table.place,
        "unit",
        "unit = \"psi\" (or \"kPa\", \"MPa\"), the unit of the readings",
    );
    let unit = unit.and_then(|unit| cone_unit(unit, resolver));
    let other = table
        .depth_column
        .given()
        .or(table.depth.given())
        .or(table.top.given());
    if let (true, Some(other)) = (table.depths.is_written(), other) {
        let help = "keep depths, where each depth has its column, or depth_column, where each depth has its row";
        resolver.contradiction(
            &other.place,
            "a cone file says the depth of its readings in two ways",
            help,
        );
    }
    let base_area = base_area(table, unit.as_deref(), resolver);
    let depths = marks(table, resolver);
    Some(ConeSettings {
        unit: unit?,
        base_area_mm2: base_area,
        depths,
        moisture: plain(&table.moisture),
        blank_below: blank_below(table, resolver),
    })
}

fn blank_below(table: &PointsTable, resolver: &Resolver<'_>) -> BlankBelow {
    let words = [
        ("refused", BlankBelow::Refused),
        ("not pushed", BlankBelow::NotPushed),
    ];
    resolver
        .word(&table.blank_below, "a meaning of a blank below", &words)
        .unwrap_or_default()
}

/// The unit of the readings, in the spelling of the tables.
fn cone_unit(written: &Written<String>, resolver: &Resolver<'_>) -> Option<String> {
    let names = || Pressure::UNITS.iter().map(|(name, _)| *name).chain(FORCES);
    let found = names()
        .find(|name| *name == written.value)
        .or_else(|| names().find(|name| name.eq_ignore_ascii_case(&written.value)));
    if found.is_none() {
        resolver.note(PlanError::NotAllowed {
            place: written.place.clone(),
            found: shorten(&written.value),
            what: "a unit of a cone reading",
            hint: Hint::from(nearest(&written.value, names())),
            allowed: names().collect::<Vec<_>>().join(", "),
        });
    }
    found.map(str::to_owned)
}

/// The cone's base area in mm².
fn base_area(table: &PointsTable, unit: Option<&str>, resolver: &Resolver<'_>) -> Option<f64> {
    const SQUARE_MILLIMETRES: f64 = 1e6;
    let is_force = unit.is_some_and(|unit| FORCES.contains(&unit));
    if let (true, Some(written), false) =
        (is_force, table.unit.given(), table.base_area.is_written())
    {
        let what = format!(
            "\"{}\" is a force, and a force is no pressure without the cone's base area",
            written.value
        );
        resolver.contradiction(
            &written.place,
            what,
            "add base_area, such as \"130 mm2\"; it stands in the cone's papers",
        );
    }
    let area: Area = resolver.positive(&table.base_area)?;
    if !is_force && unit.is_some() {
        let remark = Remark::info(
            "base-area-not-needed",
            "The readings are a pressure already; the cone's base area was not used.",
        );
        resolver.remark(remark.at(table.place.clone()));
    }
    let area = area.square_metres() * SQUARE_MILLIMETRES;
    if let (false, Some(written)) = ((10.0..=5_000.0).contains(&area), table.base_area.given()) {
        resolver.out_of_range(&written.place, &written.value, "10 mm2 to 5000 mm2");
        return None;
    }
    Some(area)
}

/// Column and depth of each reading, shallow to deep.
fn marks(table: &PointsTable, resolver: &Resolver<'_>) -> Vec<(String, Length)> {
    let Some(entries) = table.depths.given() else {
        return Vec::new();
    };
    if entries.value.is_empty() {
        resolver.contradiction(
            &entries.place,
            "depths names no column",
            "write each column with its depth, such as \"d2\" = \"2 in\"",
        );
    }
    let mut marks = Vec::new();
    for (column, text) in &entries.value {
        let Some(depth) = resolver.not_negative_in::<Length>(text) else {
            continue;
        };
        if depth.metres() > DEEPEST_METRES {
            resolver.out_of_range(&text.place, &text.value, "0 to 5 m");
            continue;
        }
        marks.push((column.value.trim().to_owned(), depth));
    }
    marks.sort_by(|a, b| a.1.metres().total_cmp(&b.1.metres()));
    for pair in marks.windows(2) {
        if let [(first, one), (second, other)] = pair
            && one == other
        {
            let what = format!(
                "the columns \"{}\" and \"{}\" stand at the same depth",
                shorten(first),
                shorten(second)
            );
            resolver.contradiction(
                &entries.place,
                what,
                "give each depth one column; replicates are rows of their own",
            );
        }
    }
    marks
}

/// Keys that only a cone file has.
fn refuse_cone_keys(table: &PointsTable, resolver: &Resolver<'_>) {
    let texts = [
        (&table.base_area, "base_area"),
        (&table.moisture, "moisture"),
        (&table.blank_below, "blank_below"),
    ];
    let texts = texts
        .into_iter()
        .filter_map(|(typed, key)| Some((&typed.given()?.place, key)));
    for (place, key) in texts.chain(table.depths.given().map(|depths| (&depths.place, "depths"))) {
        let help = match key {
            "depths" => {
                "say the depth with depth, depth_column, or top and bottom, or write kind = \"cone\""
            }
            _ => "leave it out, or write kind = \"cone\"",
        };
        resolver.contradiction(place, format!("\"{key}\" is for cone files only"), help);
    }
}

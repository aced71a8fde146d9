//! `controller/shapefile/`: the zones for a rate controller, one shapefile per product and one with everything.
//!
//! Plain polygons, one ring per record, no holes, no blank rates: what is read right by controllers that read little.

mod cut;
mod shape;
mod table;

use std::fmt::Write;

pub(super) use shape::shapes;
pub(super) use table::{Cell, Field, table};

use super::degrees::Part;
use super::error::DeliverError;
use super::escape::csv;
use super::format_input::FormatInput;
use super::output_file::OutputFile;
use super::overview::Overview;
use super::pieces::Piece;
use crate::units::{Area, MoneyPerArea, UnitSystem};

pub(super) const FOLDER: &str = "controller/shapefile";
/// WGS 84 in the dialect that shapefiles use (what PROJ prints for EPSG:4326 as `WKT1_ESRI`).
pub(super) const PROJECTION: &str = "GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",SPHEROID[\"WGS_1984\",6378137.0,298.257223563]],PRIMEM[\"Greenwich\",0.0],UNIT[\"Degree\",0.0174532925199433]]";
const LONGEST_TEXT: u8 = 254;

/// All files of the folder.
///
/// # Errors
/// Where a table or an outline cannot be put into the format.
pub fn files(input: &FormatInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let overview = input.overview;
    let (parts, piece_of): (Vec<Part>, Vec<usize>) = records(overview).into_iter().unzip();
    let (shp, shx) = shapes(&parts).map_err(|cause| failed(&cause))?;
    let year = overview.stages.settings.season;
    let dbf = |fields: &[Field], rows: &[Vec<Cell>]| {
        table(fields, rows, year).map_err(|cause| failed(&cause))
    };
    let mut files = Vec::new();
    let mut add = |base: &str, dbf: Vec<u8>| {
        files.extend(one_shapefile(base, &(shp.clone(), shx.clone()), dbf));
    };
    let used = overview
        .columns
        .iter()
        .enumerate()
        .filter(|(_, column)| column.is_used);
    for (at, column) in used {
        let fields = [
            Field::number("RATE", 12, rate_decimals(column.decimals)),
            Field::number("ZONE", 9, 0),
        ];
        let rows: Vec<Vec<Cell>> = piece_of
            .iter()
            .map(|&piece| {
                let piece = &overview.pieces[piece];
                vec![
                    Cell::Number(piece.rates[at]),
                    number_of(overview, piece.place),
                ]
            })
            .collect();
        add(&column.name, dbf(&fields, &rows)?);
    }
    let (fields, meanings) = combined_fields(overview);
    let rows: Vec<Vec<Cell>> = piece_of
        .iter()
        .map(|&piece| combined_row(overview, &overview.pieces[piece]))
        .collect();
    add("zones", dbf(&fields, &rows)?);
    files.push(OutputFile::new(
        format!("{FOLDER}/field_names.csv"),
        names_table(overview, &fields, &meanings),
    ));
    Ok(files)
}

/// The five files of a shapefile; its shapes are `.shp` and `.shx`.
pub(super) fn one_shapefile(
    base: &str,
    (shp, shx): &(Vec<u8>, Vec<u8>),
    dbf: Vec<u8>,
) -> [OutputFile; 5] {
    let parts = [
        ("shp", shp.clone()),
        ("shx", shx.clone()),
        ("dbf", dbf),
        ("prj", PROJECTION.into()),
        ("cpg", "UTF-8".into()),
    ];
    parts.map(|(end, bytes)| OutputFile::new(format!("{FOLDER}/{base}.{end}"), bytes))
}

pub(super) fn failed(cause: &impl ToString) -> DeliverError {
    DeliverError::Package {
        path: FOLDER,
        cause: cause.to_string(),
    }
}

fn number_of(overview: &Overview<'_>, zone: usize) -> Cell {
    Cell::Number(f64::from(overview.zones[zone].number))
}

/// Whole numbers for rates that are whole, else two decimals or more.
pub(super) fn rate_decimals(decimals: usize) -> u8 {
    if decimals == 0 {
        0
    } else {
        decimals.max(2) as u8
    }
}

/// One ring per record, with the position of its piece.
fn records(overview: &Overview<'_>) -> Vec<(Part, usize)> {
    let rings = |piece: &Piece<'_>| piece.parts.iter().flat_map(rings).collect::<Vec<_>>();
    overview
        .pieces
        .iter()
        .enumerate()
        .flat_map(|(at, piece)| rings(piece).into_iter().map(move |part| (part, at)))
        .collect()
}

/// A part whose rings cannot be cut keeps its holes: product never goes where the map has none.
pub(super) fn rings(part: &Part) -> Vec<Part> {
    match cut::without_holes(part) {
        Ok(rings) => rings
            .into_iter()
            .map(|outer| Part {
                outer,
                holes: Vec::new(),
            })
            .collect(),
        Err(part) => vec![part.clone()],
    }
}

fn combined_fields(overview: &Overview<'_>) -> (Vec<Field>, Vec<String>) {
    let (area, cost) = match overview.units {
        UnitSystem::UnitedStates => (("AREA_AC", "area_ac"), ("COST_AC", "cost_usd_ac")),
        UnitSystem::Metric => (("AREA_HA", "area_ha"), ("COST_HA", "cost in USD/ha")),
    };
    let mut columns = vec![(Field::number("ZONE", 9, 0), "zone".to_owned())];
    if !overview.stages.strips.sets.is_empty() {
        columns.push((
            Field::text("STRIP", 60),
            "check strip; empty in a zone".to_owned(),
        ));
    }
    columns.extend(overview.columns.iter().map(|c| {
        (
            Field::number(&c.short_name, 12, rate_decimals(c.decimals)),
            c.name.clone(),
        )
    }));
    columns.push((
        Field::number(area.0, 12, 3),
        format!(
            "{} of the whole zone without its check strips, or of the strip",
            area.1
        ),
    ));
    columns.push((Field::number(cost.0, 12, 2), cost.1.to_owned()));
    columns.push((Field::number("CONFIDENCE", 6, 3), "confidence".to_owned()));
    columns.extend((1..=3).map(|n| (Field::text(&format!("LIMIT_{n}"), 20), format!("limit_{n}"))));
    columns.push((Field::text("REASON", LONGEST_TEXT), "reason".to_owned()));
    columns.into_iter().unzip()
}

fn combined_row(overview: &Overview<'_>, piece: &Piece<'_>) -> Vec<Cell> {
    let view = &overview.zones[piece.place];
    let limits = view.limits();
    let mut row = vec![number_of(overview, piece.place)];
    if !overview.stages.strips.sets.is_empty() {
        row.push(Cell::Text(
            piece
                .strip
                .map_or_else(String::new, |strip| strip.name.clone()),
        ));
    }
    row.extend(piece.rates.iter().map(|rate| Cell::Number(*rate)));
    row.push(Cell::Number(Area::number_in(piece.area, overview.units)));
    row.push(Cell::Number(MoneyPerArea::number_in(
        piece.cost,
        overview.units,
    )));
    row.push(Cell::Number(
        limits
            .first()
            .map_or(0.0, |finding| finding.confidence.clamp(0.0, 1.0)),
    ));
    row.extend((0..3).map(|at| {
        Cell::Text(limits.get(at).map_or_else(
            || "none".to_owned(),
            |finding| finding.factor.name().to_owned(),
        ))
    }));
    row.push(Cell::Text(view.rates.reason.clone()));
    row
}

/// The table from short to long names, with units.
fn names_table(overview: &Overview<'_>, fields: &[Field], meanings: &[String]) -> String {
    let mut out = String::from("file,field,meaning,unit\n");
    for column in overview.used_columns() {
        let _ = writeln!(
            out,
            "{}.shp,RATE,{},{}",
            column.name,
            csv(&column.product.label),
            csv(column.unit)
        );
        let _ = writeln!(out, "{}.shp,ZONE,zone,", column.name);
    }
    for (field, meaning) in fields.iter().zip(meanings) {
        let unit = overview
            .columns
            .iter()
            .find(|column| column.short_name == field.name)
            .map_or("", |column| column.unit);
        let _ = writeln!(
            out,
            "zones.shp,{},{},{}",
            field.name,
            csv(meaning),
            csv(unit)
        );
    }
    out
}

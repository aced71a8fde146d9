//! Coordinates of points: how they are written, and what can be known of them without a projection.

use crate::provenance::Place;
use crate::remark::Remark;

use crate::intake::context::Context;
use crate::intake::error::IntakeError;
use crate::intake::formats::delimited::{Row, text_of};
use crate::intake::survey::PointTable;
use crate::intake::table::cell::Cell;
use crate::intake::table::result_column::NumberColumn;
use crate::intake::table::tally::RowTally;

/// A coordinate as read.
pub(in crate::intake) struct Coordinate<'a> {
    /// The cell.
    pub cell: Cell<'a>,
    /// Whether it was more than a plain number.
    pub is_text: bool,
}

/// Reads one coordinate; degrees with minutes and seconds or a letter of the compass are turned into degrees.
pub(in crate::intake) fn read_coordinate<'r>(
    column: &mut NumberColumn,
    row: &Row<'r>,
) -> Coordinate<'r> {
    let plain = |cell| Coordinate {
        cell,
        is_text: false,
    };
    match column.read(row) {
        cell @ (Cell::Number(_) | Cell::Missing | Cell::Unsettled) => plain(cell),
        Cell::NoNumber(_) => plain(Cell::Missing),
        _ => match sexagesimal(&text_of(row.cell(column.index)).0) {
            Some(degrees) => Coordinate {
                cell: Cell::Number(degrees),
                is_text: true,
            },
            None => plain(Cell::Text),
        },
    }
}

/// `41°12'30.5"N`, `41 12 30 N`, `N 41 12.508`, `97.1 W` in degrees.
fn sexagesimal(text: &str) -> Option<f64> {
    let upper = text.trim().to_uppercase();
    let is_negative = upper.starts_with('-') || upper.contains(['S', 'W']);
    let letters: String = upper.chars().filter(|c| c.is_alphabetic()).collect();
    if !matches!(letters.as_str(), "" | "N" | "S" | "E" | "W") {
        return None;
    }
    let plain: String = upper
        .chars()
        .map(|c| {
            if c.is_ascii_digit() || c == '.' {
                c
            } else {
                ' '
            }
        })
        .collect();
    let parts: Vec<f64> = plain
        .split_whitespace()
        .map(str::parse)
        .collect::<Result<_, _>>()
        .ok()?;
    let (degrees, minutes, seconds) = match parts.as_slice() {
        [degrees] if !letters.is_empty() || upper.contains('°') => (*degrees, 0.0, 0.0),
        [degrees, minutes] => (*degrees, *minutes, 0.0),
        [degrees, minutes, seconds] => (*degrees, *minutes, *seconds),
        _ => return None,
    };
    let is_whole = parts.len() == 1 || degrees.fract() == 0.0;
    if !(is_whole && degrees <= 360.0 && minutes < 60.0 && seconds < 60.0) {
        return None;
    }
    let value = degrees + minutes / 60.0 + seconds / 3600.0;
    Some(if is_negative { -value } else { value })
}

/// Whether a CRS text means longitude and latitude on some datum.
pub(in crate::intake) fn is_geographic(crs: &str) -> bool {
    let plain = crs.trim().to_ascii_uppercase();
    matches!(
        plain.as_str(),
        "EPSG:4326"
            | "EPSG:4269"
            | "EPSG:4267"
            | "EPSG:4258"
            | "OGC:CRS84"
            | "WGS84"
            | "WGS 84"
            | "URN:OGC:DEF:CRS:OGC:1.3:CRS84"
    ) || plain.starts_with("GEOGCS[")
        || plain.starts_with("GEOGCRS[")
        || plain.contains("+PROJ=LONGLAT")
}

/// Settles the coordinate system of a table and checks degrees.
pub(in crate::intake) fn settle_crs(
    table: &mut PointTable,
    said_by_file: Option<String>,
    context: &mut Context<'_>,
    names: (&str, &str),
) {
    let place = context.place();
    let planned = context.settings.crs.clone();
    table.crs = match (planned, said_by_file) {
        (Some(planned), Some(file)) => {
            if planned.trim() != file.trim() && !(is_geographic(&planned) && is_geographic(&file)) {
                let what =
                    "the plan and the file both name a coordinate system; the plan's is used"
                        .to_owned();
                context.remarks.push(
                    Remark::warning("two-coordinate-systems", what)
                        .at(place)
                        .help("take crs out of the plan if the file is right"),
                );
            }
            planned
        }
        (Some(planned), None) => planned,
        (None, Some(file)) => file,
        (None, None) => {
            if !guess_degrees(table, context, names) {
                return;
            }
            "EPSG:4326".to_owned()
        }
    };
    if is_geographic(&table.crs) {
        check_degrees(table, context, names);
    }
}

/// Whether a column's name says longitude or latitude.
pub(in crate::intake) fn is_degree_name(name: &str) -> bool {
    let lower = crate::analyte::folded_name(name);
    ["lon", "lng", "lat", "lange", "laenge", "breite"]
        .iter()
        .any(|head| lower.contains(head))
}

/// Without any word on the system, longitude and latitude are taken for degrees; anything else is an error.
fn guess_degrees(table: &PointTable, context: &mut Context<'_>, names: (&str, &str)) -> bool {
    let is_degree_like =
        table.x.iter().all(|x| x.abs() <= 360.0) && table.y.iter().all(|y| y.abs() <= 180.0);
    let is_degrees = is_degree_like && is_degree_name(names.0) && is_degree_name(names.1);
    if is_degrees {
        let what = format!(
            "no crs is given; \"{}\" and \"{}\" taken as degrees on WGS 84",
            names.0, names.1
        );
        context.remarks.push(
            Remark::assumption("crs-guessed", what)
                .at(context.place())
                .help("say crs = \"EPSG:4326\" in the plan"),
        );
    } else {
        context.errors.push(IntakeError::CoordinateSystem {
            place: context.place(),
            what: format!("the coordinate system of \"{}\" and \"{}\" is not known", names.0, names.1),
            help: "add crs = \"EPSG:...\" to this [[points]] table (degrees of a receiver are EPSG:4326)".to_owned(),
        });
    }
    is_degrees
}

/// Degrees out of range: swapped columns, the 0-360 convention, or no degrees at all.
fn check_degrees(table: &mut PointTable, context: &mut Context<'_>, names: (&str, &str)) {
    let lat_over = rows_where(table, |_, y| y.abs() > 90.0);
    let lon_over = rows_where(table, |x, _| x.abs() > 180.0);
    let lon_far_over = rows_where(table, |x, _| x.abs() > 360.0);
    let place =
        |row: Option<u32>| row.map_or_else(|| context.place(), |row| context.place().at_row(row));
    if lat_over.count() > 0 {
        let is_swapped =
            table.x.iter().all(|x| x.abs() <= 90.0) && table.y.iter().all(|y| y.abs() <= 360.0);
        let error = if is_swapped {
            IntakeError::Coordinates {
                place: place(lat_over.first()),
                what: format!(
                    "a latitude beyond 90 degrees in \"{}\": longitude and latitude are swapped",
                    names.1
                ),
                help: format!(
                    "set x = \"{}\" and y = \"{}\" in the plan",
                    names.1, names.0
                ),
            }
        } else {
            no_degrees(place(lat_over.first()), names, &lat_over)
        };
        context.errors.push(error);
        return;
    }
    if lon_far_over.count() > 0 {
        let error = no_degrees(place(lon_far_over.first()), names, &lon_far_over);
        context.errors.push(error);
        return;
    }
    if lon_over.count() > 0 {
        table
            .x
            .iter_mut()
            .filter(|x| **x > 180.0)
            .for_each(|x| *x -= 360.0);
        let what = format!(
            "{} longitudes above 180 degrees: 360 taken off",
            lon_over.count()
        );
        context
            .remarks
            .push(Remark::info("longitude-0-to-360", what).at(context.column(names.0)));
    }
}

fn no_degrees(place: Place, names: (&str, &str), rows: &RowTally) -> IntakeError {
    IntakeError::Coordinates {
        place,
        what: format!(
            "\"{}\" and \"{}\" are not degrees ({})",
            names.0,
            names.1,
            rows.show()
        ),
        help: "give the projected system they are in, for example crs = \"EPSG:26914\"".to_owned(),
    }
}

fn rows_where(table: &PointTable, test: impl Fn(f64, f64) -> bool) -> RowTally {
    let mut rows = RowTally::default();
    for ((x, y), row) in table.x.iter().zip(&table.y).zip(&table.row) {
        if test(*x, *y) {
            rows.add(*row);
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::sexagesimal;

    #[test]
    fn degrees_minutes_and_seconds_become_degrees() {
        let near = |text: &str, value: f64| {
            let read = sexagesimal(text).unwrap_or(f64::NAN);
            assert!((read - value).abs() < 1e-9, "{text}: {read}");
        };
        near("41°12'30\"N", 41.0 + 12.0 / 60.0 + 30.0 / 3600.0);
        near("97 6.5 W", -(97.0 + 6.5 / 60.0));
        near("S 33 51 35.9", -(33.0 + 51.0 / 60.0 + 35.9 / 3600.0));
        near("97.12 W", -97.12);
        for text in ["4112.500,N", "41 72", "north", "12 Jun", ""] {
            assert_eq!(sexagesimal(text), None, "{text}");
        }
    }
}

//! Points in files of shapes become a table: coordinates first, then the attributes as columns.

use std::collections::BTreeMap;

use geo::{Coord, Geometry};

use crate::intake::columns::Header;
use crate::intake::columns::table_roles::table_roles;
use crate::intake::context::Context;
use crate::intake::error::IntakeError;
use crate::intake::formats::delimited::Row;
use crate::intake::formats::shapes::{Shape, Shapes};
use crate::intake::formats::text_rows::TextRows;
use crate::intake::survey::PointTable;
use crate::intake::table::builder::{RowSource, read_table};
use crate::intake::table::coordinates::settle_crs;
use crate::intake::table::duplicates::remark_on_duplicates;
use crate::intake::table::tally::RowTally;
use crate::remark::Remark;

/// Names of the two coordinate columns; brackets keep them apart from attributes.
const COORDINATES: [&str; 2] = ["(longitude or east)", "(latitude or north)"];

impl RowSource for TextRows {
    fn visit(&mut self, visit: &mut dyn FnMut(&Row<'_>)) -> Result<(), IntakeError> {
        self.for_each(visit);
        Ok(())
    }
}

/// Most cells of such a table.
const MOST_CELLS: usize = 50_000_000;
/// Most columns of such a table; attributes beyond are not read.
const MOST_COLUMNS: usize = 4_096;

/// Reads the points of a file of shapes.
pub(in crate::intake) fn table_of_shapes(
    shapes: &Shapes,
    context: &mut Context<'_>,
) -> Option<PointTable> {
    context.remarks.extend(shapes.remarks.iter().cloned());
    let columns = Columns::from_shapes(shapes);
    let cells = columns.names.len().saturating_mul(shapes.list.len());
    if cells > MOST_CELLS {
        let what = format!("a table of {cells} attributes");
        context.errors.push(IntakeError::OverLimit {
            place: context.place(),
            what,
            limit: MOST_CELLS.to_string(),
        });
        return None;
    }
    let mut rows = rows_of(shapes, &columns, context)?;
    let header = header_of_shapes(shapes);
    let by_format = shapes.is_degrees_by_format.then(|| "EPSG:4326".to_owned());
    if shapes.crs.is_none() && by_format.is_none() && context.settings.crs.is_none() {
        context.errors.push(IntakeError::CoordinateSystem {
            place: context.place(),
            what: "there is no .prj file beside the shapefile".to_owned(),
            help: "add the .prj file, or crs = \"EPSG:...\" to this [[points]] table".to_owned(),
        });
        return None;
    }
    let table = table_of_rows(&header, &mut rows, context, true)?;
    Some(placed(table, shapes.crs.clone().or(by_format), context))
}

/// Reads rows of text as a table.
pub(in crate::intake) fn table_of_rows(
    header: &Header,
    rows: &mut TextRows,
    context: &mut Context<'_>,
    has_geometry: bool,
) -> Option<PointTable> {
    let errors_before = context.errors.len();
    let roles = table_roles(header, context, has_geometry);
    if context.errors.len() > errors_before {
        return None;
    }
    let table = read_table(header, &roles, context, rows)?;
    if table.x.is_empty() {
        context.errors.push(IntakeError::Nothing {
            place: context.place(),
            what: "the file holds no point that can be used".to_owned(),
        });
        return None;
    }
    Some(table)
}

/// A table with its coordinate system and its duplicates remarked on.
pub(in crate::intake) fn placed(
    mut table: PointTable,
    crs: Option<String>,
    context: &mut Context<'_>,
) -> PointTable {
    settle_crs(&mut table, crs, context, (COORDINATES[0], COORDINATES[1]));
    remark_on_duplicates(&table, context);
    table
}

/// The columns that the attributes of all shapes make.
struct Columns {
    names: Vec<String>,
    index: BTreeMap<String, usize>,
}

impl Columns {
    fn from_shapes(shapes: &Shapes) -> Self {
        let mut names: Vec<String> = COORDINATES.iter().map(|name| (*name).to_owned()).collect();
        let mut index = BTreeMap::new();
        for (name, _) in shapes.list.iter().flat_map(|shape| &shape.attributes) {
            if names.len() < MOST_COLUMNS && !index.contains_key(name) {
                index.insert(name.clone(), names.len());
                names.push(name.clone());
            }
        }
        Self { names, index }
    }

    /// The texts of a shape's attributes, column by column; the coordinates are left blank.
    fn texts<'s>(&self, shape: &'s Shape) -> Vec<&'s str> {
        let mut texts = vec![""; self.names.len()];
        for (name, value) in &shape.attributes {
            if let Some(text) = self.index.get(name).and_then(|at| texts.get_mut(*at)) {
                *text = value;
            }
        }
        texts
    }
}

/// The head of the table that the points would make.
pub(in crate::intake) fn header_of_shapes(shapes: &Shapes) -> Header {
    let columns = Columns::from_shapes(shapes);
    let sample = shapes
        .list
        .iter()
        .take(60)
        .map(|shape| {
            columns
                .texts(shape)
                .into_iter()
                .map(str::to_owned)
                .collect()
        })
        .collect();
    Header::new(&columns.names, Vec::new(), sample)
}

fn rows_of(shapes: &Shapes, columns: &Columns, context: &mut Context<'_>) -> Option<TextRows> {
    let mut out = TextRows::default();
    let mut without_place = RowTally::default();
    for shape in &shapes.list {
        let Some(geometry) = &shape.geometry else {
            without_place.add(shape.number);
            continue;
        };
        let Some(point) = single_point(geometry) else {
            context.errors.push(IntakeError::Shape {
                place: context.place(),
                what: format!("shape {} is not a single point", shape.number),
                help: "results stand at points: export the sample points".to_owned(),
            });
            return None;
        };
        let (x, y) = (point.x.to_string(), point.y.to_string());
        let texts = columns.texts(shape).into_iter().skip(COORDINATES.len());
        out.push(
            shape.number,
            [x.as_str(), y.as_str()].into_iter().chain(texts),
        );
    }
    context.remarks.extend(without_place.remark(|rows| {
        let what = format!("{} without a place: not used", rows.show());
        Remark::warning("no-place", what)
            .at(context.place())
            .help("give them a point, or delete the rows")
    }));
    Some(out)
}

fn single_point(geometry: &Geometry<f64>) -> Option<Coord<f64>> {
    match geometry {
        Geometry::Point(point) => Some(point.0),
        Geometry::MultiPoint(points) => match points.0.as_slice() {
            [one] => Some(one.0),
            _ => None,
        },
        _ => None,
    }
}

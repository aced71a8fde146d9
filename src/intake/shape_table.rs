//! Points in files of shapes become a table: coordinates first, then the attributes as columns.

use geo::Geometry;

use super::columns::Header;
use super::context::Context;
use super::coordinates::settle_crs;
use super::delimited::Row;
use super::duplicates::remark_on_duplicates;
use super::error::IntakeError;
use super::shapes::Shapes;
use super::survey::PointTable;
use super::table::{RowSource, read_table};
use super::table_roles::table_roles;

/// Names of the two coordinate columns; brackets keep them apart from attributes.
const COORDINATES: [&str; 2] = ["(longitude or east)", "(latitude or north)"];

/// Rows of text held in one buffer.
struct TextRows {
    bytes: Vec<u8>,
    rows: Vec<(u32, Vec<(u32, u32)>)>,
}

impl RowSource for TextRows {
    fn visit(&mut self, visit: &mut dyn FnMut(&Row<'_>)) -> Result<(), IntakeError> {
        for (number, cells) in &self.rows {
            visit(&Row::new(*number, &self.bytes, cells));
        }
        Ok(())
    }
}

/// Reads the points of a file of shapes.
pub(super) fn table_of_shapes(shapes: &Shapes, context: &mut Context<'_>) -> Option<PointTable> {
    let errors_before = context.errors.len();
    let names = names_of(shapes);
    context.remarks.extend(shapes.remarks.iter().cloned());
    let mut rows = rows_of(shapes, &names, context)?;
    let sample = rows.rows.iter().take(60).map(|(number, cells)| {
        let row = Row::new(*number, &rows.bytes, cells);
        (0..row.len()).map(|at| String::from_utf8_lossy(row.cell(at)).into_owned()).collect()
    });
    let header = Header::new(names, Vec::new(), sample.collect());
    let roles = table_roles(&header, context, true);
    if context.errors.len() > errors_before {
        return None;
    }
    let mut table = read_table(&header, &roles, context, &mut rows)?;
    if table.x.is_empty() {
        context.errors.push(IntakeError::Nothing { place: context.place(), what: "the file holds no point".to_owned() });
        return None;
    }
    let by_format = shapes.is_degrees_by_format.then(|| "EPSG:4326".to_owned());
    if shapes.crs.is_none() && by_format.is_none() && context.settings.crs.is_none() {
        context.errors.push(IntakeError::CoordinateSystem {
            place: context.place(),
            what: "there is no .prj file beside the shapefile".to_owned(),
            way_out: "add the .prj file, or crs = \"EPSG:...\" to this [[points]] table".to_owned(),
        });
        return None;
    }
    settle_crs(&mut table, shapes.crs.clone().or(by_format), context, (COORDINATES[0], COORDINATES[1]));
    remark_on_duplicates(&table, context);
    Some(table)
}

fn names_of(shapes: &Shapes) -> Vec<String> {
    let mut names: Vec<String> = COORDINATES.iter().map(|name| (*name).to_owned()).collect();
    for shape in &shapes.list {
        for (name, _) in &shape.attributes {
            if !names.contains(name) && names.len() < 4_096 {
                names.push(name.clone());
            }
        }
    }
    names
}

/// The head of the table that the points would make.
pub(super) fn header_of_shapes(shapes: &Shapes) -> Header {
    let names = names_of(shapes);
    let sample = shapes.list.iter().take(60).map(|shape| {
        let value =
            |name: &String| shape.attributes.iter().find(|(own, _)| own == name).map_or_else(String::new, |(_, value)| value.clone());
        names.iter().map(value).collect()
    });
    let sample = sample.collect();
    Header::new(names, Vec::new(), sample)
}

fn rows_of(shapes: &Shapes, names: &[String], context: &mut Context<'_>) -> Option<TextRows> {
    let mut out = TextRows { bytes: Vec::new(), rows: Vec::new() };
    for shape in &shapes.list {
        let Some(geometry) = &shape.geometry else { continue };
        let point = match geometry {
            Geometry::Point(point) => Some(point.0),
            Geometry::MultiPoint(points) => match points.0.as_slice() {
                [one] => Some(one.0),
                _ => None,
            },
            _ => None,
        };
        let Some(point) = point else {
            context.errors.push(IntakeError::Shape {
                place: context.place(),
                what: format!("shape {} is not a single point", shape.number),
                way_out: "results stand at points: export the sample points".to_owned(),
            });
            return None;
        };
        let mut cells = Vec::with_capacity(names.len());
        let mut push = |text: &str| {
            let from = out.bytes.len() as u32;
            out.bytes.extend_from_slice(text.as_bytes());
            cells.push((from, out.bytes.len() as u32));
        };
        push(&point.x.to_string());
        push(&point.y.to_string());
        for name in names.iter().skip(COORDINATES.len()) {
            push(shape.attributes.iter().find(|(own, _)| own == name).map_or("", |(_, value)| value));
        }
        out.rows.push((shape.number, cells));
    }
    Some(out)
}

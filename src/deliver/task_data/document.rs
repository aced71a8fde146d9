//! `TASKDATA.XML`, version 4.3: one field, one product and one task per rate column.

use super::raster::Raster;
use super::setpoint::Setpoint;
use crate::deliver::columns::RateColumn;
use crate::deliver::degrees::{Part, Spot, push_decimal};
use crate::deliver::overview::Overview;
use crate::deliver::pieces::Piece;
use crate::deliver::run_record::{PROGRAM, VERSION};
use crate::text::Element;
use crate::units::ProductRate;
use crate::units::decimal;

/// Zone code of what lies outside every zone.
pub const OUTSIDE: usize = 0;
/// Highest zone code.
pub const LAST_CODE: usize = 254;
/// Most characters of a name.
const LONGEST_NAME: usize = 32;
const CUSTOMER: &str = "CTR1";
const FARM: &str = "FRM1";

/// Where the rates of a task are.
#[derive(Debug, Clone, Copy)]
pub enum Layout<'a> {
    /// In polygons, one code per part.
    Polygons,
    /// In a grid of zone codes (type 1).
    Codes(&'a Raster),
    /// In a grid of rates (type 2).
    Rates(&'a Raster),
}

/// The document's text.
#[must_use]
pub fn document(overview: &Overview<'_>, boundary: &[Part], layout: Layout<'_>) -> String {
    let root = Element::new("ISO11783_TaskData")
        .with("VersionMajor", 4)
        .with("VersionMinor", 3)
        .with(
            "ManagementSoftwareManufacturer",
            format!("{PROGRAM} project"),
        )
        .with("ManagementSoftwareVersion", VERSION)
        .with("DataTransferOrigin", 1)
        .holding(customer(overview))
        .holding(farm(overview))
        .holding([field(overview, boundary)])
        .holding(numbered(overview).map(|(n, column)| product(n, column, overview)))
        .holding(numbered(overview).map(|(n, column)| task(n, column, overview, layout)))
        .holding(numbered(overview).map(|(n, column)| presentation(n, column, overview)));
    root.document()
}

/// The products that go somewhere, numbered from 1. One that goes nowhere has no task.
pub fn numbered<'a>(
    overview: &'a Overview<'_>,
) -> impl Iterator<Item = (usize, &'a RateColumn<'a>)> {
    (1..).zip(overview.used_columns())
}

fn named(text: &str) -> String {
    text.chars().take(LONGEST_NAME).collect()
}

/// Who grows the crop, where the plan says it.
fn customer(overview: &Overview<'_>) -> Option<Element> {
    let grower = overview.stages.settings.people.grower.as_ref()?;
    let customer = Element::new("CTR").with("A", CUSTOMER);
    Some(customer.with("B", named(grower)))
}

/// The farm, where the plan says it.
fn farm(overview: &Overview<'_>) -> Option<Element> {
    let people = &overview.stages.settings.people;
    let farm = Element::new("FRM").with("A", FARM);
    let farm = farm.with("B", named(people.farm.as_ref()?));
    Some(match people.grower {
        Some(_) => farm.with("I", CUSTOMER),
        None => farm,
    })
}

/// The same element with references to grower and farm under these attributes.
fn owned(
    element: Element,
    overview: &Overview<'_>,
    customer: &'static str,
    farm: &'static str,
) -> Element {
    let people = &overview.stages.settings.people;
    let element = match people.grower {
        Some(_) => element.with(customer, CUSTOMER),
        None => element,
    };
    match people.farm {
        Some(_) => element.with(farm, FARM),
        None => element,
    }
}

fn field(overview: &Overview<'_>, boundary: &[Part]) -> Element {
    let area = decimal(overview.stages.field.workable_m2, 0);
    let polygons = boundary
        .iter()
        .map(|part| polygon(part, 1).with("B", "boundary"));
    let field = Element::new("PFD")
        .with("A", "PFD1")
        .with("C", named(&overview.stages.settings.field))
        .with("D", area);
    owned(field, overview, "E", "F").holding(polygons)
}

fn product(number: usize, column: &RateColumn<'_>, overview: &Overview<'_>) -> Element {
    let entry = Setpoint::new(column, overview.units).quantity_entry;
    Element::new("PDT")
        .with("A", format!("PDT{number}"))
        .with("B", named(&column.product.label))
        .with("E", entry)
}

fn presentation(number: usize, column: &RateColumn<'_>, overview: &Overview<'_>) -> Element {
    let scale = Setpoint::new(column, overview.units).scale();
    Element::new("VPN")
        .with("A", format!("VPN{number}"))
        .with("B", 0)
        .with("C", scale)
        .with("D", column.decimals)
        .with("E", column.unit)
}

fn task(
    number: usize,
    column: &RateColumn<'_>,
    overview: &Overview<'_>,
    layout: Layout<'_>,
) -> Element {
    let zones = TaskZones {
        number,
        column,
        overview,
    };
    let name = named(&format!(
        "{} {}",
        column.product.label, overview.stages.settings.season
    ));
    let task = Element::new("TSK")
        .with("A", format!("TSK{number}"))
        .with("B", name);
    let task = owned(task, overview, "C", "D")
        .with("E", "PFD1")
        .with("G", 1);
    task.with("H", OUTSIDE)
        .with("I", OUTSIDE)
        .with("J", OUTSIDE)
        .holding(zones.elements(layout))
}

/// The zones of one task.
struct TaskZones<'a> {
    number: usize,
    column: &'a RateColumn<'a>,
    overview: &'a Overview<'a>,
}

impl TaskZones<'_> {
    /// The zones and, where the rates are in a grid, the grid.
    fn elements(&self, layout: Layout<'_>) -> Vec<Element> {
        let mut elements = vec![self.zone(OUTSIDE, "outside", 0, None)];
        match layout {
            Layout::Polygons => {
                for (code, (name, piece, part)) in (OUTSIDE + 1..).zip(parts(self.overview)) {
                    let outline = Some(polygon(part, 2));
                    elements.push(self.zone(code, &name, self.steps(piece), outline));
                }
            }
            Layout::Codes(raster) => {
                for (code, piece) in (OUTSIDE + 1..).zip(&self.overview.pieces) {
                    let name = piece.name(self.overview.zones[piece.place].number);
                    elements.push(self.zone(code, &name, self.steps(piece), None));
                }
                elements.push(grid(self.number, raster, 1));
            }
            Layout::Rates(raster) => {
                elements.push(self.zone(OUTSIDE + 1, "grid", 0, None));
                elements.push(grid(self.number, raster, 4).with("J", OUTSIDE + 1));
            }
        }
        elements
    }

    fn zone(&self, code: usize, name: &str, steps: i32, outline: Option<Element>) -> Element {
        Element::new("TZN")
            .with("A", code)
            .with("B", named(name))
            .holding(outline)
            .holding([self.value(steps)])
    }

    fn value(&self, steps: i32) -> Element {
        let number = self.number;
        let entry = Setpoint::new(self.column, self.overview.units).rate_entry;
        Element::new("PDV")
            .with("A", entry)
            .with("B", steps)
            .with("C", format!("PDT{number}"))
            .with("E", format!("VPN{number}"))
    }

    /// The rate on a piece in the steps of the setpoint.
    fn steps(&self, piece: &Piece<'_>) -> i32 {
        Setpoint::steps(amount(self.overview, self.column, piece))
    }
}

/// The rate of a product on a piece.
#[must_use]
pub fn amount(overview: &Overview<'_>, column: &RateColumn<'_>, piece: &Piece<'_>) -> ProductRate {
    let at = overview
        .columns
        .iter()
        .position(|known| known.product.name == column.product.name);
    at.and_then(|at| piece.amounts.get(at).copied())
        .unwrap_or_else(|| column.product.form.nothing())
}

/// Every part of every piece, with its name.
pub fn parts<'a>(
    overview: &'a Overview<'a>,
) -> impl Iterator<Item = (String, &'a Piece<'a>, &'a Part)> {
    overview.pieces.iter().flat_map(|piece| {
        let name = piece.name(overview.zones[piece.place].number);
        piece.parts.iter().enumerate().map(move |(at, part)| {
            let name = if piece.parts.len() == 1 {
                name.clone()
            } else {
                format!("{name} part {}", at + 1)
            };
            (name, piece, part)
        })
    })
}

fn polygon(part: &Part, kind: u8) -> Element {
    let holes = part.holes.iter().map(|hole| ring(hole, 2));
    Element::new("PLN")
        .with("A", kind)
        .holding([ring(&part.outer, 1)])
        .holding(holes)
}

fn ring(spots: &[Spot], kind: u8) -> Element {
    let points = spots.iter().chain(spots.first()).map(|spot| {
        let text = |steps| {
            let mut text = String::new();
            push_decimal(&mut text, steps);
            text
        };
        Element::new("PNT")
            .with("A", 2)
            .with("C", text(spot.lat))
            .with("D", text(spot.lon))
    });
    Element::new("LSG").with("A", kind).holding(points)
}

fn grid(number: usize, raster: &Raster, bytes: usize) -> Element {
    Element::new("GRD")
        .with("A", decimal(raster.south, 9))
        .with("B", decimal(raster.west, 9))
        .with("C", decimal(raster.cell.0, 9))
        .with("D", decimal(raster.cell.1, 9))
        .with("E", raster.columns)
        .with("F", raster.rows)
        .with("G", format!("GRD{number:05}"))
        .with("H", raster.zone.len() * bytes)
        .with("I", if bytes == 1 { 1 } else { 2 })
}

//! `TASKDATA.XML`, version 4.3: fields, products, and one task per field and product.

use super::card::{CardField, CardProduct};
use super::raster::Raster;
use crate::deliver::degrees::{Part, Spot, push_decimal};
use crate::deliver::run_record::{PROGRAM, VERSION};
use crate::text::Element;
use crate::units::decimal;

/// Zone code of what lies outside every zone.
pub const OUTSIDE: usize = 0;
/// Highest zone code.
pub const LAST_CODE: usize = 254;
/// Most characters of a name.
pub const LONGEST_NAME: usize = 32;

/// Where the rates of a field's tasks are.
#[derive(Debug, Clone)]
pub enum Layout {
    /// In polygons, one code per part.
    Polygons,
    /// In a grid of zone codes (type 1).
    Codes(Raster),
    /// In a grid of rates (type 2).
    Rates(Raster),
}

/// The document's text.
#[must_use]
pub fn document(fields: &[(CardField, Layout)]) -> String {
    let names = Names::new(fields);
    let root = Element::new("ISO11783_TaskData")
        .with("VersionMajor", 4)
        .with("VersionMinor", 3)
        .with(
            "ManagementSoftwareManufacturer",
            format!("{PROGRAM} project"),
        )
        .with("ManagementSoftwareVersion", VERSION)
        .with("DataTransferOrigin", 1)
        .holding(names.customers())
        .holding(names.farms())
        .holding((1..).zip(fields).map(|(n, (field, _))| {
            let element = Element::new("PFD")
                .with("A", format!("PFD{n}"))
                .with("C", named(&field.name))
                .with("D", decimal(field.area_m2, 0));
            let polygons = field.boundary.iter();
            names
                .owned(element, field, "E", "F")
                .holding(polygons.map(|part| polygon(part, 1).with("B", "boundary")))
        }))
        .holding(
            (1..)
                .zip(&names.products)
                .map(|(n, known)| product(n, known)),
        )
        .holding(tasks(fields, &names))
        .holding(
            (1..)
                .zip(&names.products)
                .map(|(n, known)| presentation(n, known)),
        );
    root.document()
}

/// What is named once on a card and referred to by number.
struct Names<'a> {
    growers: Vec<&'a str>,
    farms: Vec<(Option<&'a str>, &'a str)>,
    products: Vec<&'a CardProduct>,
}

impl<'a> Names<'a> {
    fn new(fields: &'a [(CardField, Layout)]) -> Self {
        let mut names = Self {
            growers: Vec::new(),
            farms: Vec::new(),
            products: Vec::new(),
        };
        for (field, _) in fields {
            let grower = field.grower.as_deref();
            if let Some(grower) = grower.filter(|grower| !names.growers.contains(grower)) {
                names.growers.push(grower);
            }
            let farm = field.farm.as_deref().map(|farm| (grower, farm));
            if let Some(farm) = farm.filter(|farm| !names.farms.contains(farm)) {
                names.farms.push(farm);
            }
            for product in &field.products {
                if names.number_of(product).is_none() {
                    names.products.push(product);
                }
            }
        }
        names
    }

    /// Number of a product: the same where it is called, stored and shown alike.
    fn number_of(&self, product: &CardProduct) -> Option<usize> {
        let form = |one: &CardProduct| {
            let CardProduct {
                name,
                label,
                unit,
                decimals,
                setpoint,
                ..
            } = one;
            (
                name.clone(),
                label.clone(),
                unit.clone(),
                *decimals,
                setpoint.rate_entry,
            )
        };
        let mut known = self.products.iter();
        let at = known.position(|known| form(known) == form(product))?;
        Some(at + 1)
    }

    fn customer(&self, grower: Option<&str>) -> Option<String> {
        let at = self
            .growers
            .iter()
            .position(|known| Some(*known) == grower)?;
        Some(format!("CTR{}", at + 1))
    }

    fn customers(&self) -> impl Iterator<Item = Element> {
        (1..).zip(&self.growers).map(|(n, grower)| {
            Element::new("CTR")
                .with("A", format!("CTR{n}"))
                .with("B", named(grower))
        })
    }

    fn farms(&self) -> impl Iterator<Item = Element> {
        (1..).zip(&self.farms).map(|(n, (grower, farm))| {
            let element = Element::new("FRM")
                .with("A", format!("FRM{n}"))
                .with("B", named(farm));
            match self.customer(*grower) {
                Some(customer) => element.with("I", customer),
                None => element,
            }
        })
    }

    /// The same element with references to grower and farm under these attributes.
    fn owned(
        &self,
        element: Element,
        field: &CardField,
        customer: &'static str,
        farm: &'static str,
    ) -> Element {
        let grower = field.grower.as_deref();
        let element = match self.customer(grower) {
            Some(number) => element.with(customer, number),
            None => element,
        };
        let known = |known: &(Option<&str>, &str)| {
            (known.0, Some(known.1)) == (grower, field.farm.as_deref())
        };
        match self.farms.iter().position(known) {
            Some(at) => element.with(farm, format!("FRM{}", at + 1)),
            None => element,
        }
    }
}

fn named(text: &str) -> String {
    text.chars().take(LONGEST_NAME).collect()
}

fn product(number: usize, product: &CardProduct) -> Element {
    Element::new("PDT")
        .with("A", format!("PDT{number}"))
        .with("B", named(&product.label))
        .with("E", product.setpoint.quantity_entry)
}

fn presentation(number: usize, product: &CardProduct) -> Element {
    Element::new("VPN")
        .with("A", format!("VPN{number}"))
        .with("B", 0)
        .with("C", product.setpoint.scale())
        .with("D", product.decimals)
        .with("E", &product.unit)
}

/// One task per field and product, numbered through.
fn tasks(fields: &[(CardField, Layout)], names: &Names<'_>) -> Vec<Element> {
    let mut tasks = Vec::new();
    for (of, (field, layout)) in (1..).zip(fields) {
        for product in &field.products {
            let zones = TaskZones {
                task: tasks.len() + 1,
                number: names.number_of(product).unwrap_or(1),
                field,
                product,
            };
            let task = Element::new("TSK")
                .with("A", format!("TSK{}", zones.task))
                .with("B", named(&product.task));
            let task = names
                .owned(task, field, "C", "D")
                .with("E", format!("PFD{of}"))
                .with("G", 1)
                .with("H", OUTSIDE)
                .with("I", OUTSIDE)
                .with("J", OUTSIDE)
                .holding(zones.elements(layout));
            tasks.push(task);
        }
    }
    tasks
}

/// The zones of one task.
struct TaskZones<'a> {
    task: usize,
    number: usize,
    field: &'a CardField,
    product: &'a CardProduct,
}

impl TaskZones<'_> {
    /// The zones and, where the rates are in a grid, the grid.
    fn elements(&self, layout: &Layout) -> Vec<Element> {
        let mut elements = vec![self.zone(OUTSIDE, "outside", 0, None)];
        let steps = &self.product.steps;
        match layout {
            Layout::Polygons => {
                for (code, (name, place, part)) in (OUTSIDE + 1..).zip(self.field.parts()) {
                    let outline = Some(polygon(part, 2));
                    elements.push(self.zone(code, &name, steps[place], outline));
                }
            }
            Layout::Codes(raster) => {
                let pieces = self.field.pieces.iter().zip(steps);
                for (code, (piece, steps)) in (OUTSIDE + 1..).zip(pieces) {
                    elements.push(self.zone(code, &piece.name, *steps, None));
                }
                elements.push(grid(self.task, raster, 1));
            }
            Layout::Rates(raster) => {
                elements.push(self.zone(OUTSIDE + 1, "grid", 0, None));
                elements.push(grid(self.task, raster, 4).with("J", OUTSIDE + 1));
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
        Element::new("PDV")
            .with("A", self.product.setpoint.rate_entry)
            .with("B", steps)
            .with("C", format!("PDT{number}"))
            .with("E", format!("VPN{number}"))
    }
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

//! A style as Styled Layer Descriptor 1.0.0: the open standard that GIS programs and map servers read.
//!
//! # Source
//! OGC Styled Layer Descriptor Implementation Specification 1.0.0 (OGC 02-070); filters of OGC 02-059.

use super::style::{Look, Style, Symbol};
use crate::deliver::colours::{Colour, hex};
use crate::text::Element;
use crate::units::decimal;

/// The document.
#[must_use]
pub fn sld(style: &Style) -> String {
    let rules = style.looks.iter().map(|look| rule(style, look));
    let features = Element::new("FeatureTypeStyle")
        .holding(rules)
        .holding(style.label.map(label));
    let named = |tag| Element::new(tag).holding([Element::new("Name").saying(style.name)]);
    Element::new("StyledLayerDescriptor")
        .with("version", "1.0.0")
        .with("xmlns", "http://www.opengis.net/sld")
        .with("xmlns:ogc", "http://www.opengis.net/ogc")
        .holding([named("NamedLayer").holding([named("UserStyle").holding([features])])])
        .compact_document()
}

fn rule(style: &Style, look: &Look) -> Element {
    let filter = style.by.zip(look.value).map(|(column, value)| {
        Element::new("ogc:Filter").holding([Element::new("ogc:PropertyIsEqualTo").holding([
            Element::new("ogc:PropertyName").saying(column),
            Element::new("ogc:Literal").saying(value.to_string()),
        ])])
    });
    Element::new("Rule")
        .holding([
            Element::new("Name").saying(&look.title),
            Element::new("Title").saying(&look.title),
        ])
        .holding(filter)
        .holding([symbol(look.symbol)])
}

fn symbol(symbol: Symbol) -> Element {
    let (shape, colour, rim, size) = match symbol {
        Symbol::Area {
            fill: (colour, cover),
            rim,
        } => {
            return Element::new("PolygonSymbolizer").holding([fill(colour, cover), stroke(rim)]);
        }
        Symbol::Round { fill, rim, size } => ("circle", fill, rim, size),
        Symbol::Triangle { fill, rim, size } => ("triangle", fill, rim, size),
    };
    let turn = (shape == "triangle").then(|| Element::new("Rotation").saying("180"));
    let mark = Element::new("Mark").holding([
        Element::new("WellKnownName").saying(shape),
        fill(colour, 1.0),
        stroke(rim),
    ]);
    let graphic = Element::new("Graphic")
        .holding([mark, Element::new("Size").saying(decimal(size, 2))])
        .holding(turn);
    Element::new("PointSymbolizer").holding([graphic])
}

fn parameter(name: &str, value: &str) -> Element {
    Element::new("CssParameter")
        .with("name", name)
        .saying(value)
}

fn fill(colour: Colour, cover: f64) -> Element {
    Element::new("Fill").holding([
        parameter("fill", &hex(colour)),
        parameter("fill-opacity", &decimal(cover, 2)),
    ])
}

fn stroke((colour, width): (Colour, f64)) -> Element {
    Element::new("Stroke").holding([
        parameter("stroke", &hex(colour)),
        parameter("stroke-width", &decimal(width, 2)),
    ])
}

/// The text of a column in the middle of each feature, dark with a white rim, so that it is read on every colour.
fn label(column: &str) -> Element {
    let plain_fill = |colour| Element::new("Fill").holding([parameter("fill", colour)]);
    let text = Element::new("TextSymbolizer").holding([
        Element::new("Label").holding([Element::new("ogc:PropertyName").saying(column)]),
        Element::new("Font").holding([
            parameter("font-size", "14"),
            parameter("font-weight", "bold"),
        ]),
        Element::new("Halo").holding([Element::new("Radius").saying("2"), plain_fill("#ffffff")]),
        plain_fill("#101418"),
    ]);
    Element::new("Rule").holding([text])
}

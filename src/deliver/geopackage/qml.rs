//! A style as the layer style document (QML) that desktop GIS programs take from the table `layer_styles` when a layer is opened.
//!
//! Settings stand as `prop`, the form that old and new readers take alike.

use super::style::{Look, Style, Symbol};
use crate::deliver::colours::Colour;
use crate::text::Element;
use crate::units::decimal;

/// The document type that readers of the format look for.
const DOCUMENT_TYPE: &str = "<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>\n";

/// The document.
#[must_use]
pub fn qml(style: &Style) -> String {
    let root = Element::new("qgis")
        .with("version", "3.22")
        .with("styleCategories", "Symbology|Labeling")
        .with("labelsEnabled", u8::from(style.label.is_some()))
        .holding([renderer(style)])
        .holding(style.label.map(label));
    format!("{DOCUMENT_TYPE}{}\n", root.on_one_line())
}

fn renderer(style: &Style) -> Element {
    let looks = || style.looks.iter().enumerate();
    let renderer = Element::new("renderer-v2");
    let renderer = match style.by {
        Some(column) => renderer
            .with("type", "categorizedSymbol")
            .with("attr", column)
            .holding([Element::new("categories").holding(looks().map(category))]),
        None => renderer.with("type", "singleSymbol"),
    };
    let symbols = looks().map(|(at, look)| symbol(at, look.symbol));
    renderer.holding([Element::new("symbols").holding(symbols)])
}

fn category((at, look): (usize, &Look)) -> Element {
    let value = look.value.map(|value| value.to_string());
    Element::new("category")
        .with("value", value.unwrap_or_default())
        .with("symbol", at)
        .with("label", &look.title)
        .with("render", true)
}

fn symbol(at: usize, symbol: Symbol) -> Element {
    let (kind, class) = if matches!(symbol, Symbol::Area { .. }) {
        ("fill", "SimpleFill")
    } else {
        ("marker", "SimpleMarker")
    };
    let properties = settings(symbol)
        .into_iter()
        .map(|(key, value)| Element::new("prop").with("k", key).with("v", value));
    let layer = Element::new("layer")
        .with("class", class)
        .with("enabled", 1)
        .with("pass", 0)
        .with("locked", 0)
        .holding(properties);
    Element::new("symbol")
        .with("type", kind)
        .with("name", at)
        .with("alpha", 1)
        .holding([layer])
}

fn settings(symbol: Symbol) -> Vec<(&'static str, String)> {
    let (mut settings, (rim, width)) = match symbol {
        Symbol::Area {
            fill: (colour, cover),
            rim,
        } => {
            // Where nothing is covered nothing is filled, so that a click goes through to what lies below.
            let how = if cover > 0.0 { "solid" } else { "no" };
            (
                vec![
                    ("color", colour_of(colour, cover)),
                    ("style", how.to_owned()),
                ],
                rim,
            )
        }
        Symbol::Round { fill, rim, size } => (mark("circle", 0, fill, size), rim),
        Symbol::Triangle { fill, rim, size } => (mark("triangle", 180, fill, size), rim),
    };
    settings.push(("outline_color", colour_of(rim, 1.0)));
    settings.push(("outline_style", "solid".to_owned()));
    settings.push(("outline_width", decimal(width, 2)));
    settings.push(("outline_width_unit", "Point".to_owned()));
    settings
}

fn mark(name: &str, angle: u16, fill: Colour, size: f64) -> Vec<(&'static str, String)> {
    vec![
        ("name", name.to_owned()),
        ("angle", angle.to_string()),
        ("color", colour_of(fill, 1.0)),
        ("size", decimal(size, 2)),
        ("size_unit", "Point".to_owned()),
    ]
}

/// Red, green, blue and cover, each 0 to 255.
fn colour_of([red, green, blue]: Colour, cover: f64) -> String {
    format!("{red},{green},{blue},{:.0}", cover.clamp(0.0, 1.0) * 255.0)
}

/// The text of a column in the middle of each feature, dark with a white rim, so that it is read on every colour.
fn label(column: &str) -> Element {
    let buffer = Element::new("text-buffer")
        .with("bufferDraw", 1)
        .with("bufferSize", 1)
        .with("bufferSizeUnits", "MM")
        .with("bufferColor", "255,255,255,255");
    let text = Element::new("text-style")
        .with("fieldName", column)
        .with("isExpression", 0)
        .with("fontSize", 14)
        .with("fontSizeUnit", "Point")
        .with("fontWeight", 75)
        .with("namedStyle", "Bold")
        .with("textColor", "16,20,24,255")
        .holding([buffer]);
    let placement = Element::new("placement")
        .with("placement", 1)
        .with("labelAllParts", 1);
    let settings = Element::new("settings").holding([text, placement]);
    Element::new("labeling")
        .with("type", "simple")
        .holding([settings])
}

//! A style as the layer style document (QML) that desktop GIS programs take from the table `layer_styles` when a layer is opened.
//!
//! Settings stand as `prop`, the form that old and new readers take alike.

use std::fmt::Write;

use super::style::{Look, Style, Symbol};
use crate::deliver::colours::Colour;
use crate::deliver::escape::markup;
use crate::units::decimal;

/// The document.
#[must_use]
pub fn qml(style: &Style) -> String {
    let mut out = String::from("<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>\n");
    let _ = write!(
        out,
        "<qgis version=\"3.22\" styleCategories=\"Symbology|Labeling\" labelsEnabled=\"{}\">",
        u8::from(style.label.is_some())
    );
    if let Some(column) = style.by {
        let _ = write!(
            out,
            "<renderer-v2 type=\"categorizedSymbol\" attr=\"{}\"><categories>",
            markup(column)
        );
        for (at, look) in style.looks.iter().enumerate() {
            push_category(&mut out, at, look);
        }
        out.push_str("</categories>");
    } else {
        out.push_str("<renderer-v2 type=\"singleSymbol\">");
    }
    out.push_str("<symbols>");
    for (at, look) in style.looks.iter().enumerate() {
        push_symbol(&mut out, at, look.symbol);
    }
    out.push_str("</symbols></renderer-v2>");
    if let Some(column) = style.label {
        push_label(&mut out, column);
    }
    out.push_str("</qgis>\n");
    out
}

fn push_category(out: &mut String, at: usize, look: &Look) {
    let value = look
        .value
        .map(|value| value.to_string())
        .unwrap_or_default();
    // Writing to a string cannot fail.
    let _ = write!(
        out,
        "<category value=\"{value}\" symbol=\"{at}\" label=\"{}\" render=\"true\"/>",
        markup(&look.title)
    );
}

fn push_symbol(out: &mut String, at: usize, symbol: Symbol) {
    let (kind, class) = if matches!(symbol, Symbol::Area { .. }) {
        ("fill", "SimpleFill")
    } else {
        ("marker", "SimpleMarker")
    };
    let _ = write!(
        out,
        "<symbol type=\"{kind}\" name=\"{at}\" alpha=\"1\"><layer class=\"{class}\" enabled=\"1\" pass=\"0\" locked=\"0\">"
    );
    for (key, value) in settings(symbol) {
        let _ = write!(out, "<prop k=\"{key}\" v=\"{value}\"/>");
    }
    out.push_str("</layer></symbol>");
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
fn push_label(out: &mut String, column: &str) {
    let _ = write!(
        out,
        "<labeling type=\"simple\"><settings><text-style fieldName=\"{}\" isExpression=\"0\" fontSize=\"14\" fontSizeUnit=\"Point\" \
         fontWeight=\"75\" namedStyle=\"Bold\" textColor=\"16,20,24,255\"><text-buffer bufferDraw=\"1\" bufferSize=\"1\" bufferSizeUnits=\"MM\" \
         bufferColor=\"255,255,255,255\"/></text-style><placement placement=\"1\" labelAllParts=\"1\"/></settings></labeling>",
        markup(column)
    );
}

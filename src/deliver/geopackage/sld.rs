//! A style as Styled Layer Descriptor 1.0.0: the open standard that GIS programs and map servers read.
//!
//! # Source
//! OGC Styled Layer Descriptor Implementation Specification 1.0.0 (OGC 02-070); filters of OGC 02-059.

use std::fmt::Write;

use super::style::{Look, Style, Symbol};
use crate::deliver::colours::{Colour, hex};
use crate::deliver::escape::markup;
use crate::units::decimal;

/// The document.
#[must_use]
pub fn sld(style: &Style) -> String {
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<StyledLayerDescriptor version=\"1.0.0\" xmlns=\"http://www.opengis.net/sld\" \
         xmlns:ogc=\"http://www.opengis.net/ogc\"><NamedLayer><Name>{0}</Name><UserStyle><Name>{0}</Name><FeatureTypeStyle>",
        markup(style.name)
    );
    for look in &style.looks {
        push_rule(&mut out, style, look);
    }
    if let Some(column) = style.label {
        push_label(&mut out, column);
    }
    out.push_str("</FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>\n");
    out
}

fn push_rule(out: &mut String, style: &Style, look: &Look) {
    let title = markup(&look.title);
    // Writing to a string cannot fail.
    let _ = write!(out, "<Rule><Name>{title}</Name><Title>{title}</Title>");
    if let (Some(column), Some(value)) = (style.by, look.value) {
        let column = markup(column);
        let _ = write!(
            out,
            "<ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>{column}</ogc:PropertyName><ogc:Literal>{value}</ogc:Literal>\
             </ogc:PropertyIsEqualTo></ogc:Filter>"
        );
    }
    push_symbol(out, look.symbol);
    out.push_str("</Rule>");
}

fn push_symbol(out: &mut String, symbol: Symbol) {
    let (shape, fill, rim, size) = match symbol {
        Symbol::Area {
            fill: (colour, cover),
            rim,
        } => {
            let _ = write!(
                out,
                "<PolygonSymbolizer>{}{}</PolygonSymbolizer>",
                fill_of(colour, cover),
                stroke(rim)
            );
            return;
        }
        Symbol::Round { fill, rim, size } => ("circle", fill, rim, size),
        Symbol::Triangle { fill, rim, size } => ("triangle", fill, rim, size),
    };
    let turn = if shape == "triangle" {
        "<Rotation>180</Rotation>"
    } else {
        ""
    };
    let _ = write!(
        out,
        "<PointSymbolizer><Graphic><Mark><WellKnownName>{shape}</WellKnownName>{}{}</Mark><Size>{}</Size>{turn}</Graphic></PointSymbolizer>",
        fill_of(fill, 1.0),
        stroke(rim),
        decimal(size, 2)
    );
}

fn fill_of(colour: Colour, cover: f64) -> String {
    let cover = decimal(cover, 2);
    format!(
        "<Fill><CssParameter name=\"fill\">{}</CssParameter><CssParameter name=\"fill-opacity\">{cover}</CssParameter></Fill>",
        hex(colour)
    )
}

fn stroke((colour, width): (Colour, f64)) -> String {
    let width = decimal(width, 2);
    format!(
        "<Stroke><CssParameter name=\"stroke\">{}</CssParameter><CssParameter name=\"stroke-width\">{width}</CssParameter></Stroke>",
        hex(colour)
    )
}

/// The text of a column in the middle of each feature, dark with a white rim, so that it is read on every colour.
fn push_label(out: &mut String, column: &str) {
    let _ = write!(
        out,
        "<Rule><TextSymbolizer><Label><ogc:PropertyName>{}</ogc:PropertyName></Label><Font><CssParameter name=\"font-size\">14</CssParameter>\
         <CssParameter name=\"font-weight\">bold</CssParameter></Font><Halo><Radius>2</Radius><Fill><CssParameter name=\"fill\">#ffffff</CssParameter>\
         </Fill></Halo><Fill><CssParameter name=\"fill\">#101418</CssParameter></Fill></TextSymbolizer></Rule>",
        markup(column)
    );
}

//! The frame that all maps share: the field's plane on a sheet of whole steps, zone outlines drawn once and used by every map.

use std::fmt::Write;

use geo::{BoundingRect, LineString, MultiPolygon};

use super::labels::{Label, labels};
use crate::deliver::colours::{hex, zone};
use crate::deliver::overview::Overview;
use crate::units::UnitSystem;

/// Steps on the longer side of the sheet.
const LONG_SIDE: f64 = 1_600.0;
/// Blank steps round the field.
const RIM: f64 = 20.0;
/// Blank steps below it, for the scale bar.
const SOLE: f64 = 70.0;
/// How many ways there are to hatch a zone.
const HATCHES: usize = 6;

/// A sheet with the field on it.
#[derive(Debug)]
pub struct MapFrame {
    west: f64,
    north: f64,
    /// Steps per metre.
    scale: f64,
    /// Width and height of the sheet in steps.
    pub size: (f64, f64),
    /// Where the numbers stand.
    pub labels: Vec<Label>,
}

impl MapFrame {
    /// A sheet that holds the boundary.
    #[must_use]
    pub fn new(overview: &Overview<'_>) -> Self {
        let field = overview.stages.field;
        let grid = &field.grid;
        let rect = field.boundary.bounding_rect();
        let east = grid.west + grid.columns as f64 * grid.cell;
        let south = grid.north - grid.rows as f64 * grid.cell;
        let (west, south, east, north) =
            rect.map_or((grid.west, south, east, grid.north), |rect| {
                (
                    rect.min().x.min(grid.west),
                    rect.min().y.min(south),
                    rect.max().x.max(east),
                    rect.max().y.max(grid.north),
                )
            });
        let scale = LONG_SIDE / (east - west).max(north - south).max(1.0);
        let size = (
            (east - west) * scale + 2.0 * RIM,
            (north - south) * scale + RIM + SOLE,
        );
        Self {
            west,
            north,
            scale,
            size,
            labels: labels(overview),
        }
    }

    /// A place on the plane in steps on the sheet.
    #[must_use]
    pub fn at(&self, x: f64, y: f64) -> (i64, i64) {
        (
            ((x - self.west) * self.scale + RIM).round() as i64,
            ((self.north - y) * self.scale + RIM).round() as i64,
        )
    }

    /// A length on the plane in steps.
    #[must_use]
    pub fn length(&self, metres: f64) -> f64 {
        metres * self.scale
    }

    /// `viewBox` of the sheet.
    #[must_use]
    pub fn view_box(&self) -> String {
        format!("0 0 {:.0} {:.0}", self.size.0, self.size.1)
    }

    /// Path data of an outline.
    #[must_use]
    pub fn path(&self, outline: &MultiPolygon<f64>) -> String {
        let mut out = String::new();
        for polygon in outline {
            self.push_ring(&mut out, polygon.exterior());
            polygon
                .interiors()
                .iter()
                .for_each(|hole| self.push_ring(&mut out, hole));
        }
        out
    }

    fn push_ring(&self, out: &mut String, ring: &LineString<f64>) {
        let mut spots = ring.coords().map(|c| self.at(c.x, c.y));
        let Some(first) = spots.next() else { return };
        let _ = write!(out, "M{} {}l", first.0, first.1);
        let mut last = first;
        for spot in spots {
            if spot != last {
                let _ = write!(out, "{} {} ", spot.0 - last.0, spot.1 - last.1);
                last = spot;
            }
        }
        out.truncate(out.trim_end_matches([' ', 'l']).len());
        out.push('z');
    }

    /// The hidden drawing that the maps take their outlines from.
    #[must_use]
    pub fn definitions(&self, overview: &Overview<'_>) -> String {
        let mut out = String::from(
            "<svg class=\"defs\" width=\"0\" height=\"0\" aria-hidden=\"true\" focusable=\"false\"><defs>",
        );
        for view in &overview.zones {
            let _ = write!(
                out,
                "<path id=\"z{}\" fill-rule=\"evenodd\" d=\"{}\"/>",
                view.number,
                self.path(&view.zone.shape)
            );
        }
        let _ = write!(
            out,
            "<path id=\"edge\" fill-rule=\"evenodd\" d=\"{}\"/>",
            self.path(&overview.stages.field.boundary)
        );
        let kept: String = overview
            .stages
            .field
            .kept_out
            .iter()
            .map(|kept| self.path(&kept.shape))
            .collect();
        let _ = write!(out, "<path id=\"kept\" d=\"{kept}\"/>");
        let _ = write!(out, "<clipPath id=\"in\"><use href=\"#edge\"/></clipPath>");
        out.push_str(
            "<pattern id=\"keep\" width=\"24\" height=\"24\" patternUnits=\"userSpaceOnUse\">\
             <path d=\"M0 0L24 24M24 0L0 24\" class=\"keepline\"/></pattern>",
        );
        for hatch in 0..HATCHES {
            let (angle, gap) = (
                [45, 135, 90, 0, 45, 135][hatch],
                [30, 30, 26, 26, 14, 14][hatch],
            );
            let _ = write!(
                out,
                "<pattern id=\"h{hatch}\" width=\"{gap}\" height=\"{gap}\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate({angle})\">\
                 <path d=\"M0 0H{gap}\" class=\"hatch\"/></pattern>"
            );
        }
        out.push_str("</defs></svg>");
        out
    }

    /// Field edge, keep-outs, north arrow and scale bar, drawn over a map.
    #[must_use]
    pub fn furniture(&self, system: UnitSystem) -> String {
        let (name, metres) = scale_bar(120.0 / self.scale * 2.5, system);
        let (width, y) = (self.length(metres), self.size.1 - 14.0);
        let x = RIM + 6.0;
        format!(
            "<use href=\"#kept\" class=\"kept\" clip-path=\"url(#in)\"/><use href=\"#edge\" class=\"edge\"/>\
             <g class=\"furniture\" aria-hidden=\"true\"><path d=\"M{x:.0} {:.0}v14h{width:.0}v-14\"/><text class=\"scale\" x=\"{:.0}\" y=\"{:.0}\">{name}</text>\
             <path class=\"north\" d=\"M{nx:.0} {ny:.0}l16 46-16-12-16 12z\"/><text x=\"{tx:.0}\" y=\"{y:.0}\" text-anchor=\"end\">N</text></g>",
            y - 14.0,
            x + width + 12.0,
            y,
            nx = self.size.0 - 34.0,
            ny = self.size.1 - 58.0,
            tx = self.size.0 - 62.0,
        )
    }

    /// Font size for a text of so many letters at a label, and whether it fits there at all.
    #[must_use]
    pub fn letter_size(&self, label: &Label, letters: usize) -> f64 {
        (self.length(label.room) * 2.4 / (letters.max(1) as f64 * 0.6 + 0.4)).clamp(34.0, 92.0)
    }
}

/// The hatch of a zone.
#[must_use]
pub fn hatch(place: usize) -> usize {
    place % HATCHES
}

/// The colour of a zone as text.
#[must_use]
pub fn zone_fill(place: usize, count: usize) -> String {
    hex(zone(place, count))
}

/// The longest round length that is no longer than `metres`, with its name.
fn scale_bar(metres: f64, system: UnitSystem) -> (String, f64) {
    let (unit, size) = match system {
        UnitSystem::UnitedStates => ("ft", crate::units::METRES_PER_FOOT),
        UnitSystem::Metric => ("m", 1.0),
    };
    let most = (metres / size).max(1.0);
    let power = 10_f64.powf(most.log10().floor());
    let round = [5.0, 2.0, 1.0]
        .into_iter()
        .map(|step| step * power)
        .find(|length| *length <= most)
        .unwrap_or(power);
    (format!("{round:.0} {unit}"), round * size)
}

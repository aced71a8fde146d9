//! The frame that all maps share: the field's plane on a sheet of whole steps, zone outlines drawn once and used by every map.

use std::fmt::Write;

use geo::{BoundingRect, LineString, MultiPolygon, Rect};
use maud::{Markup, html};

use super::insets::{Inset, insets};
use super::labels::{Label, labels};
use crate::deliver::overview::Overview;
use crate::units::UnitSystem;

/// Steps on the longer side of the sheet.
const LONG_SIDE: f64 = 1_600.0;
/// Blank steps round the field.
const RIM: f64 = 20.0;
/// Blank steps below it, for the scale bar.
const SOLE: f64 = 70.0;
/// Angle of the lines and their distance, for each way to hatch a zone.
const HATCHES: [(u16, u16); 6] = [(45, 30), (135, 30), (90, 26), (0, 26), (45, 14), (135, 14)];

/// A sheet with the field on it.
#[derive(Debug)]
pub struct MapFrame {
    /// What is drawn where; one, unless parts of the field lie far apart.
    pub insets: Vec<Inset>,
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
        let (insets, (width, height)) = insets(&field.boundary, ground(overview));
        let scale = LONG_SIDE / width.max(height).max(1.0);
        let size = (width * scale + 2.0 * RIM, height * scale + RIM + SOLE);
        Self {
            labels: insets
                .iter()
                .flat_map(|inset| labels(overview, inset))
                .collect(),
            insets,
            scale,
            size,
        }
    }

    /// A place on the plane in steps on the sheet.
    #[must_use]
    pub fn at(&self, x: f64, y: f64) -> (i64, i64) {
        let nearest = self
            .insets
            .iter()
            .min_by(|a, b| a.away(x, y).total_cmp(&b.away(x, y)));
        nearest.map_or((0, 0), |inset| self.at_in(inset, x, y))
    }

    /// The same for a place that is drawn in a certain inset.
    #[must_use]
    pub fn at_in(&self, inset: &Inset, x: f64, y: f64) -> (i64, i64) {
        let (west, _, _, north) = inset.ground;
        (
            ((x - west + inset.corner.0) * self.scale + RIM).round() as i64,
            ((north - y + inset.corner.1) * self.scale + RIM).round() as i64,
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
    pub fn definitions(&self, overview: &Overview<'_>) -> Markup {
        let field = overview.stages.field;
        let kept: String = field
            .kept_out
            .iter()
            .map(|kept| self.path(&kept.shape))
            .collect();
        html! {
            svg.defs width="0" height="0" aria-hidden="true" focusable="false" { defs {
                @for view in &overview.zones {
                    path id={ "z" (view.number) } fill-rule="evenodd" d=(self.path(&view.zone.shape)) {}
                }
                path #edge fill-rule="evenodd" d=(self.path(&field.boundary)) {}
                path #kept d=(kept) {}
                clipPath #in { use href="#edge" {} }
                pattern #keep width="24" height="24" patternUnits="userSpaceOnUse" {
                    path.keepline d="M0 0L24 24M24 0L0 24" {}
                }
                @for (at, (angle, gap)) in HATCHES.iter().enumerate() {
                    pattern id={ "h" (at) } width=(gap) height=(gap) patternUnits="userSpaceOnUse" patternTransform={ "rotate(" (angle) ")" } {
                        path.hatch d={ "M0 0H" (gap) } {}
                    }
                }
            } }
        }
    }

    /// Field edge, keep-outs, north arrow and scale bar, drawn over a map; frames round the insets where there are several.
    #[must_use]
    pub fn furniture(&self, system: UnitSystem) -> Markup {
        let (name, metres) = scale_bar(120.0 / self.scale * 2.5, system);
        let (width, y, x) = (self.length(metres), self.size.1 - 14.0, RIM + 6.0);
        let bar = format!("M{x:.0} {:.0}v14h{width:.0}v-14", y - 14.0);
        let north = format!(
            "M{:.0} {:.0}l16 46-16-12-16 12z",
            self.size.0 - 34.0,
            self.size.1 - 58.0
        );
        let step = |value: f64| format!("{value:.0}");
        html! {
            use.kept href="#kept" clip-path="url(#in)" {}
            use.edge href="#edge" {}
            g.furniture aria-hidden="true" {
                @if self.insets.len() > 1 {
                    path.inset d=(self.inset_frames()) {}
                }
                path d=(bar) {}
                text.scale x=(step(x + width + 12.0)) y=(step(y)) {
                    (name)
                    @if self.insets.len() > 1 { "; parts lie farther apart than drawn" }
                }
                path.north d=(north) {}
                text x=(step(self.size.0 - 62.0)) y=(step(y)) text-anchor="end" { "N" }
            }
        }
    }

    fn inset_frames(&self) -> String {
        let frame = |inset: &Inset| {
            let (west, _, _, north) = inset.ground;
            let ((x, y), (width, height)) = (self.at_in(inset, west, north), inset.size());
            format!(
                "M{x} {y}h{w:.0}v{h:.0}h-{w:.0}z",
                w = self.length(width),
                h = self.length(height)
            )
        };
        self.insets.iter().map(frame).collect()
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
    place % HATCHES.len()
}

/// The ground that holds boundary and grid.
fn ground(overview: &Overview<'_>) -> Rect<f64> {
    let field = overview.stages.field;
    let grid = &field.grid;
    let east = grid.west + grid.columns as f64 * grid.cell;
    let south = grid.north - grid.rows as f64 * grid.cell;
    let cells = Rect::new((grid.west, south), (east, grid.north));
    field.boundary.bounding_rect().map_or(cells, |rect| {
        Rect::new(
            (
                rect.min().x.min(cells.min().x),
                rect.min().y.min(cells.min().y),
            ),
            (
                rect.max().x.max(cells.max().x),
                rect.max().y.max(cells.max().y),
            ),
        )
    })
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

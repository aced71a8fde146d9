//! Cone index by depth, one small chart a zone: the median push, and each limit over the depths that it holds for.

use maud::{Markup, html};

use super::plain;
use crate::analyte::Analyte;
use crate::deliver::overview::Overview;
use crate::deliver::zone_view::ZoneView;
use crate::order_statistics::median_of_rising;
use crate::units::{Length, Pressure, Quantity, UnitSystem, decimal};

const WIDTH: f64 = 250.0;
const HEIGHT: f64 = 230.0;
const LEFT: f64 = 46.0;
const TOP: f64 = 44.0;
const RIGHT: f64 = 14.0;
const BOTTOM: f64 = 10.0;

/// A zone's median push: depth in metres and kPa, from the top down.
type Profile = Vec<(f64, f64)>;

/// A limit of cone index and the depths that it holds for.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Limit {
    kilopascals: f64,
    top: f64,
    bottom: f64,
}

/// The charts; nothing without cone pushes.
#[must_use]
pub fn cone_charts(overview: &Overview<'_>) -> Option<Markup> {
    let profiles = profiles(overview);
    let marks = || profiles.iter().flat_map(|(_, marks)| marks);
    let deepest = marks().map(|mark| mark.0).fold(0.0, f64::max);
    if deepest <= 0.0 {
        return None;
    }
    let views = overview.zones.iter();
    let limits = views.flat_map(limits).map(|limit| limit.kilopascals);
    let highest = marks().map(|mark| mark.1).chain(limits).fold(0.0, f64::max);
    let chart = Chart {
        system: overview.units,
        deepest,
        most: highest * 1.08,
    };
    let shown = overview.zones.iter().filter_map(|view| {
        let (_, marks) = profiles.iter().find(|(zone, _)| *zone == view.number)?;
        Some((view, marks))
    });
    Some(html! {
        p { (caption(overview)) }
        div.gallery.small-charts {
            @for (view, marks) in shown { (chart.figure(view, marks)) }
        }
    })
}

fn caption(overview: &Overview<'_>) -> String {
    let cones = overview.stages.field.cones.iter().flatten();
    let moisture: Vec<&str> = cones.filter_map(|cone| cone.moisture.as_deref()).collect();
    let noted = if moisture.is_empty() {
        String::new()
    } else {
        format!(": {}", plain(&moisture.join("; ")))
    };
    format!(
        "Median push of each zone, and each limit over the depths that it holds for. Roots slow down as the line comes near a limit. \
         Read it together with the soil's moisture on that day{noted}."
    )
}

/// Per zone its number and, by depth in metres, the median in kPa.
fn profiles(overview: &Overview<'_>) -> Vec<(u32, Profile)> {
    let field = overview.stages.field;
    let position = overview.position_of();
    // Readings by zone and depth in whole tenths of a millimetre.
    let mut readings: Vec<Vec<(i64, f64)>> = vec![Vec::new(); overview.zones.len()];
    for (places, cone) in field.places.iter().zip(&field.cones) {
        let Some(cone) = cone else { continue };
        for (push, row) in cone
            .kilopascals
            .chunks(cone.depths.len().max(1))
            .enumerate()
        {
            let (Some(&x), Some(&y)) = (places.x.get(push), places.y.get(push)) else {
                continue;
            };
            let slot = field
                .grid
                .cell_at(x, y)
                .and_then(|cell| field.grid.slot(cell));
            let Some(&zone) = slot.and_then(|slot| overview.stages.zones.of_cell.get(slot)) else {
                continue;
            };
            let marks = cone
                .depths
                .iter()
                .zip(row)
                .filter(|(_, value)| value.is_finite());
            readings[position[usize::from(zone)]].extend(
                marks.map(|(depth, &value)| ((depth.metres() * 1e4).round() as i64, value)),
            );
        }
    }
    let zones = overview.zones.iter().zip(readings);
    zones
        .map(|(view, readings)| (view.number, medians(readings)))
        .filter(|(_, marks)| !marks.is_empty())
        .collect()
}

fn medians(mut readings: Vec<(i64, f64)>) -> Profile {
    readings.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    readings
        .chunk_by(|a, b| a.0 == b.0)
        .filter_map(|same| {
            let values: Vec<f64> = same.iter().map(|(_, value)| *value).collect();
            Some((same[0].0 as f64 / 1e4, median_of_rising(&values)?))
        })
        .collect()
}

/// The limits that are pressures, each once.
fn limits(view: &ZoneView<'_>) -> Vec<Limit> {
    let mut limits: Vec<Limit> = Vec::new();
    for finding in &view.diagnosis.findings {
        let Some(layer) = finding
            .layer
            .as_ref()
            .filter(|layer| layer.analyte == Analyte::ConeIndex)
        else {
            continue;
        };
        let pressure = Pressure::parse(&format!("{} {}", finding.threshold, finding.unit));
        let (Ok(pressure), Some(depth)) = (pressure, layer.depth) else {
            continue;
        };
        let limit = Limit {
            kilopascals: pressure.kilopascals(),
            top: depth.top().metres(),
            bottom: depth.bottom().metres(),
        };
        if limit.kilopascals > 0.0 && !limits.contains(&limit) {
            limits.push(limit);
        }
    }
    limits
}

struct Chart {
    system: UnitSystem,
    deepest: f64,
    most: f64,
}

impl Chart {
    fn x(&self, kilopascals: f64) -> f64 {
        LEFT + kilopascals / self.most * (WIDTH - LEFT - RIGHT)
    }

    fn y(&self, metres: f64) -> f64 {
        TOP + metres.min(self.deepest) / self.deepest * (HEIGHT - TOP - BOTTOM)
    }

    fn figure(&self, view: &ZoneView<'_>, marks: &Profile) -> Markup {
        let points: Vec<String> = marks
            .iter()
            .map(|(depth, value)| format!("{:.1},{:.1}", self.x(*value), self.y(*depth)))
            .collect();
        html! {
            figure {
                figcaption { b { "Zone " (view.number) } }
                svg.chart viewBox={ "0 0 " (WIDTH) " " (HEIGHT) } role="img" aria-label=(self.spoken(view.number, marks)) {
                    (self.axes())
                    @for limit in limits(view) { (self.limit(limit)) }
                    polyline.profile points=(points.join(" ")) {}
                    @for (depth, value) in marks {
                        circle.dot cx=(tenth(self.x(*value))) cy=(tenth(self.y(*depth))) r="2.5" {}
                    }
                }
            }
        }
    }

    fn axes(&self) -> Markup {
        let (depth_unit, pressure_unit) = match self.system {
            UnitSystem::UnitedStates => ("in", "psi"),
            UnitSystem::Metric => ("cm", "kPa"),
        };
        let pressure = |value: f64| {
            Pressure::parse(&format!("{value} {pressure_unit}")).map_or(0.0, Pressure::kilopascals)
        };
        let depth = |value: f64| {
            Length::parse(&format!("{value} {depth_unit}")).map_or(0.0, Length::metres)
        };
        let (low, right) = (HEIGHT - BOTTOM, WIDTH - RIGHT);
        html! {
            @for tick in ticks(self.most / pressure(1.0).max(f64::MIN_POSITIVE), 3) {
                @let x = tenth(self.x(pressure(tick)));
                path.tick d={ "M" (x) " " (TOP) "V" (low) } {}
                text x=(x) y=(TOP - 6.0) text-anchor="middle" { (decimal(tick, 1)) }
            }
            @for tick in ticks(self.deepest / depth(1.0).max(f64::MIN_POSITIVE), 5) {
                @let y = self.y(depth(tick));
                path.tick d={ "M" (LEFT) " " (tenth(y)) "H" (right) } {}
                text x=(LEFT - 6.0) y=(tenth(y + 4.5)) text-anchor="end" { (decimal(tick, 1)) }
            }
            text.axis x=(f64::midpoint(LEFT, right)) y="14" text-anchor="middle" { "cone index, " (pressure_unit) }
            text.axis transform={ "translate(13 " (f64::midpoint(TOP, low)) ") rotate(-90)" } text-anchor="middle" { "depth, " (depth_unit) }
        }
    }

    /// A line down the depths of a limit, and its number below it.
    fn limit(&self, limit: Limit) -> Markup {
        let (x, top, bottom) = (
            self.x(limit.kilopascals),
            self.y(limit.top),
            self.y(limit.bottom),
        );
        let words = Pressure::from_kilopascals(limit.kilopascals).spoken(self.system);
        // The words stand on the side that has room for them.
        let (dx, anchor) = if x > WIDTH * 0.6 {
            (-5.0, "end")
        } else {
            (5.0, "start")
        };
        html! {
            path.limit d={ "M" (tenth(x)) " " (tenth(top)) "V" (tenth(bottom)) } {}
            text.limittext x=(tenth(x + dx)) y=(tenth((bottom - 4.0).max(top + 12.0))) text-anchor=(anchor) { (words) }
        }
    }

    fn spoken(&self, zone: u32, marks: &Profile) -> String {
        let most = marks
            .iter()
            .copied()
            .reduce(|a, b| if b.1 > a.1 { b } else { a })
            .unwrap_or_default();
        let depth = match self.system {
            UnitSystem::UnitedStates => format!("{} in", decimal(most.0 / 0.0254, 1)),
            UnitSystem::Metric => format!("{} cm", decimal(most.0 * 100.0, 1)),
        };
        let highest = Pressure::from_kilopascals(most.1).show(self.system, 0);
        format!("Cone index by depth in zone {zone}: highest median {highest} at {depth}.")
    }
}

fn tenth(value: f64) -> String {
    format!("{value:.1}")
}

/// Round numbers from 0 to at most `most`, about `count` of them.
fn ticks(most: f64, count: usize) -> Vec<f64> {
    if !(most.is_finite() && most > 0.0) {
        return Vec::new();
    }
    let raw = most / count as f64;
    let power = 10_f64.powf(raw.log10().floor());
    let step = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .map(|step| step * power)
        .find(|step| *step >= raw)
        .unwrap_or(10.0 * power);
    (0..=count * 2)
        .map(|at| at as f64 * step)
        .take_while(|tick| *tick <= most)
        .collect()
}

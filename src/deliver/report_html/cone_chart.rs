//! Cone index by depth: the median push of each zone, with the limit at which roots stop.

use std::fmt::Write;

use crate::analyte::Analyte;
use crate::deliver::escape::markup;
use crate::deliver::overview::Overview;
use crate::units::{Length, Pressure, Quantity, UnitSystem, decimal};

const WIDTH: f64 = 560.0;
const HEIGHT: f64 = 340.0;
const LEFT: f64 = 64.0;
const TOP: f64 = 46.0;
const RIGHT: f64 = 40.0;
const BOTTOM: f64 = 16.0;
/// Line styles, so that lines differ without colour.
const DASHES: [&str; 6] = ["", "12 5", "3 4", "14 4 3 4", "7 7", "2 8"];

/// The figure; nothing without cone pushes.
#[must_use]
pub fn cone_chart(overview: &Overview<'_>) -> String {
    let profiles = profiles(overview);
    let deepest = profiles
        .iter()
        .flat_map(|(_, marks)| marks)
        .map(|mark| mark.0)
        .fold(0.0, f64::max);
    if deepest <= 0.0 {
        return String::new();
    }
    let limit = limit_kilopascals(overview);
    let most = profiles
        .iter()
        .flat_map(|(_, marks)| marks)
        .map(|mark| mark.1)
        .chain(limit)
        .fold(0.0, f64::max)
        * 1.08;
    let chart = Chart {
        system: overview.units,
        deepest,
        most,
    };
    let mut out = String::from(
        "<figure class=\"wide\"><figcaption>Median push of each zone. Roots slow down as the line comes near the limit. Read it together with the soil's moisture on that day",
    );
    let moisture: Vec<&str> = overview
        .stages
        .field
        .cones
        .iter()
        .flatten()
        .filter_map(|cone| cone.moisture.as_deref())
        .collect();
    if !moisture.is_empty() {
        let _ = write!(out, ": {}", markup(&moisture.join("; ")));
    }
    let _ = write!(
        out,
        ".</figcaption><svg class=\"chart\" viewBox=\"0 0 {WIDTH:.0} {HEIGHT:.0}\" role=\"img\" aria-label=\"{}\">",
        markup(&spoken(&profiles, overview.units))
    );
    chart.push_axes(&mut out);
    if let Some(limit) = limit {
        chart.push_limit(&mut out, limit);
    }
    for (at, (_, marks)) in profiles.iter().enumerate() {
        chart.push_line(&mut out, at, marks);
    }
    // Over all lines, so that no line hides a number.
    for (at, (zone, marks)) in profiles.iter().enumerate() {
        chart.push_tag(&mut out, at, *zone, marks);
    }
    out.push_str("</svg></figure>");
    out
}

/// Per zone its number and, by depth in metres, the median in kPa.
fn profiles(overview: &Overview<'_>) -> Vec<(u32, Vec<(f64, f64)>)> {
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

fn medians(mut readings: Vec<(i64, f64)>) -> Vec<(f64, f64)> {
    readings.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    readings
        .chunk_by(|a, b| a.0 == b.0)
        .map(|same| {
            let middle = same.len() / 2;
            let median = if same.len() % 2 == 1 {
                same[middle].1
            } else {
                f64::midpoint(same[middle - 1].1, same[middle].1)
            };
            (same[0].0 as f64 / 1e4, median)
        })
        .collect()
}

/// The lowest limit of the rules on cone index, where one of them is a pressure.
fn limit_kilopascals(overview: &Overview<'_>) -> Option<f64> {
    let findings = overview
        .zones
        .iter()
        .flat_map(|view| &view.diagnosis.findings);
    let of_cone = findings.filter(|finding| {
        finding
            .layer
            .as_ref()
            .is_some_and(|layer| layer.analyte == Analyte::ConeIndex)
    });
    let limits = of_cone.filter_map(|finding| {
        Pressure::parse(&format!("{} {}", finding.threshold, finding.unit)).ok()
    });
    limits
        .map(Pressure::kilopascals)
        .filter(|limit| *limit > 0.0)
        .reduce(f64::min)
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
        TOP + metres / self.deepest * (HEIGHT - TOP - BOTTOM)
    }

    fn push_axes(&self, out: &mut String) {
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
        for tick in ticks(self.most / pressure(1.0).max(f64::MIN_POSITIVE), 6) {
            let x = self.x(pressure(tick));
            let _ = write!(
                out,
                "<path class=\"tick\" d=\"M{x:.1} {TOP:.0}V{:.0}\"/><text x=\"{x:.1}\" y=\"{:.0}\" text-anchor=\"middle\">{}</text>",
                HEIGHT - BOTTOM,
                TOP - 7.0,
                decimal(tick, 1)
            );
        }
        for tick in ticks(self.deepest / depth(1.0).max(f64::MIN_POSITIVE), 6) {
            let y = self.y(depth(tick));
            let _ = write!(
                out,
                "<path class=\"tick\" d=\"M{LEFT:.0} {y:.1}H{:.0}\"/><text x=\"{:.0}\" y=\"{:.1}\" text-anchor=\"end\">{}</text>",
                WIDTH - RIGHT,
                LEFT - 7.0,
                y + 5.0,
                decimal(tick, 1)
            );
        }
        let _ = write!(
            out,
            "<text x=\"{:.0}\" y=\"16\" text-anchor=\"middle\" class=\"axis\">cone index, {pressure_unit}</text>\
             <text transform=\"translate(16 {:.0}) rotate(-90)\" text-anchor=\"middle\" class=\"axis\">depth, {depth_unit}</text>",
            f64::midpoint(LEFT, WIDTH - RIGHT),
            f64::midpoint(TOP, HEIGHT - BOTTOM)
        );
    }

    fn push_limit(&self, out: &mut String, kilopascals: f64) {
        let x = self.x(kilopascals);
        // The words stand on the side that has room for them.
        let (dx, anchor) = if x > WIDTH * 0.7 {
            (-6.0, "end")
        } else {
            (6.0, "start")
        };
        let words = Pressure::from_kilopascals(kilopascals).show(self.system, 0);
        let (x_words, low) = (x + dx, HEIGHT - BOTTOM);
        let _ = write!(
            out,
            "<path class=\"limit\" d=\"M{x:.1} {TOP:.0}V{low:.0}\"/><text class=\"limittext\" x=\"{x_words:.1}\" y=\"{:.0}\" \
             text-anchor=\"{anchor}\">limit {words}</text>",
            TOP + 18.0
        );
    }

    fn push_line(&self, out: &mut String, at: usize, marks: &[(f64, f64)]) {
        let points: Vec<String> = marks
            .iter()
            .map(|(depth, value)| format!("{:.1},{:.1}", self.x(*value), self.y(*depth)))
            .collect();
        let _ = write!(
            out,
            "<polyline class=\"profile\" stroke-dasharray=\"{}\" points=\"{}\"/>",
            DASHES[at % DASHES.len()],
            points.join(" ")
        );
        for (depth, value) in marks {
            let _ = write!(
                out,
                "<circle class=\"dot\" cx=\"{:.1}\" cy=\"{:.1}\" r=\"3\"/>",
                self.x(*value),
                self.y(*depth)
            );
        }
    }

    fn push_tag(&self, out: &mut String, at: usize, zone: u32, marks: &[(f64, f64)]) {
        // Each line carries its zone's number at another depth, so that the numbers do not lie over each other.
        if let Some((depth, value)) = marks.get(at % marks.len().max(1)) {
            let _ = write!(
                out,
                "<g class=\"tag\"><circle cx=\"{x:.1}\" cy=\"{y:.1}\" r=\"10\"/><text x=\"{x:.1}\" y=\"{:.1}\" text-anchor=\"middle\">{zone}</text></g>",
                self.y(*depth) + 4.5,
                x = self.x(*value),
                y = self.y(*depth)
            );
        }
    }
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

fn spoken(profiles: &[(u32, Vec<(f64, f64)>)], system: UnitSystem) -> String {
    let lines = profiles.iter().map(|(zone, marks)| {
        let most = marks
            .iter()
            .copied()
            .reduce(|a, b| if b.1 > a.1 { b } else { a })
            .unwrap_or_default();
        let depth = if system == UnitSystem::UnitedStates {
            format!("{} in", decimal(most.0 / 0.0254, 1))
        } else {
            format!("{} cm", decimal(most.0 * 100.0, 1))
        };
        format!(
            "zone {zone}: highest median {} at {depth}",
            Pressure::from_kilopascals(most.1).show(system, 0)
        )
    });
    format!(
        "Cone index by depth. {}.",
        lines.collect::<Vec<_>>().join("; ")
    )
}

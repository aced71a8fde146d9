//! Invented observations, maps and findings.

use std::sync::Arc;

use lowstave::analyte::{Analyte, DepthRange, LayerKey, Method};
use lowstave::diagnosis::{Diagnosis, Finding, LayerSummary, Outcome, ZoneDiagnosis};
use lowstave::field::{Field, FieldLayer, Places};
use lowstave::intake::ConeProfiles;
use lowstave::plan::PointKind;
use lowstave::rulebook::{Basis, Factor, Side};
use lowstave::surface::{Flat, Map, Skill, Surface, Surfaces};
use lowstave::units::Length;
use lowstave::zones::Zones;

fn key(analyte: Analyte, method: &str, depth: &str) -> LayerKey {
    LayerKey::new(
        analyte,
        Some(Method::new(method)),
        Some(DepthRange::parse(depth, None).expect("a depth")),
    )
}

pub fn ph() -> LayerKey {
    key(Analyte::Ph, "water", "0-6 in")
}

pub fn carbon_nitrogen() -> LayerKey {
    key(Analyte::CarbonNitrogenRatio, "water-extract", "0-6 in")
}

pub fn cone() -> LayerKey {
    key(Analyte::ConeIndex, "profile-maximum", "0-12 in")
}

fn calcium() -> LayerKey {
    key(Analyte::CalciumSaturation, "ammonium-acetate", "0-6 in")
}

/// A smooth invented surface between 0 and 1, of the place in units of the field's size.
fn wave(x: f64, y: f64, phase: f64) -> f64 {
    0.5 + 0.3 * (x / 70.0 + phase).sin() + 0.2 * (y / 55.0 - phase).cos()
}

fn value_at(layer: usize, x: f64, y: f64) -> f64 {
    let east = if x > 0.0 { 1.0 } else { 0.0 };
    match layer {
        0 => 5.4 + 1.1 * wave(x, y, 0.3) + 0.4 * east,
        1 => 9.0 + 6.0 * wave(x, y, 1.7) + 2.0 * (1.0 - east),
        2 => 58.0 + 6.0 * wave(x, y, 2.9),
        _ => 1_100.0 + 1_500.0 * wave(x, y, 4.1) + 300.0 * east,
    }
}

/// Puts cores and cone pushes into the field and makes their maps.
pub fn soil(field: &mut Field, scale: f64) -> Surfaces {
    let cores: Vec<(f64, f64)> = (0..30)
        .map(|k| {
            (
                f64::from(k % 6) * 64.0 - 168.0,
                f64::from(k / 6) * 56.0 - 116.0,
            )
        })
        .collect();
    let cones: Vec<(f64, f64)> = (0..48)
        .map(|k| {
            (
                f64::from(k % 8) * 48.0 - 170.0,
                f64::from(k / 8) * 47.0 - 120.0,
            )
        })
        .collect();
    field.places = vec![
        places("cores.csv", PointKind::Cores, &cores, scale),
        places("cone.csv", PointKind::Cone, &cones, scale),
    ];
    field.cones = vec![None, Some(profiles(&cones))];
    let keys = [ph(), carbon_nitrogen(), calcium(), cone()];
    let units = ["pH", "ratio", "%", "kPa"];
    for (layer, (key, unit)) in keys.iter().zip(units).enumerate() {
        let (table, spots) = if layer == 3 { (1, &cones) } else { (0, &cores) };
        let values = spots.iter().map(|&(x, y)| value_at(layer, x, y)).collect();
        field.layers.push(FieldLayer {
            key: key.clone(),
            places: table,
            column: Arc::from(["pH", "C:N", "Ca sat", "maximum"][layer]),
            unit: Arc::from(unit),
            values,
            qualified: Vec::new(),
            derived: layer == 3,
        });
    }
    let surfaces = keys
        .iter()
        .zip(units)
        .enumerate()
        .map(|(layer, (key, unit))| surface(field, key, unit, layer, scale))
        .collect();
    Surfaces {
        odd_cores: Vec::new(),
        surfaces,
        remarks: Vec::new(),
    }
}

fn places(file: &str, kind: PointKind, spots: &[(f64, f64)], scale: f64) -> Places {
    let outside = if kind == PointKind::Cone {
        vec![(15, 34.0), (16, 41.5)]
    } else {
        Vec::new()
    };
    Places {
        file: Arc::from(file),
        kind,
        x: spots.iter().map(|spot| spot.0 * scale).collect(),
        y: spots.iter().map(|spot| spot.1 * scale).collect(),
        row: (2..).take(spots.len()).collect(),
        id: Some(
            (1..=spots.len())
                .map(|n| {
                    Arc::from(format!(
                        "{}{n}",
                        if kind == PointKind::Cone { "P" } else { "C" }
                    ))
                })
                .collect(),
        ),
        outside,
    }
}

fn profiles(spots: &[(f64, f64)]) -> ConeProfiles {
    let depths: Vec<Length> = [2.0, 4.0, 6.0, 9.0, 12.0]
        .iter()
        .map(|inches| Length::from_metres(inches * 0.0254))
        .collect();
    let shape = [0.35, 0.6, 0.9, 1.0, 0.8];
    let readings = spots.iter().enumerate().flat_map(|(push, &(x, y))| {
        let stops_early = push % 11 == 5;
        (0..shape.len()).map(move |at| {
            if stops_early && at == 4 {
                f64::NAN
            } else {
                value_at(3, x, y) * shape[at]
            }
        })
    });
    ConeProfiles {
        depths,
        kilopascals: readings.collect(),
        refused: vec![None; spots.len()],
        moisture: Some("field capacity".to_owned()),
    }
}

fn surface(field: &Field, key: &LayerKey, unit: &str, layer: usize, scale: f64) -> Surface {
    let skill = Skill {
        n: if layer == 3 { 46 } else { 30 },
        rmse: [0.21, 1.4, 3.9, 310.0][layer],
        mean_error: [0.012, -0.08, 0.3, -14.0][layer],
        baseline_rmse: [0.36, 2.2, 3.8, 520.0][layer],
        efficiency: [0.66, 0.595, -0.05, 0.645][layer],
        plain: lowstave::surface::PlainSkill {
            rmse: 0.0,
            mean_error: 0.0,
            efficiency: 0.0,
        },
        p_value: None,
        efficiency_interval: (layer != 2).then_some((0.31, 0.78)),
        morans_i: Some(0.4),
    };
    let map = if layer == 2 {
        Map::Flat {
            value: 61.3,
            standard_error: 3.8,
            why: Flat::NoSkill,
        }
    } else {
        let centres = field.grid.cells.iter().map(|&cell| field.grid.centre(cell));
        let values: Vec<f32> = centres
            .map(|(x, y)| value_at(layer, x / scale, y / scale) as f32)
            .collect();
        let standard_error = values.iter().map(|_| skill.rmse as f32).collect();
        Map::Drawn {
            values,
            standard_error,
        }
    };
    Surface {
        logs: None,
        mean_error: None,
        key: key.clone(),
        unit: Arc::from(unit),
        method: lowstave::surface::Method::InverseDistance,
        power: 2.0,
        neighbours: Some(8),
        skill: Some(skill),
        map,
    }
}

/// Invented findings: zone 1 is closed by carbon, zone 2 is tight, zone 3 is acid.
pub fn diagnosis(field: &Field, surfaces: &Surfaces, zones: &Zones) -> Diagnosis {
    let order = [2, 0, 1];
    let zones = order
        .iter()
        .enumerate()
        .map(|(place, &zone)| ZoneDiagnosis {
            not_known: Vec::new(),
            number: place as u32 + 1,
            zone,
            profile: surfaces
                .surfaces
                .iter()
                .map(|surface| summary(field, surface, zones, zone))
                .collect(),
            findings: findings(place),
        });
    Diagnosis {
        not_known: Vec::new(),
        zones: zones.collect(),
        remarks: Vec::new(),
    }
}

fn summary(field: &Field, surface: &Surface, zones: &Zones, zone: usize) -> LayerSummary {
    let values: Vec<f64> = match &surface.map {
        Map::Drawn { values, .. } => {
            let inside = zones
                .of_cell
                .iter()
                .zip(values)
                .filter(|(of_cell, _)| usize::from(**of_cell) == zone);
            inside.map(|(_, value)| f64::from(*value)).collect()
        }
        Map::Flat { value, .. } => vec![*value],
    };
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let variance = values
        .iter()
        .map(|value| (value - mean).powi(2))
        .sum::<f64>()
        / values.len() as f64;
    LayerSummary {
        below: lowstave::diagnosis::BelowDetection::default(),
        key: surface.key.clone(),
        unit: Arc::clone(&surface.unit),
        mean,
        spread: variance.sqrt(),
        standard_error: surface.skill.map_or(0.0, |skill| skill.rmse / 3.0),
        range: (
            values.iter().copied().fold(f64::INFINITY, f64::min),
            values.iter().copied().fold(f64::NEG_INFINITY, f64::max),
        ),
        cores: field.places[0].x.len() / 3,
        qualified: usize::from(surface.unit.as_ref() == "ratio"),
        is_flat: matches!(surface.map, Map::Flat { .. }),
        is_skewed: false,
    }
}

fn findings(place: usize) -> Vec<Finding> {
    let carbon = |outcome, value, severity, confidence| Finding {
        blocks: if outcome == Outcome::Limiting {
            vec!["starter".to_owned()]
        } else {
            Vec::new()
        },
        ..finding(
            "carbon-ratio",
            Factor::Carbon,
            outcome,
            carbon_nitrogen(),
            (value, 12.0, "ratio"),
            Side::Below,
            severity,
            confidence,
        )
    };
    let air = |outcome, value, severity, confidence| {
        finding(
            "air-root-limit",
            Factor::Air,
            outcome,
            cone(),
            (value, 300.0, "psi"),
            Side::Above,
            severity,
            confidence,
        )
    };
    let acid = |outcome, value, severity, confidence| Finding {
        disputed: Some(
            "yield response to lime above pH 5.8 is small in some long-term trials".to_owned(),
        ),
        ..finding(
            "acidity-corn",
            Factor::Acidity,
            outcome,
            ph(),
            (value, 6.0, "pH"),
            Side::Below,
            severity,
            confidence,
        )
    };
    let phosphorus = Finding {
        layer: None,
        value: None,
        spread: None,
        cores: 0,
        sentence: "No phosphorus result by a method that the rule accepts.".to_owned(),
        ..finding(
            "phosphorus-bray",
            Factor::Phosphorus,
            Outcome::NotMeasured,
            ph(),
            (0.0, 20.0, "ppm"),
            Side::Below,
            0.0,
            0.0,
        )
    };
    let (limiting, fine) = (Outcome::Limiting, Outcome::Adequate);
    let calcium = finding(
        "calcium-share",
        Factor::Calcium,
        fine,
        calcium(),
        (61.3, 60.0, "%"),
        Side::Below,
        0.0,
        0.35,
    );
    let salt = Finding {
        sentence: "Electrical conductivity was measured 1:1; the rule needs saturated paste."
            .to_owned(),
        ..finding(
            "salt-paste",
            Factor::Salt,
            Outcome::NotComparable,
            ph(),
            (0.9, 2.0, "dS/m"),
            Side::Above,
            0.0,
            0.0,
        )
    };
    let mut found = match place {
        0 => vec![
            carbon(limiting, 9.4, 0.72, 0.97),
            air(limiting, 341.0, 0.31, 0.83),
            acid(limiting, 5.9, 0.12, 0.58),
        ],
        1 => vec![
            air(limiting, 352.0, 0.44, 0.91),
            acid(fine, 6.4, 0.0, 0.06),
            carbon(fine, 13.1, 0.0, 0.2),
        ],
        _ => vec![
            acid(limiting, 5.7, 0.26, 0.88),
            air(fine, 240.0, 0.0, 0.04),
            carbon(fine, 14.8, 0.0, 0.02),
        ],
    };
    found.extend([calcium, salt, phosphorus]);
    found
}

#[allow(clippy::too_many_arguments)]
fn finding(
    rule: &str,
    factor: Factor,
    outcome: Outcome,
    layer: LayerKey,
    (value, threshold, unit): (f64, f64, &str),
    side: Side,
    severity: f64,
    confidence: f64,
) -> Finding {
    let side_word = if side == Side::Below {
        "below"
    } else {
        "above"
    };
    let stand = if outcome == Outcome::Limiting {
        side_word
    } else {
        "on the safe side of"
    };
    Finding {
        inferred: None,
        is_by_own_cores: false,
        reading: None,
        loosen_to: None,
        not_known: None,
        possible_severity: 0.0,
        rule: rule.to_owned(),
        factor,
        outcome,
        sentence: format!(
            "{} is {value} {unit}, {stand} the limit of {threshold} {unit}.",
            layer.analyte.label()
        ),
        layer: Some(layer),
        value: Some(value),
        spread: Some(value * 0.06),
        cores: 10,
        threshold,
        unit: unit.to_owned(),
        side,
        severity,
        confidence,
        basis: Basis::Own,
        source: format!("invented for the tests ({rule})"),
        disputed: None,
        is_closing: outcome == Outcome::Limiting,
        expected_yield: None,
        blocks: Vec::new(),
        cautions: if confidence < 0.6 && outcome == Outcome::Limiting {
            vec!["few cores: look before you spend".to_owned()]
        } else {
            Vec::new()
        },
    }
}

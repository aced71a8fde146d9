//! No number of the rulebook is idle: change any by a little and a finding, a rate or the listing of a run changes.

use lowstave::analyte::Analyte::{self, *};
use lowstave::plan::Override;
use lowstave::provenance::Place;
use lowstave::rulebook::{OwnHarvest, OwnTrial, Rulebook};
use lowstave::units::ProductRate;
use lowstave::units::UnitSystem;
use rayon::prelude::*;

use crate::made_zones::{Made, key, quantity};

/// A number in the text of the rulebook.
struct Number {
    line: usize,
    span: std::ops::Range<usize>,
    value: f64,
    key: String,
}

/// Keys whose text begins with a number that is a name or a tolerance of depth, which other tests hold.
const NOT_NUMBERS: [&str; 6] = [
    "pack",
    "order",
    "depths",
    "depth_tolerance",
    "source",
    "cap_source",
];

fn numbers(text: &str) -> Vec<Number> {
    let mut section = String::new();
    let mut found = Vec::new();
    for (line, content) in text.lines().enumerate() {
        if let Some(name) = content.strip_prefix('[') {
            name.trim_end_matches(']').clone_into(&mut section);
            continue;
        }
        let Some((name, right)) = content
            .split_once(" = ")
            .filter(|_| !content.starts_with('#'))
        else {
            continue;
        };
        if NOT_NUMBERS.contains(&name) {
            continue;
        }
        let start = content.len() - right.len()
            + right
                .find(|c: char| c.is_ascii_digit())
                .unwrap_or(usize::MAX / 2);
        // A number stands first, or after a quote, or in a table of numbers by crop.
        let lead = content
            .get(content.len() - right.len()..start)
            .unwrap_or("none");
        if !matches!(lead, "" | "\"") && !["threshold_for", "enough_from_for"].contains(&name) {
            continue;
        }
        let length = content[start..]
            .find(|c: char| !(c.is_ascii_digit() || c == '.'))
            .unwrap_or(content.len() - start);
        let span = start..start + length;
        let Ok(value) = content[span.clone()].parse() else {
            continue;
        };
        found.push(Number {
            line,
            span,
            value,
            key: format!("{section}.{name}"),
        });
    }
    found
}

/// The text with one number moved by two percent of itself; down where it stands at its most.
fn moved(text: &str, number: &Number) -> String {
    let is_at_most = number.value == 1.0 && number.key.ends_with("relief")
        || number.value == 5.0 && number.key.ends_with("effort")
        // Never more than the cap itself.
        || number.key.ends_with("surface_cap");
    let to = if number.value == 0.0 {
        1.0
    } else if is_at_most {
        number.value * 0.98
    } else {
        number.value * 1.02
    };
    let lines: Vec<String> = text
        .lines()
        .enumerate()
        .map(|(line, content)| {
            let mut content = content.to_owned();
            if line == number.line {
                content.replace_range(number.span.clone(), &to.to_string());
            }
            content
        })
        .collect();
    lines.join("\n")
}

/// Values spread evenly and without a pattern between two ends: multiples of an irrational step.
#[derive(Clone, Copy)]
struct Spread {
    least: f64,
    most: f64,
    step: f64,
}

fn spread(least: f64, most: f64, step: f64) -> Spread {
    Spread { least, most, step }
}

impl Spread {
    fn over(self, zones: usize) -> Vec<f64> {
        (0..zones)
            .map(|at| {
                self.least + (self.most - self.least) * ((at as f64 + 0.5) * self.step).fract()
            })
            .collect()
    }
}

fn layer(
    made: Made,
    analyte: Analyte,
    method: &str,
    depth: &str,
    unit: &str,
    values: Spread,
) -> Made {
    let values = values.over(made.zones.zones.len());
    made.layer(key(analyte, method, depth), unit, &values)
}

/// Fields that between them touch every rule, product and number.
fn fields(zones: usize) -> Vec<Made> {
    let base = |crop: &str, units: UnitSystem| {
        let mut made = Made::new(&vec![2.0; zones]);
        made.settings.crop = crop.into();
        made.settings.units = units;
        made
    };
    let us = UnitSystem::UnitedStates;
    let common = |made: Made, p: &str, k: &str| {
        let made = layer(
            made,
            Ph,
            "water",
            "0-6 in",
            "pH",
            spread(4.6, 9.2, 0.618_033_99),
        );
        let made = layer(
            made,
            BufferPh,
            "smp",
            "0-6 in",
            "pH",
            spread(6.0, 7.0, 0.414_213_56),
        );
        let made = layer(
            made,
            Phosphorus,
            p,
            "0-6 in",
            "ppm",
            spread(1.0, 130.0, 0.732_050_8),
        );
        let made = layer(
            made,
            Potassium,
            k,
            "0-6 in",
            "ppm",
            spread(30.0, 160.0, 0.236_067_98),
        );
        let made = layer(
            made,
            CalciumSaturation,
            "calculated",
            "0-6 in",
            "%",
            spread(30.0, 80.0, 0.162_277_66),
        );
        let made = layer(
            made,
            MagnesiumSaturation,
            "calculated",
            "0-6 in",
            "%",
            spread(5.0, 45.0, 0.645_751_31),
        );
        let made = layer(
            made,
            Magnesium,
            "ammonium-acetate",
            "0-6 in",
            "ppm",
            spread(30.0, 90.0, 0.872_983_35),
        );
        let made = layer(
            made,
            SodiumSaturation,
            "calculated",
            "0-6 in",
            "%",
            spread(0.0, 35.0, 0.316_624_79),
        );
        let made = layer(
            made,
            CationExchangeCapacity,
            "sum",
            "0-6 in",
            "meq/100 g",
            spread(3.0, 12.0, 0.605_551_28),
        );
        layer(
            made,
            Sulfur,
            "mehlich-3",
            "0-6 in",
            "ppm",
            spread(0.5, 12.0, 0.123_105_63),
        )
    };
    let ratio = |made: Made| {
        layer(
            made,
            CarbonNitrogenRatio,
            "water-extract",
            "0-6 in",
            "ratio",
            spread(6.0, 22.0, 0.358_898_94),
        )
    };
    let mut fields = Vec::new();
    let corn = ratio(common(base("corn", us), "mehlich-3", "mehlich-3"));
    fields.push(layer(
        corn,
        Sand,
        "hydrometer",
        "0-6 in",
        "%",
        spread(60.0, 80.0, 0.557_438_52),
    ));
    for (crop, p, units) in [
        ("corn", "bray-1", UnitSystem::Metric),
        ("wheat", "mehlich-3", us),
        ("soybean", "olsen", us),
        ("soybean", "bray-1", us),
        ("cover_crop", "olsen", us),
        ("pasture", "mehlich-3", us),
    ] {
        fields.push(ratio(common(base(crop, units), p, "ammonium-acetate")));
    }
    // Around the level of Olsen phosphorus from which compost is kept away.
    fields.push(ratio(layer(
        base("corn", us),
        Phosphorus,
        "olsen",
        "0-6 in",
        "ppm",
        spread(60.0, 80.0, 0.732_050_8),
    )));
    // Pools of carbon and nitrogen, with a great need, tilled and not.
    fields.push(pools(base("corn", us)));
    fields.push(pools(base("pasture", us)));
    // What is left: salt of a crop whose tolerance is not known, SAR, ppm of calcium, trace elements.
    let made = layer(
        base("oats", us),
        ElectricalConductivity,
        "paste",
        "0-6 in",
        "dS/m",
        spread(3.6, 5.6, 0.324_555_32),
    );
    let made = layer(
        made,
        SodiumAdsorptionRatio,
        "paste",
        "0-6 in",
        "ratio",
        spread(4.0, 35.0, 0.916_079_78),
    );
    let made = layer(
        made,
        CationExchangeCapacity,
        "sum",
        "0-6 in",
        "meq/100 g",
        spread(5.0, 20.0, 0.6),
    );
    let made = layer(
        made,
        Calcium,
        "mehlich-3",
        "0-6 in",
        "ppm",
        spread(100.0, 700.0, 0.483_314_77),
    );
    let made = layer(
        made,
        Ph,
        "water",
        "0-6 in",
        "pH",
        spread(7.2, 7.5, 0.618_033_99),
    );
    let made = layer(
        made,
        Boron,
        "mehlich-3",
        "0-6 in",
        "ppm",
        spread(0.05, 0.8, 0.745_966_69),
    );
    fields.push(layer(
        made,
        Zinc,
        "mehlich-3",
        "0-6 in",
        "ppm",
        spread(0.1, 1.5, 0.567_764_36),
    ));
    let made = layer(
        base("corn", us),
        Boron,
        "hot-water",
        "0-6 in",
        "ppm",
        spread(0.05, 0.8, 0.745_966_69),
    );
    let made = layer(
        made,
        Zinc,
        "dtpa",
        "0-6 in",
        "ppm",
        spread(0.1, 1.5, 0.567_764_36),
    );
    let made = layer(
        made,
        Phosphorus,
        "mehlich-3",
        "0-6 in",
        "ppm",
        spread(1.0, 25.0, 0.732_050_8),
    );
    fields.push(pushed(made));
    // Sulfur short where no gypsum brings it.
    let made = layer(
        base("corn", us),
        Ph,
        "water",
        "0-6 in",
        "pH",
        spread(5.8, 7.4, 0.618_033_99),
    );
    fields.push(layer(
        made,
        Sulfur,
        "mehlich-3",
        "0-6 in",
        "ppm",
        spread(0.1, 5.0, 0.123_105_63),
    ));
    fields.push(limed_enough());
    // Sourer just below the lower edge of what still counts as topsoil.
    for method in ["calcium-phosphate", "ammonium-acetate"] {
        let made = base("corn", us);
        fields.push(layer(
            made,
            Sulfur,
            method,
            "0-6 in",
            "ppm",
            spread(1.0, 12.0, 0.618_033_99),
        ));
    }
    let organic = layer(
        base("corn", us),
        OrganicMatter,
        "loi",
        "0-6 in",
        "%",
        spread(18.0, 24.0, 0.414_213_56),
    );
    fields.push(layer(
        organic,
        Ph,
        "water",
        "0-6 in",
        "pH",
        spread(4.0, 6.2, 0.618_033_99),
    ));
    fields.push(limed_enough().layer(key(Ph, "water", "0-23.3 cm"), "pH", &[6.2]));
    // The top inches are sour over a sound plough layer.
    let made = layer(
        base("corn", us),
        Ph,
        "water",
        "0-6 in",
        "pH",
        spread(6.1, 7.0, 0.414_213_56),
    );
    fields.push(layer(
        made,
        Ph,
        "water",
        "0-2 in",
        "pH",
        spread(4.0, 6.0, 0.618_033_99),
    ));
    // Evidence of exactly as many cores as the rulebook wants.
    fields.push(base("corn", us).doubtful_layer(
        key(Ph, "water", "0-6 in"),
        "pH",
        &spread(5.0, 7.0, 0.618_033_99).over(zones),
        0.01,
        3,
    ));
    fields
}

/// The consultant limes ground that is limed enough.
fn limed_enough() -> Made {
    let place = Place::file("plan.toml");
    let lime = |product: &str| Override {
        zone: 1,
        at: None,
        inside: Vec::new(),
        product: product.into(),
        rate: ProductRate::Mass(quantity("1000 lb/ac")),
        why: "seen on foot".into(),
        force: false,
        place: place.clone(),
    };
    let words = vec![lime("lime"), lime("dolomitic_lime")];
    Made::one()
        .layer(key(Ph, "water", "0-6 in"), "pH", &[6.85])
        .settings(|settings| settings.overrides = words)
}

fn pools(made: Made) -> Made {
    let carbon = spread(80.0, 400.0, 0.385_164_81);
    let nitrogen = spread(20.0, 45.0, 0.403_124_24);
    let zones = made.zones.zones.len();
    let ratios: Vec<f64> = carbon
        .over(zones)
        .iter()
        .zip(nitrogen.over(zones))
        .map(|(c, n)| c / n)
        .collect();
    let made = made.layer(
        key(CarbonNitrogenRatio, "water-extract", "0-6 in"),
        "ratio",
        &ratios,
    );
    let made = layer(made, WaterCarbon, "water-extract", "0-6 in", "ppm", carbon);
    let made = layer(
        made,
        WaterNitrogen,
        "water-extract",
        "0-6 in",
        "ppm",
        nitrogen,
    );
    let made = layer(
        made,
        Phosphorus,
        "mehlich-3",
        "0-6 in",
        "ppm",
        spread(60.0, 140.0, 0.708_203_93),
    );
    layer(
        made,
        OrganicCarbon,
        "combustion",
        "0-6 in",
        "%",
        spread(0.1, 1.0, 0.549_834_4),
    )
}

fn pushed(made: Made) -> Made {
    let levels = spread(150.0, 330.0, 0.854_101_97).over(made.zones.zones.len());
    let pushes: Vec<Vec<Vec<f64>>> = levels
        .iter()
        .map(|level| {
            (0..5)
                .map(|push| {
                    vec![
                        level * 0.5,
                        level * 0.7,
                        level * 0.8,
                        level * (0.9 + 0.1 * f64::from(push)),
                        200.0,
                    ]
                })
                .collect()
        })
        .collect();
    let borrowed: Vec<Vec<&[f64]>> = pushes
        .iter()
        .map(|zone| zone.iter().map(Vec::as_slice).collect())
        .collect();
    let zones: Vec<&[&[f64]]> = borrowed.iter().map(Vec::as_slice).collect();
    made.pushes(&zones, Some("moist"))
}

/// The rulebook with trials of the starter on the farm's own ground: exactly as many harvests as may decide, where carbon holds it back and
/// where it is called for.
fn with_own_trials(rulebook: &Rulebook) -> Rulebook {
    let mut rulebook = rulebook.clone();
    // Where carbon holds it back the harvests differ by nearly as much as those that disagree: a chance of 0.101 where 0.1 is the limit.
    let trial = |gate: &str, gains: [f64; 2]| OwnTrial {
        product: "starter".to_owned(),
        gate: gate.to_owned(),
        crop: "corn".to_owned(),
        harvests: [(2025, gains[0]), (2026, gains[1])]
            .map(|(season, gain)| OwnHarvest {
                season,
                gain,
                standard_error: 60.0,
                strips: 4,
            })
            .to_vec(),
        pays_from: Some(50.0),
    };
    rulebook.own_trials = vec![
        trial("closed by carbon", [701.85, 1_098.15]),
        trial("open", [300.0, 300.0]),
    ];
    rulebook
}

/// What a run says, but for the threshold itself, which would give any change away.
fn said(made: &Made, rulebook: &Rulebook) -> String {
    let rulebook = &with_own_trials(rulebook);
    let diagnosis = made.diagnosis(rulebook);
    let findings: Vec<String> = diagnosis
        .zones
        .iter()
        .flat_map(|zone| &zone.findings)
        .map(|f| {
            format!(
                "{:?} {:?} {:?} {:?} {:?} {:?} {:?}",
                f.rule,
                f.outcome,
                f.severity,
                f.confidence,
                f.cautions,
                f.is_closing,
                f.possible_severity
            )
        })
        .collect();
    let mut prescription = made.prescribed_by(rulebook);
    for zone in &mut prescription.zones {
        zone.reason.clear();
        zone.rates
            .iter_mut()
            .filter(|rate| rate.product == "starter")
            .for_each(|rate| rate.note = rate.note.as_ref().map(|_| String::new()));
    }
    format!("{findings:?}{prescription:?}")
}

/// Fields with what they say by the built-in rulebook.
fn runs(zones: usize) -> Vec<(Made, String)> {
    let built_in = Rulebook::built_in();
    let run = |made: Made| {
        let said = said(&made, &built_in);
        (made, said)
    };
    fields(zones).into_iter().map(run).collect()
}

#[test]
fn no_number_of_the_rulebook_is_idle() {
    let text = Rulebook::built_in_text();
    let numbers = numbers(text);
    assert!(numbers.len() > 220, "only {} numbers found", numbers.len());
    // Most numbers show in few zones; a narrow window takes many.
    let (small, large) = (runs(20), runs(300));
    // Check strips are laid after the rates; tests/trial/strips.rs holds theirs. The other two decide how many zones
    // there are; tests/stages/choice.rs moves them.
    let held_elsewhere = [
        "strip_spread",
        // Pushes that end above it are not counted: src/diagnosis/factor/air_tests.rs.
        "air_hard_layer.reach",
        // What differs by crop and by method of the test: tests/stages/brackets.rs crosses each of them.
        "threshold_for",
        "enough_from_for",
        "phosphorus_mehlich_3_icp",
        "phosphorus_mehlich_3_colour",
        "under_application.value",
        "cost_of_a_map.value",
        // What is said of cores that their zone's mean hides: tests/stages/cores_across.rs moves them.
        "cores_across_from.value",
        "cores_past_gate_from.value",
        "cores_elsewhere_from.value",
        // Cores of a zone that take a limit of the field's mean back: tests/stages/own_cores.rs moves it.
        "own_cores_from.value",
        // A core that is told of by itself: tests/stages/lone_cores.rs moves it.
        "lone_core_layers.value",
        // What a corner of salt weighs in the choice of zones: tests/engine/hidden_ground.rs.
        "harm_of_salt.value",
        // What a season costs of the crop's worth: tests/stages/what_the_bill_holds.rs.
        "dear_season_from.value",
        // Two seasons compared: tests/command/past_harm.rs moves them.
        "mere_edge.value",
        "far_more_than_needed.value",
    ];
    let is_held_elsewhere =
        |number: &&Number| held_elsewhere.iter().any(|key| number.key.contains(key));
    let is_idle = |number: &&Number| {
        let changed = Rulebook::from_texts(&moved(text, number), None)
            .unwrap_or_else(|errors| panic!("{}: {errors:?}", number.key));
        !small
            .iter()
            .chain(&large)
            .any(|(made, before)| said(made, &changed) != *before)
    };
    let name = |number: &Number| {
        format!(
            "line {}: {} = {}",
            number.line + 1,
            number.key,
            number.value
        )
    };
    let idle: Vec<String> = numbers
        .par_iter()
        .filter(|number| !is_held_elsewhere(number))
        .filter(is_idle)
        .map(name)
        .collect();
    assert!(
        idle.is_empty(),
        "{} of {} numbers change nothing:\n{}",
        idle.len(),
        numbers.len(),
        idle.join("\n")
    );
}

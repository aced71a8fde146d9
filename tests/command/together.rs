//! Two products tried as a trial of two factors, on an invented harvest of known truth.

use std::fmt::Write as _;
use std::fs;

use lowstave::Files;
use lowstave::trial::layout::Rings;
use serde_json::Value;
use tempfile::TempDir;

use crate::program::run_in;
use crate::strips::{json, planned};

/// Without starter 6 bu/ac are lost, without lime 4, without both 14: each stands in for a part of the other.
fn loss(treatment: &str) -> f64 {
    match treatment {
        "no starter" => 6.0,
        "no lime" => 4.0,
        _ => 14.0,
    }
}

/// An invented square field of 160 acres, one zone, to which the plan gives starter and lime.
fn wide_field() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let corner = |x: f64, y: f64| format!("[{}, {}]", -95.87 + x * 0.01, 44.2 + y * 0.0072);
    let corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (0.0, 0.0)];
    let ring: Vec<String> = corners.iter().map(|(x, y)| corner(*x, *y)).collect();
    let boundary = format!(
        "{{\"type\": \"Polygon\", \"coordinates\": [[{}]]}}",
        ring.join(", ")
    );
    let mut cores =
        String::from("id,lon,lat,P ppm (Mehlich-3),pH (water),Buffer pH (Sikora),OM %\n");
    for at in 0..16_u32 {
        let (x, y) = (f64::from(at % 4), f64::from(at / 4));
        let (lon, lat) = (-95.87 + (x + 0.5) * 0.0025, 44.2 + (y + 0.5) * 0.0018);
        let phosphorus = 8 + at % 3;
        writeln!(cores, "C{at},{lon:.6},{lat:.6},{phosphorus},5.6,6.4,4.0").unwrap();
    }
    let plan = r#"field = "Wide (invented)"
season = 2027
crop = "corn"
units = "us"
boundary = { file = "boundary.geojson" }
[[points]]
file = "cores.csv"
kind = "cores"
depth = "0-6 in"
id = "id"
[zones]
count = 1
[machine]
swath = "40 ft"
row_spacing = "30 in"
heading = 0
speed = "5 mph"
tank = "300 gal"
flow_per_row = ["0.01 gal/min", "0.2 gal/min"]
[strips]
products = ["starter", "lime"]
together = true
count = 4
header = "40 ft"
length = "300 ft"
[[override]]
zone = 1
product = "starter"
rate = "3 gal/ac"
why = "invented"
[[override]]
zone = 1
product = "lime"
rate = "2000 lb/ac"
why = "invented"
"#;
    for (name, text) in [
        ("boundary.geojson", &*boundary),
        ("cores.csv", &cores),
        ("plan.toml", plan),
    ] {
        fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

/// A record every 2.7 m on every pass of the planter; pass and record carry small errors that a formula makes.
fn harvest(run: &lowstave::Run) -> String {
    let sets = &run.strips().sets;
    let machines = sets[0].machines;
    let mut text = String::from("lon,lat,Dry yield (bu/ac)\n");
    for pass in 0..80_usize {
        let across = machines.frame.edge(pass) + 0.5 * machines.frame.swath_m;
        for (from, to) in Rings::new(&run.field().workable, &machines.frame).inside(across) {
            for step in 0..((to - from) / 2.7) as usize {
                let along = from + (step as f64 + 0.5) * 2.7;
                let on = sets.iter().find(|set| {
                    set.draw.checks.iter().any(|check| {
                        check.position == pass
                            && check
                                .pieces
                                .iter()
                                .any(|p| p.from_m <= along && along <= p.to_m)
                    })
                });
                let lost = on.map_or(0.0, |set| loss(&set.treatment));
                let wobble = 0.4 * (1.7 * pass as f64).sin() + 1.5 * (12.9898 * step as f64).sin();
                let mut place = [machines.frame.place(along, across)];
                run.field().crs.unproject(&mut place).unwrap();
                let (lon, lat) = place[0];
                writeln!(text, "{lon:.7},{lat:.7},{:.2}", 170.0 + wobble - lost).unwrap();
            }
        }
    }
    text
}

#[test]
fn what_two_products_do_for_each_other_is_told() {
    let folder = wide_field();
    let ran = run_in(
        folder.path(),
        &["plan", "plan.toml", "--out", "out", "--quiet"],
    );
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let run = lowstave::run(&Files::folder(folder.path()), "plan.toml").unwrap();
    let sets = &run.strips().sets;
    let names: Vec<&str> = sets.iter().map(|set| set.treatment.as_str()).collect();
    assert_eq!(names, ["no starter", "no lime", "no starter, no lime"]);
    let text = harvest(&run);
    fs::write(folder.path().join("harvest.csv"), text).unwrap();
    let ran = run_in(
        folder.path(),
        &["verdict", "out", "--results", "harvest.csv", "--quiet"],
    );
    assert!(matches!(ran.code, 0 | 1), "{}", ran.stderr);
    let verdict = json(&folder.path().join("out/verdict.json"));
    let together = verdict["sets"][2]["together"].as_array().unwrap();
    assert!(!together.is_empty(), "{verdict}");
    let holds = |value: &Value, truth: f64| {
        let at = |at: usize| value[at].as_f64().unwrap();
        assert!(
            at(1) <= truth && truth <= at(2) && (at(0) - truth).abs() < 1.5,
            "{value} should hold {truth}"
        );
    };
    for zone in together {
        holds(&zone["beside_the_other"][0], 6.0);
        holds(&zone["beside_the_other"][1], 4.0);
        // Alone: what both bring less what the other brings beside it.
        holds(&zone["alone"][0], 14.0 - 4.0);
        holds(&zone["alone"][1], 14.0 - 6.0);
        holds(&zone["more_than_sum"], 6.0 + 4.0 - 14.0);
        assert!(
            zone["sentence"]
                .as_str()
                .unwrap()
                .contains("one stands in for the other"),
            "{zone}"
        );
    }
    let text = fs::read_to_string(folder.path().join("out/verdict.txt")).unwrap();
    let words = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(words.contains("one stands in for the other"), "{text}");
}

#[test]
fn together_needs_two_products_to_leave_out() {
    for (strips, words) in [
        (
            "products = [\"starter\"]\ntogether = true",
            "need two products",
        ),
        (
            "products = [\"starter\", { name = \"x\", rates = { lime = \"500 lb/ac\" } }]\ntogether = true",
            "name the products alone",
        ),
    ] {
        let (_, ran) = planned(strips);
        assert_eq!(ran.code, 2, "{}", ran.stderr);
        assert!(ran.stderr.contains(words), "{}", ran.stderr);
    }
}

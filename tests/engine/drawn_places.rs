//! A place that the plan draws is a zone of its own, in the rates and in every file.

use std::fs;
use std::path::Path;

use geo::{Area, BooleanOps, Intersects, LineString, Point, Polygon};
use lowstave::engine::Run;
use lowstave::{Failure, Files};

/// Corners over the south-west of the invented sample, inside one zone, where the plan sets lime by a place.
const SOUTH_WEST: [(f64, f64); 4] = [
    (-95.8760, 44.2110),
    (-95.8740, 44.2110),
    (-95.8740, 44.2124),
    (-95.8760, 44.2124),
];

fn files(overrides: &str, other: impl Fn(String) -> String) -> Files {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat");
    let files = fs::read_dir(folder).unwrap().map(|entry| {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap().to_owned();
        let bytes = fs::read(&path).unwrap();
        if name == "plan.toml" {
            let text = other(String::from_utf8(bytes).unwrap());
            return (name, format!("{text}\n{overrides}").into_bytes());
        }
        (name, bytes)
    });
    Files::memory(files.collect::<Vec<_>>())
}

fn run(overrides: &str) -> Result<Run, Failure> {
    lowstave::run(&files(overrides, |plan| plan), "plan.toml")
}

/// Numbers of the zones that get the 2,000 lb/ac that the plan sets at a place.
fn limed(run: &Run) -> Vec<u32> {
    let zones = run.prescription().zones.iter().map(|zone| zone.number);
    let is_limed = |zone: &u32| (rate(run, *zone, "lime") - 2000.0).abs() < 1e-6;
    zones.filter(is_limed).collect()
}

fn said(corners: &[(f64, f64)], product: &str, rate: &str) -> String {
    let corners: Vec<String> = corners.iter().map(|(x, y)| format!("[{x}, {y}]")).collect();
    format!(
        "[[override]]\ninside = [{}]\nproduct = \"{product}\"\nrate = \"{rate}\"\nwhy = \"the old feedlot\"\n",
        corners.join(", ")
    )
}

fn polygon(corners: &[(f64, f64)]) -> Polygon<f64> {
    Polygon::new(LineString::from(corners.to_vec()), Vec::new())
}

fn rate(run: &Run, zone: u32, product: &str) -> f64 {
    let mut zones = run.prescription().zones.iter();
    let zone = zones.find(|own| own.number == zone).unwrap();
    let rate = zone
        .rates
        .iter()
        .find(|own| own.product.as_str() == product);
    rate.map_or(0.0, |rate| {
        rate.amount
            .number_in(lowstave::units::UnitSystem::UnitedStates)
    })
}

fn told(failure: Result<Run, Failure>) -> String {
    failure.expect_err("this place cannot be").to_string()
}

#[test]
fn a_drawn_place_is_a_zone_of_its_own_and_the_others_stay_as_they_were() {
    let before = run("").unwrap();
    let after = run(&said(&SOUTH_WEST, "gypsum", "1000 lb/ac")).unwrap();
    let count = before.zones().zones.len();
    assert_eq!(after.zones().zones.len(), count + 1);
    let own = after.zones().drawn[0].zone;
    let number = count as u32 + 1;
    let mut judged = after.diagnosis().zones.iter();
    assert_eq!(judged.find(|zone| zone.zone == own).unwrap().number, number);
    assert!((rate(&after, number, "gypsum") - 1000.0).abs() < 1e-6);
    // The plan's word on lime at a place inside it still holds, in what is left of the zone and in the drawn place.
    let limed = limed(&after);
    assert!(limed.len() == 2 && limed.contains(&number), "{limed:?}");
    // The line follows the drawn one to half a cell of 5 m.
    let mut corners = SOUTH_WEST.to_vec();
    after.field().crs.project(&mut corners).unwrap();
    let wanted = after.field().workable.intersection(&polygon(&corners));
    let drawn = &after.zones().zones[own].shape;
    let apart =
        wanted.difference(drawn).unsigned_area() + drawn.difference(&wanted).unsigned_area();
    let perimeter = 2.0 * (160.0 + 156.0);
    assert!(apart < 2.5 * perimeter, "{apart} m2 beside the line");
    assert!(drawn.unsigned_area() > 10_000.0);
    // Zones that the place does not touch keep number, area and rates.
    let touched = before
        .zones()
        .zones
        .iter()
        .position(|zone| zone.lonlat.intersects(&polygon(&SOUTH_WEST)));
    for zone in before
        .prescription()
        .zones
        .iter()
        .filter(|zone| Some(zone.zone) != touched)
    {
        let now = after
            .prescription()
            .zones
            .iter()
            .find(|now| now.number == zone.number)
            .unwrap();
        let area = |run: &Run, zone: usize| run.zones().zones[zone].area_m2;
        assert!(
            (area(&before, zone.zone) - area(&after, now.zone)).abs() < 1.0,
            "zone {}",
            zone.number
        );
        let rates = |zone: &lowstave::rates::ZoneRates| -> Vec<String> {
            zone.rates
                .iter()
                .map(|rate| format!("{:?} {:?}", rate.product, rate.amount))
                .collect()
        };
        assert_eq!(rates(zone), rates(now), "zone {}", zone.number);
    }
    let all = |run: &Run| -> f64 { run.zones().zones.iter().map(|zone| zone.area_m2).sum() };
    assert!((all(&before) - all(&after)).abs() < 1.0);
    assert!(
        after
            .zones()
            .why
            .ends_with("A place that the plan draws is a zone of its own.")
    );
}

#[test]
fn the_files_say_the_rate_of_a_drawn_place() {
    let delivery = run(&said(&SOUTH_WEST, "gypsum", "1000 lb/ac"))
        .unwrap()
        .deliver()
        .unwrap();
    let text = |path: &str| String::from_utf8(delivery.get(path).unwrap().to_vec()).unwrap();
    let map: serde_json::Value = serde_json::from_str(&text("prescription.geojson")).unwrap();
    let here = Point::new(-95.8745, 44.2119);
    let holding: Vec<&serde_json::Value> = map["features"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|feature| holds(feature, here))
        .collect();
    assert_eq!(holding.len(), 1);
    assert_eq!(holding[0]["properties"]["zone"], 9);
    assert_eq!(holding[0]["properties"]["gypsum_lb_ac"], 1000);
    for file in ["report.txt", "report.html"] {
        assert!(text(file).contains("the old feedlot"), "{file}");
    }
}

fn holds(feature: &serde_json::Value, at: Point) -> bool {
    let geometry: geojson::Geometry = serde_json::from_value(feature["geometry"].clone()).unwrap();
    let shape: geo::Geometry<f64> = geometry.try_into().unwrap();
    shape.intersects(&at)
}

#[test]
fn the_caps_hold_in_a_drawn_place_and_say_so() {
    let run = run(&said(&SOUTH_WEST, "starter", "60 gal/ac")).unwrap();
    assert!(rate(&run, 9, "starter") < 60.0);
    let cut = |remark: &&lowstave::remark::Remark| remark.code == "override-cut";
    let remark = run.remarks().iter().find(cut).expect("it says so");
    assert!(remark.what.contains("zone 9"), "{}", remark.what);
}

#[test]
fn two_rates_for_one_drawn_place_are_one_zone() {
    let both = said(&SOUTH_WEST, "gypsum", "1000 lb/ac") + &said(&SOUTH_WEST, "lime", "500 lb/ac");
    let run = run(&both).unwrap();
    assert_eq!(run.zones().drawn.len(), 1);
    assert!((rate(&run, 9, "gypsum") - 1000.0).abs() < 1e-6);
    // Its own word on lime stands before that of the zone that it was cut out of.
    assert!((rate(&run, 9, "lime") - 500.0).abs() < 1e-6);
    assert_eq!(limed(&run).len(), 1);
}

#[test]
fn a_place_that_cannot_be_a_zone_is_refused_with_the_way_out() {
    let gypsum = |corners: &[(f64, f64)]| said(corners, "gypsum", "1000 lb/ac");
    let crossing = [SOUTH_WEST[0], SOUTH_WEST[2], SOUTH_WEST[1], SOUTH_WEST[3]];
    let shifted = SOUTH_WEST.map(|(x, y)| (x + 0.001, y));
    let (x, y) = SOUTH_WEST[2];
    let small = [(x, y), (x - 0.0001, y), (x - 0.0001, y - 0.0001)];
    let elsewhere = SOUTH_WEST.map(|(x, y)| (x + 1.0, y));
    let cases = [
        (gypsum(&crossing), "crosses or touches itself"),
        (gypsum(&small), "less than the smallest patch of 0.5 ac"),
        (gypsum(&elsewhere), "no zone holds longitude -94.876"),
        (
            gypsum(&SOUTH_WEST) + &gypsum(&shifted),
            "lies over another one",
        ),
        (gypsum(&SOUTH_WEST[..2]), "3 to 1000 different corners"),
        (
            gypsum(&SOUTH_WEST).replace("inside", "zone = 2\ninside"),
            "says twice where it is meant",
        ),
        (
            gypsum(&SOUTH_WEST).repeat(2),
            "gypsum in zone 9 is overridden twice",
        ),
    ];
    for (overrides, words) in cases {
        let told = told(run(&overrides));
        assert!(told.contains(words), "{words:?} in {told}");
        assert!(told.contains("plan.toml, row "), "{told}");
    }
    let along = |plan: String| plan.replace("[zones]", "[zones]\nshape = \"along passes\"");
    let along = files(&gypsum(&SOUTH_WEST), along);
    let told = told(lowstave::run(&along, "plan.toml"));
    assert!(
        told.contains("zones along the passes are rectangles"),
        "{told}"
    );
}

#[test]
fn a_place_over_the_whole_field_leaves_one_zone() {
    let whole = [
        (-95.89, 44.20),
        (-95.86, 44.20),
        (-95.86, 44.23),
        (-95.89, 44.23),
    ];
    let plan = |text: String| text.split("[strips]").next().unwrap().to_owned();
    let run = lowstave::run(
        &files(&said(&whole, "gypsum", "700 lb/ac"), plan),
        "plan.toml",
    )
    .unwrap();
    assert_eq!(run.zones().zones.len(), 1);
    assert!((rate(&run, 1, "gypsum") - 700.0).abs() < 1e-6);
    run.deliver().unwrap();
}

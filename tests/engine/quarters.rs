//! What is drawn is what was tested: a field of four plain quarters, acid in the west and short of phosphorus in the south, as it lies, mirrored
//! and moved by some metres. Found by one who had not seen the code: half of the short ground got nothing, and a mirrored field got
//! another bill. The 36 cores of `four_quarters.csv` are invented: a step some fifty metres wide, and a laboratory's noise.

use lowstave::Files;
use lowstave::engine::Run;
use lowstave::rates::ZoneRates;
use lowstave::units::UnitSystem;

const CORES: &str = include_str!("four_quarters.csv");
const PLAN: &str = r#"
field    = "Four quarters (invented)"
season   = 2027
crop     = "corn"
units    = "us"
boundary = { file = "b.geojson" }
[[points]]
file  = "cores.csv"
kind  = "cores"
crs   = "EPSG:4326"
x     = "x"
y     = "y"
id    = "core"
depth = "0-6 in"
  [points.columns]
  ph  = { is = "ph", method = "water" }
  bph = { is = "buffer_ph", method = "smp" }
  om  = { is = "organic_matter", method = "loi", unit = "%" }
  p   = { is = "p", method = "mehlich-3", unit = "ppm" }
  k   = { is = "k", method = "ammonium-acetate", unit = "ppm" }
  ca  = { is = "ca", method = "ammonium-acetate", unit = "ppm" }
  mg  = { is = "mg", method = "ammonium-acetate", unit = "ppm" }
  na  = { is = "na", method = "ammonium-acetate", unit = "ppm" }
  cec = { is = "cec", method = "sum", unit = "meq/100g" }
[grid]
cell = "10 m"
[zones]
smallest = "0.5 ac"
[machine]
swath        = "40 ft"
row_spacing  = "30 in"
heading      = 0
speed        = "5 mph"
tank         = "400 gal"
flow_per_row = ["0.03 gal/min", "0.30 gal/min"]
[yield_goal]
corn = "180 bu/ac"
[prices]
corn = "4.40 USD/bu"
lime = "32 USD/ton"
"#;
/// Longitude and latitude of the corners.
const CORNERS: [(f64, f64); 4] = [
    (-94.001_413_617, 44.212_835_575),
    (-93.996_156_986, 44.212_881_538),
    (-93.996_214_658, 44.216_302_225),
    (-94.001_471_593, 44.216_256_256),
];
const MIDDLE: (f64, f64) = (-93.998_814, 44.214_569);
/// Half of the field's sides, metres.
const HALF: (f64, f64) = (210.0, 190.0);

/// A way to lay the field elsewhere.
type Way = fn((f64, f64)) -> (f64, f64);

/// The field laid elsewhere by `moved`.
fn run(moved: Way, more: &str) -> Run {
    let ring = CORNERS.iter().chain(&CORNERS[..1]).map(|at| moved(*at));
    let ring: Vec<String> = ring.map(|(x, y)| format!("[{x:.9},{y:.9}]")).collect();
    let boundary = format!(
        "{{\"type\":\"Polygon\",\"coordinates\":[[{}]]}}",
        ring.join(",")
    );
    let mut cores = String::new();
    for (row, line) in CORES.lines().enumerate() {
        let cells: Vec<&str> = line.split(',').collect();
        let place = match row {
            0 => "x,y".to_owned(),
            _ => {
                let (x, y) = moved((cells[1].parse().unwrap(), cells[2].parse().unwrap()));
                format!("{x:.9},{y:.9}")
            }
        };
        cores += &format!("{},{place},{}\n", cells[0], cells[3..].join(","));
    }
    let files = Files::memory(vec![
        ("b.geojson".to_owned(), boundary.into_bytes()),
        ("cores.csv".to_owned(), cores.into_bytes()),
        ("plan.toml".to_owned(), format!("{PLAN}{more}").into_bytes()),
    ]);
    lowstave::run(&files, "plan.toml").unwrap()
}

/// The zone at a place, metres from the middle of the field.
fn zone_at(run: &Run, (x, y): (f64, f64)) -> &ZoneRates {
    let grid = &run.field().grid;
    let near = |slot: &usize| {
        let (east, north) = grid.centre(grid.cells[*slot]);
        (east - x).hypot(north - y)
    };
    let slot = (0..grid.cells.len()).min_by(|a, b| near(a).total_cmp(&near(b)));
    let zone = usize::from(run.zones().of_cell[slot.unwrap()]);
    let mut zones = run.prescription().zones.iter();
    zones.find(|own| own.zone == zone).unwrap()
}

fn rate(zone: &ZoneRates, product: &str) -> f64 {
    let mut rates = zone.rates.iter();
    let rate = rates.find(|own| own.product.as_str() == product);
    rate.map_or(0.0, |rate| rate.amount.number_in(UnitSystem::UnitedStates))
}

#[test]
fn each_quarter_gets_what_it_needs_wherever_it_lies() {
    // Twice the middle less the place is the place in a mirror.
    let ways: [(&str, Way, (f64, f64)); 4] = [
        ("as it lies", |at| at, (1.0, 1.0)),
        (
            "east for west",
            |(x, y)| (2.0 * MIDDLE.0 - x, y),
            (-1.0, 1.0),
        ),
        (
            "north for south",
            |(x, y)| (x, 2.0 * MIDDLE.1 - y),
            (1.0, -1.0),
        ),
        (
            "moved by 3.7 m and 2.1 m",
            |(x, y)| (x + 4.6e-5, y + 1.9e-5),
            (1.0, 1.0),
        ),
    ];
    let mut bills = Vec::new();
    for (name, moved, mirrored) in ways {
        let found = run(moved, "");
        for (east, north) in [(-0.5, -0.5), (0.5, -0.5), (-0.5, 0.5), (0.5, 0.5)] {
            let zone = zone_at(
                &found,
                (east * mirrored.0 * HALF.0, north * mirrored.1 * HALF.1),
            );
            let (lime, phosphate) = (rate(zone, "lime"), rate(zone, "bone_meal"));
            let (is_acid, is_short) = (east < 0.0, north < 0.0);
            assert!(
                (lime > 0.0) == is_acid && (phosphate > 0.0) == is_short,
                "{name}, quarter ({east}, {north}): lime {lime}, bone meal {phosphate}; {}",
                found.zones().why
            );
        }
        let zones = found.prescription().zones.iter();
        let bill = zones.map(|own| {
            let area = found.zones().zones[own.zone].area_m2 / 10_000.0;
            own.cost.dollars_per_hectare() * area
        });
        bills.push(bill.sum::<f64>());
    }
    let (least, most) = (
        bills.iter().copied().fold(f64::INFINITY, f64::min),
        bills.iter().copied().fold(0.0, f64::max),
    );
    assert!(most < 1.2 * least, "{bills:?}");
}

/// What is needed does not hang on the money.
#[test]
fn a_budget_of_nothing_hides_no_need() {
    let (with, without) = (
        run(|at| at, "[budget]\nlimit = \"0 USD/ac\"\n"),
        run(|at| at, ""),
    );
    assert_eq!(with.zones().of_cell, without.zones().of_cell);
    let report = report(&with);
    let from = report
        .find("Needed, not paid for")
        .expect("what is not paid");
    let said = report[from..].split_once('.').expect("a sentence").0;
    for product in ["starter", "lime", "bone meal"] {
        assert!(said.contains(product), "{product}: {said}");
    }
    assert!(report.contains("products 0 USD"), "{report}");
}

fn report(run: &Run) -> String {
    let mut files = run.deliver().unwrap().files.into_iter();
    let file = files.find(|file| file.path == "report.txt").unwrap();
    String::from_utf8(file.bytes.clone()).unwrap()
}

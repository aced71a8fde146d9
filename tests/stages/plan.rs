//! Stage tests: plan.

use std::fs;
use std::path::PathBuf;

use insta::assert_snapshot;
use lowstave::analyte::{Analyte, DepthRange, Method};
use lowstave::plan::{self, BelowDetection, Choice, Depths, OverrideRate, PlanError, PointKind, Price, Settings, ZoneMethod};
use lowstave::remark::{Level, Remark};
use lowstave::units::UnitSystem;
use proptest::prelude::*;
use tempfile::TempDir;

/// A folder with the files that plans name, all of them empty.
struct Farm(TempDir);

impl Farm {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        for file in ["boundary.geojson", "creek.geojson", "cores.csv", "cone.csv", "my-rules.toml"] {
            fs::write(folder.path().join(file), "").unwrap();
        }
        Self(folder)
    }

    fn plan_path(&self) -> PathBuf {
        self.0.path().join("plan.toml")
    }

    fn read(&self, text: &str) -> Result<(Settings, Vec<Remark>), Vec<PlanError>> {
        plan::from_text(text, &self.plan_path())
    }

    /// Every problem of a plan, one a line, with the folder left out.
    fn problems(&self, text: &str) -> String {
        let problems = self.read(text).expect_err("this plan has problems");
        let folder = format!("{}/", self.0.path().display());
        problems.iter().map(|problem| problem.to_string().replace(&folder, "")).collect::<Vec<_>>().join("\n")
    }
}

fn problems(text: &str) -> String {
    Farm::new().problems(text)
}

/// The least that a plan must say.
const LEAST: &str = "\
field = \"Alder Flat\"
season = 2027
crop = \"corn\"
boundary = { file = \"boundary.geojson\" }
";
const CORES: &str = "
[[points]]
file = \"cores.csv\"
kind = \"cores\"
";

/// A plan with some lines at the top and some tables at the end, over the least that there must be.
fn with(top: &str, tables: &str) -> String {
    format!("{LEAST}{top}\n{CORES}{tables}")
}

const FULL: &str = r#"
field    = "Alder Flat"
season   = 2027
crop     = "corn"
units    = "metric"
boundary = { file = "boundary.geojson", crs = "EPSG:5070", choose = { attribute = "NAME", is = "Alder Flat" } }
organic_carbon = "from organic matter"
below_detection = "limit"
bulk_density = "1.3 g/cm3"

[[keep_out]]
file     = "creek.geojson"
distance = "33 ft"
why      = "setback from water"

[[points]]
file    = "cores.csv"
kind    = "cores"
crs     = "EPSG:4326"
x = "lon"
y = "lat"
id = "core"
depth   = "0-6 in"
ignore  = ["Lab No"]
  [points.columns]
  "pH"     = { is = "ph", method = "water" }
  "BpH"    = { is = "buffer_ph", method = "smp" }
  "P1"     = { is = "p", method = "bray-1", unit = "ppm" }
  "C:N"    = { is = "cn_ratio", method = "water-extract", depth = "0-2 in" }
  "EM 38"  = { is = "covariate:em" }

[[points]]
file   = "cone.csv"
kind   = "cone"
unit   = "lbf"
base_area = "0.2 in2"
depths = { "d4" = "4 in", "d2" = "2 in" }
moisture = "field capacity"

[grid]
cell = "2 m"

[surface]
power = 1.5
neighbours = 12

[zones]
count    = 4
layers   = ["ph", { layer = "cone_index", weight = 2 }]
smallest = "0.25 ha"
method = "fuzzy c-means"
fuzziness = 1.3
seed = 7
tolerance = "3 m"

[machine]
swath = "12 m"
row_spacing = "75 cm"
heading = -90
speed = "8 km/h"
tank = "1500 L"
flow_per_row = ["0.1 L/min", "1.2 L/min"]
liquid_step = "1 L/ha"
dry_step = "5 kg/ha"

[rules]
file = "my-rules.toml"

[prices]
gypsum = "45 USD/ton"
molasses = "2.5 USD/gal"

[budget]
limit = "60 USD/ac"

[[override]]
zone = 3
product = "starter"
rate = "4 gal/ac"
why = "old feedlot, seen on foot"

[[override]]
zone = 1
product = "gypsum"
rate = "1 ton/ac"
why = "grower's wish"
force = true
"#;

#[test]
fn a_full_plan_becomes_settings_with_every_unit_resolved() {
    let farm = Farm::new();
    let (settings, remarks) = farm.read(FULL).unwrap();
    assert!(remarks.iter().all(|r| r.level == Level::Note), "a full plan leaves nothing to guess: {remarks:?}");

    assert_eq!((settings.field.as_str(), settings.season, settings.crop.as_str()), ("Alder Flat", 2027, "corn"));
    assert_eq!(settings.units, UnitSystem::Metric);
    assert_eq!(settings.boundary.file, farm.0.path().join("boundary.geojson"));
    assert_eq!(settings.boundary.crs.as_deref(), Some("EPSG:5070"));
    assert_eq!(settings.boundary.choose, Some(("NAME".to_owned(), "Alder Flat".to_owned())));
    assert!(settings.carbon_from_organic_matter);
    assert_eq!(settings.below_detection, BelowDetection::Limit);
    assert_eq!(settings.bulk_density, Some(1.3));
    assert!((settings.keep_outs[0].distance.metres() - 33.0 * 0.3048).abs() < 1e-12);
    assert_eq!(settings.cell.metres(), 2.0);
    assert_eq!(settings.surface.power, Choice::Fixed(1.5));
    assert_eq!(settings.surface.neighbours, Choice::Fixed(12));
    assert_eq!(settings.zones.count, Choice::Fixed(4));
    assert_eq!(settings.zones.layers, Some(vec![(Analyte::Ph, 1.0), (Analyte::ConeIndex, 2.0)]));
    assert_eq!(settings.zones.smallest.square_metres(), 2_500.0);
    assert_eq!(settings.zones.method, ZoneMethod::FuzzyCMeans { exponent: 1.3 });
    assert_eq!((settings.zones.seed, settings.zones.tolerance.unwrap().metres()), (7, 3.0));
    assert_eq!(settings.machine.heading, 270.0);
    assert_eq!(settings.machine.row_spacing.metres(), 0.75);
    assert_eq!(settings.machine.flow_per_row.1.litres_per_minute(), 1.2);
    assert_eq!(settings.rules, Some(farm.0.path().join("my-rules.toml")));
    assert_eq!(settings.prices.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(), ["gypsum", "molasses"]);
    assert!(matches!(settings.prices[1].1, Price::PerVolume(price) if (price.dollars_per_litre() - 2.5 / 3.785_411_784).abs() < 1e-12));
    assert!((settings.budget.unwrap().dollars_per_hectare() - 60.0 / 0.404_685_642_24).abs() < 1e-9);
    assert!(matches!(settings.overrides[0].rate, OverrideRate::Volume(_)));
    assert!(matches!(settings.overrides[1].rate, OverrideRate::Mass(_)));
    assert_eq!((settings.overrides[0].force, settings.overrides[1].force), (false, true));
}

#[test]
fn points_keep_the_order_and_the_words_of_the_plan() {
    let (settings, _) = Farm::new().read(FULL).unwrap();
    let cores = &settings.points[0];
    assert_eq!(cores.kind, PointKind::Cores);
    assert_eq!(cores.depths, Depths::Fixed(DepthRange::parse("0-6 in", None).unwrap()));
    assert_eq!(cores.columns.iter().map(|(name, _)| name.as_ref()).collect::<Vec<_>>(), ["pH", "BpH", "P1", "C:N", "EM 38"]);
    assert_eq!(cores.columns[2].1.method, Some(Method::new("bray-1")));
    assert_eq!(cores.columns[3].1.depth, Some(DepthRange::parse("0-2 in", None).unwrap()));
    assert_eq!(cores.columns[4].1.analyte, Analyte::Covariate("em".into()));
    assert_eq!(cores.columns[0].1.place.to_string().rsplit_once("plan.toml").unwrap().1, ", row 26, key points[1].columns.pH");
    assert_eq!(cores.ignore, ["Lab No"]);

    let cone = settings.points[1].cone.as_ref().unwrap();
    assert_eq!(cone.unit, "lbf");
    assert!((cone.base_area_mm2.unwrap() - 129.032).abs() < 1e-9, "0.2 in² is 129.032 mm² (25.4² x 0.2)");
    assert_eq!(cone.depths.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>(), ["d2", "d4"], "shallow to deep");
}

#[test]
fn the_least_plan_takes_documented_defaults_and_says_so() {
    let (settings, remarks) = Farm::new().read(&with("", "")).unwrap();
    assert_eq!(settings.units, UnitSystem::UnitedStates);
    assert_eq!(settings.cell, plan::defaults::CELL);
    assert_eq!(settings.zones.smallest, plan::defaults::SMALLEST_PATCH);
    assert_eq!(settings.zones.count, Choice::Auto);
    assert_eq!(settings.machine.row_spacing, plan::defaults::ROW_SPACING);
    assert_eq!(settings.below_detection, BelowDetection::Half);
    let [remark] = remarks.as_slice() else { panic!("one remark: {remarks:?}") };
    assert_eq!((remark.level, remark.code), (Level::Guess, "machine-assumed"));
    assert_snapshot!(remark.what, @"");
}

#[test]
fn an_empty_plan_names_everything_that_is_missing() {
    assert_snapshot!(problems(""), @"");
}

#[test]
fn every_problem_of_a_plan_is_told_at_once_in_the_order_of_the_rows() {
    let text = r#"
feild = "Alder Flat"
season = "2027"
crop = "corn"
units = "metrisch"
boundary = { file = "boundry.geojson" }

[[points]]
file = "cores.csv"
kind = "core"

[grid]
cell = 5

[machine]
swath = "40"
speed = "5 knots"

[tillage]
depth = "6 in"
"#;
    assert_snapshot!(problems(text), @"");
}

//! Stage tests: plan.

use std::fs;
use std::path::{Path, PathBuf};

use insta::assert_snapshot;
use lowstave::Files;
use lowstave::analyte::{Analyte, DepthRange, Method};
use lowstave::plan::{
    self, BelowDetection, Depths, FieldChoice, FixedOrAuto, PlanError, PointKind, Price, Settings,
    ZoneMethod,
};
use lowstave::remark::{Level, Remark};
use lowstave::units::ProductRate;
use lowstave::units::UnitSystem;
use proptest::prelude::*;
use tempfile::TempDir;

/// A folder with the files that plans name, all of them empty.
struct Farm(TempDir);

impl Farm {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        for file in [
            "boundary.geojson",
            "creek.geojson",
            "cores.csv",
            "cone.csv",
            "my-rules.toml",
        ] {
            fs::write(folder.path().join(file), "").unwrap();
        }
        Self(folder)
    }

    fn plan_path(&self) -> PathBuf {
        self.0.path().join("plan.toml")
    }

    fn files(&self) -> Files {
        Files::folder(self.0.path())
    }

    fn read(&self, text: &str) -> Result<(Settings, Vec<Remark>), Vec<PlanError>> {
        plan::from_text(text, &self.files(), Path::new("plan.toml"))
    }

    /// Every problem of a plan, one a line, with the folder left out.
    fn problems(&self, text: &str) -> String {
        let problems = self.read(text).expect_err("this plan has problems");
        let folder = format!("{}/", self.0.path().display());
        problems
            .iter()
            .map(|problem| problem.to_string().replace(&folder, ""))
            .collect::<Vec<_>>()
            .join("\n")
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
    assert!(
        remarks.iter().all(|r| r.level == Level::Info),
        "a full plan leaves nothing to guess: {remarks:?}"
    );

    assert_eq!(
        (
            settings.field.as_str(),
            settings.season,
            settings.crop.as_str()
        ),
        ("Alder Flat", 2027, "corn")
    );
    assert_eq!(settings.units, UnitSystem::Metric);
    assert_eq!(settings.boundary.file, Path::new("boundary.geojson"));
    assert_eq!(settings.boundary.crs.as_deref(), Some("EPSG:5070"));
    assert_eq!(
        settings.boundary.choose,
        Some(FieldChoice::Attribute(
            "NAME".to_owned(),
            "Alder Flat".to_owned()
        ))
    );
    assert!(settings.carbon_from_organic_matter);
    assert_eq!(settings.below_detection, BelowDetection::Limit);
    assert_eq!(settings.bulk_density, Some(1.3));
    assert!((settings.keep_outs[0].distance.metres() - 33.0 * 0.3048).abs() < 1e-12);
    assert_eq!(settings.cell.metres(), 2.0);
    assert_eq!(settings.surface.power, FixedOrAuto::Fixed(1.5));
    assert_eq!(settings.surface.neighbours, FixedOrAuto::Fixed(12));
    assert_eq!(settings.zones.count, FixedOrAuto::Fixed(4));
    assert_eq!(
        settings.zones.layers,
        Some(vec![(Analyte::Ph, 1.0), (Analyte::ConeIndex, 2.0)])
    );
    assert_eq!(settings.zones.smallest.square_metres(), 2_500.0);
    assert_eq!(
        settings.zones.method,
        ZoneMethod::FuzzyCMeans { exponent: 1.3 }
    );
    assert_eq!(
        (
            settings.zones.seed,
            settings.zones.tolerance.unwrap().metres()
        ),
        (7, 3.0)
    );
    assert_eq!(settings.machine.heading, 270.0);
    assert_eq!(settings.machine.row_spacing.metres(), 0.75);
    assert_eq!(settings.machine.flow_per_row.1.litres_per_minute(), 1.2);
    assert_eq!(settings.rules, Some(PathBuf::from("my-rules.toml")));
    assert_eq!(
        settings
            .prices
            .iter()
            .map(|(name, _)| name.as_str())
            .collect::<Vec<_>>(),
        ["gypsum", "molasses"]
    );
    assert!(
        matches!(settings.prices[1].1, Price::PerVolume(price) if (price.dollars_per_litre() - 2.5 / 3.785_411_784).abs() < 1e-12)
    );
    assert!(
        (settings.budget.unwrap().dollars_per_hectare() - 60.0 / 0.404_685_642_24).abs() < 1e-9
    );
    assert!(matches!(settings.overrides[0].rate, ProductRate::Volume(_)));
    assert!(matches!(settings.overrides[1].rate, ProductRate::Mass(_)));
    assert_eq!(
        (settings.overrides[0].force, settings.overrides[1].force),
        (false, true)
    );
}

#[test]
fn points_keep_the_order_and_the_words_of_the_plan() {
    let (settings, _) = Farm::new().read(FULL).unwrap();
    let cores = &settings.points[0];
    assert_eq!(cores.kind, PointKind::Cores);
    assert_eq!(
        cores.depths,
        Depths::Fixed(DepthRange::parse("0-6 in", None).unwrap())
    );
    assert_eq!(
        cores
            .columns
            .iter()
            .map(|(name, _)| name.as_ref())
            .collect::<Vec<_>>(),
        ["pH", "BpH", "P1", "C:N", "EM 38"]
    );
    assert_eq!(cores.columns[2].1.method, Some(Method::new("bray-1")));
    assert_eq!(
        cores.columns[3].1.depth,
        Some(DepthRange::parse("0-2 in", None).unwrap())
    );
    assert_eq!(cores.columns[4].1.analyte, Analyte::Covariate("em".into()));
    assert_eq!(
        cores.columns[0]
            .1
            .place
            .to_string()
            .rsplit_once("plan.toml")
            .unwrap()
            .1,
        ", row 26, key points[1].columns.pH"
    );
    assert_eq!(cores.ignore, ["Lab No"]);

    let cone = settings.points[1].cone.as_ref().unwrap();
    assert_eq!(cone.unit, "lbf");
    assert!(
        (cone.base_area_mm2.unwrap() - 129.032).abs() < 1e-9,
        "0.2 in² is 129.032 mm² (25.4² x 0.2)"
    );
    assert_eq!(
        cone.depths
            .iter()
            .map(|(name, _)| name.as_str())
            .collect::<Vec<_>>(),
        ["d2", "d4"],
        "shallow to deep"
    );
}

#[test]
fn the_least_plan_takes_documented_defaults_and_says_so() {
    let (settings, remarks) = Farm::new().read(&with("", "")).unwrap();
    assert_eq!(settings.units, UnitSystem::UnitedStates);
    assert_eq!(settings.cell, plan::defaults::CELL);
    assert_eq!(settings.zones.smallest, plan::defaults::SMALLEST_PATCH);
    assert_eq!(settings.zones.count, FixedOrAuto::Auto);
    assert_eq!(settings.machine.row_spacing, plan::defaults::ROW_SPACING);
    assert_eq!(settings.below_detection, BelowDetection::Half);
    let [remark] = remarks.as_slice() else {
        panic!("one remark: {remarks:?}")
    };
    assert_eq!(
        (remark.level, remark.code),
        (Level::Assumption, "machine-assumed")
    );
    assert_snapshot!(remark.what, @"The plan does not say all of [machine]; common practice was taken: swath 40 ft, row_spacing 30 in, heading 0, speed 5 mph, tank 400 gal, flow_per_row 0.03 gal/min to 0.3 gal/min.");
}

#[test]
fn an_empty_plan_names_everything_that_is_missing() {
    assert_snapshot!(problems(""), @r#"
    plan.toml, row 1, key field: "field" is missing; add field = "Alder Flat" at the top
    plan.toml, row 1, key season: "season" is missing; add season = 2027 at the top
    plan.toml, row 1, key crop: "crop" is missing; add crop = "corn" at the top
    plan.toml, row 1, key boundary: "boundary" is missing; add boundary = { file = "boundary.geojson" } at the top
    plan.toml, row 1, key points: "points" is missing; add a [[points]] table with file and kind for each file of cores or readings; where none were taken yet, `lowstave cores PLAN --add N --pattern regular` lays out the first
    "#);
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
    assert_snapshot!(problems(text), @r#"
    plan.toml, row 1, key field: "field" is missing; add field = "Alder Flat" at the top
    plan.toml, row 2, key feild: "feild" is not a key of the top of the plan (did you mean "field"?); allowed here: field, season, crop, units, boundary, keep_out, points, grid, surface, zones, machine, rules, prices, budget, override, people, results, past, strips, limits, region, yield_goal, last_harvest, shed, organic_carbon, below_detection, bulk_density
    plan.toml, row 3, key season: found the text "2027"; write season = 2027, a year without quotes
    plan.toml, row 5, key units: "metrisch" is not a system of units (did you mean "metric"?); allowed: us, metric
    plan.toml, row 6, key boundary.file: there is no file "boundry.geojson" (did you mean "boundary.geojson"?); paths are relative to the folder of the plan file
    plan.toml, row 10, key points[1].kind: "core" is not a kind of points (did you mean "cores"?); allowed: cores, cone, readings
    plan.toml, row 13, key grid.cell: found the number 5; write cell = "5 m"
    plan.toml, row 16, key machine.swath: "40" has no unit; a length is written with one of m, cm, mm, km, ft, in, yd, mi
    plan.toml, row 17, key machine.speed: "knots" is not a unit of speed; use one of m/s, km/h, mph, ft/min
    plan.toml, row 19, key tillage: "tillage" is not a key of the top of the plan; allowed here: field, season, crop, units, boundary, keep_out, points, grid, surface, zones, machine, rules, prices, budget, override, people, results, past, strips, limits, region, yield_goal, last_harvest, shed, organic_carbon, below_detection, bulk_density
    "#);
}

#[test]
fn an_unknown_key_is_answered_with_the_nearest_one_or_its_table() {
    let text = with(
        "swath = \"40 ft\"\n",
        "[grid]\ncel = \"5 m\"\n[machine]\nrowspacing = \"30 in\"\nlimit = \"60 USD/ac\"\nwings = 2\n",
    );
    assert_snapshot!(problems(&text), @r#"
    plan.toml, row 5, key swath: "swath" is not a key of the top of the plan (it belongs in [machine]); allowed here: field, season, crop, units, boundary, keep_out, points, grid, surface, zones, machine, rules, prices, budget, override, people, results, past, strips, limits, region, yield_goal, last_harvest, shed, organic_carbon, below_detection, bulk_density
    plan.toml, row 12, key grid.cel: "cel" is not a key of [grid] (did you mean "cell"?); allowed here: cell
    plan.toml, row 14, key machine.rowspacing: "rowspacing" is not a key of [machine] (did you mean "row_spacing"?); allowed here: swath, row_spacing, heading, speed, tank, flow_per_row, liquid_step, dry_step, passes
    plan.toml, row 15, key machine.limit: "limit" is not a key of [machine] (it belongs in [budget]); allowed here: swath, row_spacing, heading, speed, tank, flow_per_row, liquid_step, dry_step, passes
    plan.toml, row 16, key machine.wings: "wings" is not a key of [machine]; allowed here: swath, row_spacing, heading, speed, tank, flow_per_row, liquid_step, dry_step, passes
    "#);
}

#[test]
fn a_value_of_another_type_is_told_what_to_write() {
    let text = with(
        "bulk_density = 1.3\n",
        "[surface]\npower = \"two\"\n[zones]\ncount = true\nlayers = \"ph\"\nseed = -1\n[prices]\ngypsum = 45\n[[override]]\nzone = 1.5\nproduct = \"\"\nrate = 4\nwhy = \"seen\"\nforce = \"yes\"\n",
    );
    assert_snapshot!(problems(&text), @r#"
    plan.toml, row 5, key bulk_density: found the number 1.3; write bulk_density = "1.3 g/cm3"
    plan.toml, row 12, key surface.power: found the text "two"; write "auto" or a number without quotes
    plan.toml, row 14, key zones.count: found true; write "auto" or a number without quotes
    plan.toml, row 15, key zones.layers: found the text "ph"; write layers = ["ph", "cn_ratio"], a list of analytes
    plan.toml, row 16, key zones.seed: found the number -1; write seed = 1, a whole number without quotes
    plan.toml, row 18, key prices.gypsum: found the number 45; write a price such as "45 USD/ton"
    plan.toml, row 20, key override[1].zone: found the number 1.5; write zone = 3, the number on the map without quotes
    plan.toml, row 21, key override[1].product: found an empty text; write product = "starter"
    plan.toml, row 22, key override[1].rate: found the number 4; write rate = "4 gal/ac"
    plan.toml, row 24, key override[1].force: found the text "yes"; write true or false, without quotes
    "#);
}

#[test]
fn single_brackets_where_double_ones_belong_are_named() {
    let text = format!("{LEAST}[points]\nfile = \"cores.csv\"\nkind = \"cores\"\n");
    assert_snapshot!(problems(&text), @"plan.toml, row 5, key points: found a table; write [[points]] in double brackets, one for each");
}

#[test]
fn a_slip_in_a_method_is_told_and_a_method_of_its_own_is_taken() {
    let columns = |method: &str| {
        format!(
            "  [points.columns]\n  \"P\" = {{ is = \"p\", method = \"{method}\", unit = \"ppm\" }}\n"
        )
    };
    for (slip, meant) in [("mehlick-3", "mehlich-3"), ("olson", "olsen")] {
        let found = problems(&with("", &columns(slip)));
        assert!(
            found.contains(slip) && found.contains(&format!("did you mean \"{meant}\"")),
            "{found}"
        );
        assert!(found.contains("plan.toml, row "), "{found}");
    }
    for other in ["mehlich-3", "Bray 1", "bray-9", "in-house extraction"] {
        let read = Farm::new().read(&with("", &columns(other)));
        assert!(read.is_ok(), "{other}: {read:?}");
    }
}

#[test]
fn a_slip_in_the_crop_is_told_beside_the_price_of_the_crop_that_was_meant() {
    let text =
        with("", "").replace("\"corn\"", "\"corm\"") + "\n[prices]\ncorn = \"4.40 USD/bu\"\n";
    let found = problems(&text);
    assert!(
        found.contains("\"corn\" has a price by the bushel, as a crop has, but the crop of this plan is \"corm\" (row 3)"),
        "{found}"
    );
    assert!(!found.contains("is not a unit"), "{found}");
}

#[test]
fn a_boundary_written_as_a_text_is_shown_as_a_table() {
    let text = with("", "").replace("{ file = \"boundary.geojson\" }", "\"boundary.geojson\"");
    assert_snapshot!(problems(&text), @r#"plan.toml, row 4, key boundary: found the text "boundary.geojson"; write boundary = { file = "boundary.geojson" }"#);
}

#[test]
fn wrong_and_missing_units_name_the_units_allowed() {
    let text = with(
        "",
        "[grid]\ncell = \"5\"\n[zones]\nsmallest = \"0.5 m\"\n[machine]\nswath = \"40 fet\"\nspeed = \"fast\"\ntank = \"1,500 L\"\n[prices]\nlime = \"45 USD/t\"\ncompost = \"30 EUR/ton\"\n[budget]\nlimit = \"60 USD\"\n",
    );
    assert_snapshot!(problems(&text), @r#"
    plan.toml, row 11, key grid.cell: "5" has no unit; a length is written with one of m, cm, mm, km, ft, in, yd, mi
    plan.toml, row 13, key zones.smallest: "m" is not a unit of area; use one of m2, ha, ac, ft2, in2, cm2, mm2
    plan.toml, row 15, key machine.swath: "fet" is not a unit of length (did you mean "ft"?); use one of m, cm, mm, km, ft, in, yd, mi
    plan.toml, row 16, key machine.speed: "fast" does not start with a number; a speed is written like "5 m/s"
    plan.toml, row 17, key machine.tank: the comma in "1,500 L" may be a decimal sign or a thousands separator; write the number with a point, as in 1500.5
    plan.toml, row 19, key prices.lime: "USD/t" may mean a short ton (2,000 lb) or a metric tonne (1,000 kg); write "USD/ton" or "USD/tonne"
    plan.toml, row 20, key prices.compost: "EUR/ton" is not a unit of price; use one of USD/kg, USD/tonne, USD/lb, USD/ton (dry) or USD/L, USD/gal (liquid)
    plan.toml, row 22, key budget.limit: "USD" is not a unit of money per area; use one of USD/ha, USD/ac
    "#);
}

#[test]
fn words_out_of_a_list_name_the_list() {
    let text = with(
        "units = \"US\"\nbelow_detection = \"halve\"\norganic_carbon = \"from OM\"\n",
        "[points.columns]\n\"P1\" = { is = \"phosphorous\" }\n\"OM\" = { is = \"organic matter\" }\n[zones]\nmethod = \"kmeans\"\n",
    );
    assert_snapshot!(problems(&text), @r#"
    plan.toml, row 5, key units: "US" is not a system of units (did you mean "us"?); allowed: us, metric
    plan.toml, row 6, key below_detection: "halve" is not a rule for results below detection; allowed: half, limit, zero, missing
    plan.toml, row 7, key organic_carbon: "from OM" is not a source of organic carbon; allowed: from organic matter
    plan.toml, row 14, key points[1].columns.P1.is: "phosphorous" is not an analyte (did you mean "p"?); allowed: ph, buffer_ph, carbonates, exchangeable_acidity, organic_matter, organic_carbon, total_carbon, total_nitrogen, water_carbon, water_nitrogen, cn_ratio, p, k, ca, mg, na, s, b, zn, mn, cu, fe, cec, ca_pct, mg_pct, k_pct, na_pct, h_pct, ec, sar, clay, silt, sand, bulk_density, moisture, cone_index, brix, stand, yield, covariate:<name> for any other number
    plan.toml, row 15, key points[1].columns.OM.is: "organic matter" is not an analyte (did you mean "organic_matter"?); allowed: ph, buffer_ph, carbonates, exchangeable_acidity, organic_matter, organic_carbon, total_carbon, total_nitrogen, water_carbon, water_nitrogen, cn_ratio, p, k, ca, mg, na, s, b, zn, mn, cu, fe, cec, ca_pct, mg_pct, k_pct, na_pct, h_pct, ec, sar, clay, silt, sand, bulk_density, moisture, cone_index, brix, stand, yield, covariate:<name> for any other number
    plan.toml, row 17, key zones.method: "kmeans" is not a way to find zones (did you mean "k-means"?); allowed: k-means, fuzzy c-means
    "#);
}

#[test]
fn numbers_outside_their_range_name_the_range() {
    let text = with(
        "bulk_density = \"13 g/cm3\"\n",
        "[grid]\ncell = \"-5 m\"\n[surface]\npower = 0\nneighbours = 0\n[zones]\ncount = 31\nsmallest = \"-1 ac\"\nmethod = \"fuzzy c-means\"\nfuzziness = 1\n[machine]\nheading = 400\nswath = \"0 ft\"\nspeed = \"1e308 mph\"\n[prices]\ngypsum = \"-45 USD/ton\"\n[[override]]\nzone = 0\nproduct = \"lime\"\nrate = \"-1 ton/ac\"\nwhy = \"seen\"\n",
    )
    .replace("2027", "27");
    assert_snapshot!(problems(&text), @r#"
    plan.toml, row 2, key season: 27 is out of range; allowed: a year from 1950 to 2100
    plan.toml, row 5, key bulk_density: 13 g/cm3 is out of range; allowed: 0.05 g/cm3 to 2.65 g/cm3
    plan.toml, row 12, key grid.cell: -5 m is out of range; allowed: 1 cm to 1000 m (0.4 in to 3281 ft)
    plan.toml, row 14, key surface.power: 0 is out of range; allowed: "auto", or a number above 0 and up to 100
    plan.toml, row 15, key surface.neighbours: 0 is out of range; allowed: "auto", or a whole number from 1 to 1000
    plan.toml, row 17, key zones.count: 31 is out of range; allowed: "auto", or a whole number from 1 to 30
    plan.toml, row 18, key zones.smallest: -1 ac is out of range; allowed: 0 to 10000 ha (24711 ac)
    plan.toml, row 20, key zones.fuzziness: 1 is out of range; allowed: above 1 and up to 10
    plan.toml, row 22, key machine.heading: 400 is out of range; allowed: 0 to 360 degrees clockwise from north
    plan.toml, row 23, key machine.swath: 0 ft is out of range; allowed: 0.1 m to 100 m (4 in to 328 ft)
    plan.toml, row 24, key machine.speed: 1e308 mph is out of range; allowed: 0.36 km/h to 72 km/h (0.23 mph to 44 mph)
    plan.toml, row 26, key prices.gypsum: -45 USD/ton is out of range; allowed: 0 or more
    plan.toml, row 28, key override[1].zone: 0 is out of range; allowed: a zone number from 1
    plan.toml, row 30, key override[1].rate: -1 ton/ac is out of range; allowed: 0 or more
    "#);
}

#[test]
fn missing_files_are_looked_for_beside_the_plan_file() {
    let text = format!(
        "{}\n[[keep_out]]\nfile = \"creek.shp\"\n[[points]]\nfile = \"core.csv\"\nkind = \"cores\"\n[[points]]\nfile = \".\"\nkind = \"cone\"\nunit = \"psi\"\ndepths = {{ \"d2\" = \"2 in\" }}\n[rules]\nfile = \"rules/mine.toml\"\n",
        LEAST.replace("boundary.geojson", "Boundary.geojson"),
    );
    assert_snapshot!(problems(&text), @r#"
    plan.toml, row 4, key boundary.file: there is no file "Boundary.geojson" (did you mean "boundary.geojson"?); paths are relative to the folder of the plan file
    plan.toml, row 7, key keep_out[1].file: there is no file "creek.shp"; paths are relative to the folder of the plan file
    plan.toml, row 9, key points[1].file: there is no file "core.csv" (did you mean "cone.csv"?); paths are relative to the folder of the plan file
    plan.toml, row 12, key points[2].file: "." is not a file: it is a folder; name a file
    plan.toml, row 17, key rules.file: there is no file "rules/mine.toml"; paths are relative to the folder of the plan file
    "#);
}

#[test]
fn a_depth_said_in_two_ways_is_a_contradiction() {
    let cores = "depth = \"0-6 in\"\ndepth_column = \"depth\"\ndepth_unit = \"in\"\n[points.columns]\n\"pH\" = { is = \"ph\", depth = \"6-0 in\" }\n\"K\" = { is = \"k\", depth = \"0-2 in\" }\n";
    assert_snapshot!(problems(&with("", cores)), @r#"
    plan.toml, row 11, key points[1].depth_column: the sampling depth is said in 2 ways: depth, depth_column; keep the one that is true of this file
    plan.toml, row 14, key points[1].columns.pH.depth: "6-0 in" is not a depth range; write it like "0-6 in" or "15-30 cm"
    plan.toml, row 14, key points[1].columns.pH.depth: this column has a depth of its own, but the depth stands in each row; keep the depth of the rows, or that of the columns
    plan.toml, row 15, key points[1].columns.K.depth: this column has a depth of its own, but the depth stands in each row; keep the depth of the rows, or that of the columns
    "#);
}

#[test]
fn half_a_pair_of_depth_columns_asks_for_the_other_half_and_the_unit() {
    assert_snapshot!(problems(&with("", "top = \"from_in\"\n")), @r#"
    plan.toml, row 7, key points[1].bottom: "bottom" is missing; add bottom = "to_in", the column of the lower edge
    plan.toml, row 7, key points[1].depth_unit: "depth_unit" is missing; add depth_unit = "in" (or "cm")
    "#);
    assert_snapshot!(problems(&with("", "top = \"d\"\nbottom = \"d\"\ndepth_unit = \"inch or so\"\n")), @r#"
    plan.toml, row 11, key points[1].bottom: top and bottom are the same column "d"; top is the upper edge of the sample, bottom the lower
    plan.toml, row 12, key points[1].depth_unit: "inch or so" is not a unit of depth; allowed: in, cm, mm, ft, m
    "#);
    assert_snapshot!(problems(&with("", "depth = \"0-6 in\"\ndepth_unit = \"in\"\n")), @"plan.toml, row 11, key points[1].depth_unit: depth_unit has no columns that it could speak of; name the columns with depth_column, or with top and bottom");
}

#[test]
fn a_cone_file_needs_its_unit_and_its_depths() {
    let cone = "[[points]]\nfile = \"cone.csv\"\nkind = \"cone\"\n";
    assert_snapshot!(problems(&with("", cone)), @r#"
    plan.toml, row 10, key points[2].unit: "unit" is missing; add unit = "psi" (or "kPa", "MPa"), the unit of the readings
    "#);
    let force = format!(
        "{cone}unit = \"lbf\"\ndepths = {{ \"a\" = \"2 in\", \"b\" = \"5.08 cm\", \"c\" = \"9 ft\", \"d\" = \"9 m\" }}\ndepth = \"0-6 in\"\n"
    );
    assert_snapshot!(problems(&with("", &force)), @r#"
    plan.toml, row 13, key points[2].unit: "lbf" is a force, and a force is no pressure without the cone's base area; add base_area, such as "130 mm2"; it stands in the cone's papers
    plan.toml, row 14, key points[2].depths.d: 9 m is out of range; allowed: 0 to 5 m
    plan.toml, row 14, key points[2].depths: the columns "a" and "b" stand at the same depth; give each depth one column; replicates are rows of their own
    plan.toml, row 15, key points[2].depth: a cone file says the depth of its readings in two ways; keep depths, where each depth has its column, or depth_column, where each depth has its row
    "#);
    let odd = format!("{cone}unit = \"psig\"\ndepth_column = \"depth\"\ndepths = {{}}\n");
    assert_snapshot!(problems(&with("", &odd)), @r#"
    plan.toml, row 13, key points[2].unit: "psig" is not a unit of a cone reading (did you mean "psi"?); allowed: kPa, MPa, bar, psi, kgf/cm2, N, kgf, lbf
    plan.toml, row 14, key points[2].depth_column: a cone file says the depth of its readings in two ways; keep depths, where each depth has its column, or depth_column, where each depth has its row
    plan.toml, row 15, key points[2].depths: depths names no column; write each column with its depth, such as "d2" = "2 in"
    "#);
}

#[test]
fn a_cone_file_with_a_depth_in_each_row_is_good() {
    let cone = "[[points]]\nfile = \"cone.csv\"\nkind = \"cone\"\nunit = \"KPA\"\ndepth_column = \"depth\"\ndepth_unit = \"cm\"\n";
    let (settings, _) = Farm::new().read(&with("", cone)).unwrap();
    assert_eq!(
        settings.points[1].depths,
        Depths::Column {
            column: "depth".into(),
            unit: Some("cm".into())
        }
    );
    assert_eq!(
        settings.points[1].cone.as_ref().unwrap().unit,
        "kPa",
        "in the spelling of the table of units"
    );
}

#[test]
fn a_pressure_does_not_need_the_base_area_and_that_is_said() {
    let cone = "[[points]]\nfile = \"cone.csv\"\nkind = \"cone\"\nunit = \"psi\"\nbase_area = \"130 mm2\"\ndepths = { \"d2\" = \"2 in\" }\n";
    let (_, remarks) = Farm::new().read(&with("", cone)).unwrap();
    assert!(
        remarks
            .iter()
            .any(|remark| remark.code == "base-area-not-needed"),
        "{remarks:?}"
    );
}

#[test]
fn cone_keys_on_a_file_of_cores_are_refused() {
    let cores = "unit = \"ppm\"\nmoisture = \"dry\"\nbase_area = \"130 mm2\"\ndepths = { \"d2\" = \"2 in\" }\n";
    assert_snapshot!(problems(&with("", cores)), @r#"
    plan.toml, row 11, key points[1].moisture: "moisture" is for cone files only; leave it out, or write kind = "cone"
    plan.toml, row 12, key points[1].base_area: "base_area" is for cone files only; leave it out, or write kind = "cone"
    plan.toml, row 13, key points[1].depths: "depths" is for cone files only; say the depth with depth, depth_column, or top and bottom, or write kind = "cone"
    "#);
}

#[test]
fn a_unit_or_a_method_of_a_file_that_no_result_can_have_is_refused() {
    let told = problems(&with("", "unit = \"psi\"\nmethod = \"brai-1\"\n"));
    assert!(
        told.contains("row 10, key points[1].unit")
            && told.contains("row 11, key points[1].method"),
        "{told}"
    );
    assert!(told.contains("did you mean \"bray-1\"?"), "{told}");
}

#[test]
fn a_column_has_one_role() {
    let cores = "x = \"lon\"\nid = \"core\"\nignore = [\"core\", \"pH\"]\n[points.columns]\n\"pH\" = { is = \"ph\" }\n\"PH \" = { is = \"ph\", method = \"water\" }\n\"pHw\" = { is = \"ph\", method = \"Water\" }\n\"K\" = { method = \"mehlich-3\" }\n";
    assert_snapshot!(problems(&with("", cores)), @r#"
    plan.toml, row 10, key points[1].x: x is said but y is not; name both columns, or neither so that they are guessed
    plan.toml, row 11, key points[1].id: the column "core" is ignored and used at once; take it out of ignore, or do not name it here
    plan.toml, row 14, key points[1].columns.pH: the column "pH" is ignored and used at once; take it out of ignore, or do not name it here
    plan.toml, row 15, key points[1].columns."PH ": the columns "pH" and "PH " are one, but for blanks or letter case; keep the line that is spelled as in the file
    plan.toml, row 16, key points[1].columns.pHw: the columns "PH " and "pHw" are said to be the same thing; tell them apart by method or depth, or put one of them in ignore
    plan.toml, row 17, key points[1].columns.K.is: "is" is missing; add is = "ph", what the column holds
    "#);
    assert_snapshot!(problems(&with("", "x = \"lon\"\ny = \"lon\"\n")), @r#"plan.toml, row 11, key points[1].y: x and y are the same column "lon"; x is east or longitude, y is north or latitude"#);
}

#[test]
fn two_tables_that_read_the_same_column_would_count_it_twice() {
    let cores = "[points.columns]\n\"pH\" = { is = \"ph\" }\n[[points]]\nfile = \"cores.csv\"\nkind = \"cores\"\n[points.columns]\n\"pH\" = { is = \"ph\" }\n";
    assert_snapshot!(problems(&with("", cores)), @r#"plan.toml, row 16, key points[2].columns.pH: two tables name the column "pH" of "cores.csv"; read each column of a file in one [[points]] table only"#);
    assert_snapshot!(problems(&with("", CORES)), @r#"plan.toml, row 12, key points[2].file: two tables read "cores.csv", and its results would count twice; read each column of a file in one [[points]] table only"#);
}

#[test]
fn two_tables_may_share_a_file_when_their_columns_differ() {
    let cores = "depth = \"0-2 in\"\n[points.columns]\n\"pH 2\" = { is = \"ph\" }\n[[points]]\nfile = \"cores.csv\"\nkind = \"cores\"\ndepth = \"0-6 in\"\n[points.columns]\n\"pH 6\" = { is = \"ph\" }\n";
    assert_eq!(
        Farm::new().read(&with("", cores)).unwrap().0.points.len(),
        2
    );
}

#[test]
fn machine_and_zones_must_agree_with_themselves() {
    let text = "[zones]\nfuzziness = 1.5\nlayers = [\"ph\", { layer = \"ph\", weight = -2 }, 3]\n[machine]\nswath = \"30 in\"\nrow_spacing = \"40 ft\"\nflow_per_row = [\"0.30 gal/min\", \"0.03 gal/min\"]\n";
    assert_snapshot!(problems(&with("", text)), @r#"
    plan.toml, row 11, key zones.fuzziness: k-means has no fuzziness; write method = "fuzzy c-means", or leave fuzziness out
    plan.toml, row 12, key zones.layers[3]: found the number 3; write an analyte such as "ph", or { layer = "ph", weight = 2 }
    plan.toml, row 12, key zones.layers[2].weight: -2 is out of range; allowed: above 0 and up to 1000
    plan.toml, row 12, key zones.layers[2]: the layer "ph" is named twice; name it once, with a weight if it counts more
    plan.toml, row 14, key machine.swath: rows stand 480 in apart, wider than the swath of 2.5 ft; swath is the width of a pass, row_spacing the distance between two rows
    plan.toml, row 16, key machine.flow_per_row: the least flow is not less than the most; write the least first, then the most
    "#);
    assert_snapshot!(problems(&with("", "[zones]\nlayers = []\n[machine]\nflow_per_row = [\"1 L/min\"]\n")), @r#"
    plan.toml, row 11, key zones.layers: zones cannot be shaped by no layer; name at least one layer, or leave the key out so that every layer with a skilful map counts
    plan.toml, row 13, key machine.flow_per_row: flow_per_row has 1 values; write the least and the most, such as ["0.03 gal/min", "0.30 gal/min"]
    "#);
}

#[test]
fn an_override_needs_a_form_and_stands_alone() {
    let one = "[[override]]\nzone = 3\nproduct = \"starter\"\nrate = \"4 gal/ac\"\nwhy = \"seen on foot\"\n";
    let text =
        format!("{one}{one}[[override]]\nzone = 2\nproduct = \"lime\"\nrate = \"2 bags/ac\"\n");
    assert_snapshot!(problems(&with("", &text)), @r#"
    plan.toml, row 15, key override[2]: zone 3 has two rates of "starter" (the other in row 10); keep one of them
    plan.toml, row 20, key override[3].why: "why" is missing; add why = "old feedlot, seen on foot"; the report prints it
    plan.toml, row 23, key override[3].rate: "bags/ac" is not a unit of rate; use one of kg/ha, g/ha, tonne/ha, lb/ac, ton/ac (dry) or L/ha, gal/ac (liquid)
    "#);
}

#[test]
fn text_that_is_not_toml_is_refused_with_its_row() {
    assert_snapshot!(problems("field = \"Alder Flat\nseason = 2027\ncrop = corn\n"), @r#"
    plan.toml, row 1: this is not valid TOML: invalid basic string, expected `"`
    plan.toml, row 3: this is not valid TOML: string values must be quoted, expected literal string
    "#);
    assert_snapshot!(problems("field = \"a\"\nfield = \"b\"\n[grid]\n[grid]\n"), @r"
    plan.toml, row 2: this is not valid TOML: duplicate key
    plan.toml, row 4: this is not valid TOML: duplicate key
    ");
}

#[test]
fn a_plan_that_is_no_plan_is_refused_before_it_is_parsed() {
    let farm = Farm::new();
    let told = |path: PathBuf| match plan::read(&Files::folder(""), &path)
        .expect_err("no plan")
        .as_slice()
    {
        [problem] => problem
            .to_string()
            .replace(&format!("{}/", farm.0.path().display()), "")
            .replace(&farm.0.path().display().to_string(), "."),
        many => panic!("one problem: {many:?}"),
    };
    let write = |name: &str, bytes: &[u8]| {
        let path = farm.0.path().join(name);
        fs::write(&path, bytes).unwrap();
        path
    };
    assert_snapshot!(told(farm.0.path().join("missing.toml")), @r#"missing.toml: the plan file cannot be read (no such file or directory); check the path, or write a first plan with "lowstave start""#);
    assert_snapshot!(told(farm.0.path().to_owned()), @r#".: this is not a file; give the path of a plan file, such as "plan.toml""#);
    assert_snapshot!(told(write("latin.toml", b"# one\nfield = \"M\xfchle\"\n")), @"latin.toml, row 2: this is not UTF-8 text; save the plan file as UTF-8");
    assert_snapshot!(told(write("large.toml", &vec![b'#'; plan::LARGEST_PLAN_BYTES as usize + 1])), @"large.toml: the file is larger than 1048576 bytes; a plan file is a short text, is this a data file?");
}

#[test]
fn a_plan_is_read_from_its_file_and_its_paths_are_relative_to_it() {
    let farm = Farm::new();
    fs::write(farm.plan_path(), format!("\u{feff}{}", with("", ""))).unwrap();
    let (settings, _) = plan::read(&Files::folder(""), &farm.plan_path()).unwrap();
    assert_eq!(settings.plan_file, Path::new("plan.toml"));
    assert_eq!(settings.points[0].file, Path::new("cores.csv"));
}

#[test]
fn long_texts_are_cut_in_messages() {
    let told = problems(&with(&format!("units = \"{}\"\n", "x".repeat(10_000)), ""));
    assert!(told.len() < 400, "{}", told.len());
    let told = problems(&with(&format!("{} = 1\n", "x".repeat(10_000)), ""));
    assert!(told.len() < 700, "{}", told.len());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(512))]

    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,200}") {
        let _ = plan::from_text(&text, &Files::folder(""), Path::new("plan.toml"));
    }

    #[test]
    fn no_damage_to_a_good_plan_makes_the_reader_panic(at in 0..FULL.len(), cut in 0usize..12, put in "[\\[\\]{}=\"'.,0-9a-z\\n -]{0,6}") {
        let mut text = FULL.to_owned();
        if text.is_char_boundary(at) {
            let end = (at + cut).min(text.len());
            text.replace_range(at..end, &put);
        }
        match plan::from_text(&text, &Files::folder("nowhere"), Path::new("plan.toml")) {
            Ok(_) => prop_assert!(false, "the files are not there"),
            Err(problems) => prop_assert!(!problems.is_empty()),
        }
    }
}

#[test]
fn the_plans_of_the_samples_are_good() {
    for sample in [
        "alder-flat/plan.toml",
        "alder-flat/plan-metric.toml",
        "open-field/plan.toml",
    ] {
        let path = std::path::Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("samples")
            .join(sample);
        if let Err(problems) = plan::read(&Files::folder(""), &path) {
            panic!("{sample}: {problems:#?}");
        }
    }
}

#[test]
fn people_are_taken_as_they_are_written_and_may_be_left_out() {
    let farm = Farm::new();
    let text = format!(
        "{LEAST}{CORES}\n[people]\ngrower = \"A. Grower\"\nprepared_by = \"B. Reviewer\"\ndate = 2027-03-02\n"
    );
    let (settings, _) = farm.read(&text).unwrap();
    assert_eq!(settings.people.grower.as_deref(), Some("A. Grower"));
    assert_eq!(settings.people.farm, None);
    assert_eq!(settings.people.prepared_by.as_deref(), Some("B. Reviewer"));
    assert_eq!(
        settings.people.date.map(plan::Day::show).as_deref(),
        Some("2 March 2027")
    );
    let (settings, _) = farm.read(&with("", "")).unwrap();
    assert_eq!(settings.people, plan::People::default());
}

#[test]
fn a_date_that_is_no_date_is_told_with_the_way_out() {
    let told = problems(&format!("{LEAST}{CORES}\n[people]\ndate = \"spring\"\n"));
    assert!(told.contains("date = 2027-03-02"), "{told}");
}

/// The problems of a drawn place with these corners.
fn drawn(corners: &str) -> String {
    let said = "product = \"lime\"\nrate = \"900 lb/ac\"\nwhy = \"seen\"\n";
    problems(&format!(
        "{LEAST}{CORES}\n[[override]]\ninside = {corners}\n{said}"
    ))
}

#[test]
fn what_is_wrong_with_a_drawn_place_is_said_of_what_is_wrong() {
    let swapped = drawn("[[42.001, -93.597], [42.002, -93.597], [42.002, -93.598]]");
    assert!(
        swapped.contains("the corner [42.001, -93.597] is out of range"),
        "{swapped}"
    );
    assert!(swapped.contains("are the two swapped?"), "{swapped}");
    let few = drawn("[[-93.6, 42.0], [-93.59, 42.0], [-93.6, 42.0]]");
    assert!(few.contains("2 corners is out of range"), "{few}");
    let line = drawn("[[-93.600, 42.000], [-93.599, 42.001], [-93.598, 42.002]]");
    assert!(line.contains("corners that all lie on one line"), "{line}");
}

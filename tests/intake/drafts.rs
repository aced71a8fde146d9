//! What `start` makes of heads that are easily taken for something else. All files are invented.

use std::path::{Path, PathBuf};

use lowstave::intake::{PointTable, ReadingRules, points_from_bytes};
use lowstave::plan::{BelowDetection, Depths, FileForm, PointKind, PointsSettings};
use lowstave::provenance::Place;

/// A square field of some hundred metres.
fn field(west: f64, south: f64) -> String {
    let (east, north) = (west + 0.01, south + 0.01);
    format!(
        "{{\"type\":\"Polygon\",\"coordinates\":[[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}"
    )
}

const IOWA: (f64, f64) = (-93.65, 42.02);
const SAXONY: (f64, f64) = (9.8, 51.98);

/// The plan that `start` makes of a boundary and files of points.
fn started(boundary: &str, points: &[(&str, &str)]) -> String {
    let mut files = vec![("field.geojson".to_owned(), boundary.as_bytes().to_vec())];
    files.extend(
        points
            .iter()
            .map(|(name, text)| ((*name).to_owned(), text.as_bytes().to_vec())),
    );
    let files = lowstave::Files::memory(files);
    let points: Vec<PathBuf> = points.iter().map(|(name, _)| PathBuf::from(name)).collect();
    let draft =
        lowstave::intake::draft_plan(&files, Path::new("field.geojson"), &points, Path::new(""));
    let text = draft.unwrap().plan.to_text();
    assert!(toml::from_str::<toml::Table>(&text).is_ok(), "{text}");
    text
}

/// The same with one table whose places lie in a field; `{x}` and `{y}` in the text stand for its south-west corner and a bit.
fn started_in((west, south): (f64, f64), text: &str) -> String {
    started(
        &field(west, south),
        &[("points.csv", &placed((west, south), text))],
    )
}

fn placed((west, south): (f64, f64), text: &str) -> String {
    text.replace("{x}", &format!("{}", west + 0.002))
        .replace("{y}", &format!("{}", south + 0.002))
        .replace("{X}", &format!("{}", west + 0.004))
        .replace("{Y}", &format!("{}", south + 0.004))
}

fn read(text: &str, kind: PointKind, depths: Depths) -> Result<(PointTable, Vec<String>), String> {
    let settings = PointsSettings {
        file: PathBuf::from("points.csv"),
        kind,
        crs: Some("EPSG:4326".to_owned()),
        x: None,
        y: None,
        id: None,
        depths,
        columns: Vec::new(),
        ignore: Vec::new(),
        leave_out: Vec::new(),
        reading: FileForm::default(),
        cone: None,
        laboratory: None,
        sampled: None,
        place: Place::file("plan.toml"),
    };
    let rules = ReadingRules {
        below_detection: BelowDetection::Half,
        bulk_density: None,
        crop: "corn".to_owned(),
        season: None,
        units: lowstave::units::UnitSystem::Metric,
    };
    points_from_bytes(placed(IOWA, text).as_bytes(), &settings, &rules)
        .map(|(table, remarks)| {
            (
                table,
                remarks.into_iter().map(|remark| remark.what).collect(),
            )
        })
        .map_err(|errors| errors.iter().map(|error| format!("{error}\n")).collect())
}

/// The depths of an analyte's layers with their results.
fn by_depth(table: &PointTable, analyte: &str) -> Vec<(String, Vec<f64>)> {
    let own = table
        .layers
        .iter()
        .filter(|layer| layer.key.analyte.name() == analyte);
    own.map(|layer| {
        let values = layer
            .values
            .iter()
            .copied()
            .filter(|value| value.is_finite());
        (
            layer
                .key
                .depth
                .map_or_else(String::new, lowstave::analyte::DepthRange::as_written),
            values.collect(),
        )
    })
    .collect()
}

#[test]
fn phosphorus_by_two_methods_is_no_cone() {
    for text in [
        "Probe;Lat;Lon;Tiefe cm;pH;P;P;K\n;;;;CaCl2;CAL;DL;CAL\n;;;;;mg/100g;mg/100g;mg/100g\n1;{y};{x};0-30;6.0;5.0;7.0;12.0\n2;{Y};{X};0-30;6.0;5.0;7.0;12.0\n",
        "Sample,Lat,Lon,pH,P,P,K\n1,{y},{x},6.0,30,12,150\n2,{Y},{X},6.0,31,12,150\n",
        "Sample,Lat,Lon,pH,P1,P2,K\n1,{y},{x},6.0,30,12,150\n2,{Y},{X},6.0,31,12,150\n",
        "Sample,Lat,Lon,5,10\n,,,ppm,ppm\n1,{y},{x},30,12\n2,{Y},{X},31,12\n",
    ] {
        let plan = started_in(IOWA, text);
        assert!(
            !plan.contains("\"cone\" ") && !plan.contains("depths ="),
            "{plan}"
        );
    }
    let twice = "Sample,Lat,Lon,pH,P,pH,P\n1,{y},{x},6.0,30,6.1,150\n2,{Y},{X},6.0,31,6.1,150\n";
    let plan = started_in(IOWA, twice);
    assert!(plan.contains("kind   = \"cores\""), "{plan}");
}

#[test]
fn depths_without_a_unit_take_the_one_that_the_file_or_the_field_speaks_for() {
    let cores = |depth: &str, head: &str| {
        format!("ID,Lat,Lon,Depth,{head}\n1,{{y}},{{x}},{depth},6.0\n2,{{Y}},{{X}},{depth},6.1\n")
    };
    for (place, depth, head, unit) in [
        (SAXONY, "0-20", "pH", "cm"),
        (IOWA, "0-6", "pH", "in"),
        (IOWA, "0-6", "K mg/kg", "in"),
        (IOWA, "0-15", "K mg/kg", "cm"),
        (IOWA, "0-6", "K kg/ha", "cm"),
        (SAXONY, "0-6", "K lb/ac", "in"),
        (IOWA, "0-0.3", "pH", "m"),
        (IOWA, "60-90", "pH", "cm"),
        (IOWA, "0-15 cm", "pH", "cm"),
        ((-54.65, -17.42), "0-20", "pH", "cm"),
    ] {
        let plan = started_in(place, &cores(depth, head));
        assert!(
            plan.contains(&format!("depth_unit = \"{unit}\"")),
            "{depth} {head}: {plan}"
        );
    }
    let pair = "Probe;Lat;Lon;von;bis;pH CaCl2;P CAL kg/ha\n1;{y};{x};0;30;6.00;200\n2;{Y};{X};0;30;6.02;201\n";
    let plan = started_in(SAXONY, pair);
    assert!(
        plan.contains("depth_unit = \"cm\"") && plan.contains("other columns are in metric"),
        "{plan}"
    );
}

#[test]
fn bare_depth_marks_beside_small_readings_are_centimetres_and_megapascals() {
    let text = "Nr;Lat;Lon;5;10;15;20;30;50\n1;{y};{x};0,80;1,00;1,40;1,90;2,40;3,00\n2;{Y};{X};0,81;1,00;1,40;1,90;2,40;3,00\n";
    let plan = started_in(SAXONY, text);
    assert!(plan.contains("unit   = \"MPa\""), "{plan}");
    assert!(plan.contains("\"50\" = \"50 cm\""), "{plan}");
    assert!(
        plan.contains("does not say the unit: cm is taken"),
        "{plan}"
    );
}

#[test]
fn depths_are_found_by_their_names_in_other_languages() {
    for (head, cells) in [
        ("Prof. min (cm);Prof. max (cm)", "0;25"),
        ("Diepte (cm)", "0-25"),
        ("Głębokość (cm)", "0-25"),
        ("Глубина (cm)", "0-25"),
    ] {
        let text = format!(
            "Nr;Latitude;Longitude;{head};pH eau\n1;{{y}};{{x}};{cells};6.5\n2;{{Y}};{{X}};{cells};6.6\n"
        );
        let plan = started_in(SAXONY, &text);
        assert!(
            plan.contains("depth_unit = \"cm\"") && !plan.contains("depth  ="),
            "{plan}"
        );
        let (table, _) = read(&text, PointKind::Cores, Depths::Unknown).unwrap();
        assert_eq!(by_depth(&table, "ph")[0].0, "0-25 cm");
    }
}

#[test]
fn columns_without_a_depth_beside_columns_with_one_are_asked_about() {
    let text =
        "Nr,Lat,Lon,pH 0-30 cm,pH 30-60 cm,Mg mg/kg\n1,{y},{x},6.5,6.6,81\n2,{Y},{X},6.5,6.6,82\n";
    let plan = started_in(SAXONY, text);
    let line = plan
        .lines()
        .find(|line| line.starts_with("depth "))
        .unwrap();
    assert!(
        line.contains("\"0-30 cm\"") && line.contains("# LOOK: "),
        "{line}"
    );
    assert!(
        line.contains("\"Mg mg/kg\"") && line.contains("30-60 cm"),
        "{line}"
    );
}

#[test]
fn rows_that_hold_only_a_depth_give_it_to_the_rows_below() {
    let text = "ID,Lat,Lon,pH 1:1\n0-6 in,,,\n1,{y},{x},6.00\n2,{Y},{X},6.01\n6-24 in,,,\n1,{y},{x},7.00\n2,{Y},{X},7.01\n";
    let plan = started_in(IOWA, text);
    assert!(!plan.contains("depth  ="), "{plan}");
    let (table, remarks) = read(text, PointKind::Cores, Depths::Unknown).unwrap();
    let wanted = [
        ("0-6 in".to_owned(), vec![6.0, 6.01]),
        ("6-24 in".to_owned(), vec![7.0, 7.01]),
    ];
    assert_eq!(by_depth(&table, "ph"), wanted);
    assert!(
        remarks
            .iter()
            .any(|what| what.contains("nothing but a depth")),
        "{remarks:?}"
    );
    // Without a unit it is refused, never pooled.
    let bare = text.replace(" in,", ",");
    let refused = read(&bare, PointKind::Cores, Depths::Unknown).unwrap_err();
    assert!(refused.contains("nothing but \"0-6\""), "{refused}");
}

#[test]
fn single_depths_at_one_place_lie_below_each_other() {
    let text = "ID,Lat,Lon,Depth (in),pH 1:1\n1,{y},{x},6,6.00\n1,{y},{x},24,6.50\n2,{Y},{X},24,6.51\n2,{Y},{X},6,6.01\n";
    let (table, remarks) = read(text, PointKind::Cores, Depths::Unknown).unwrap();
    let depths: Vec<String> = by_depth(&table, "ph")
        .into_iter()
        .map(|(depth, _)| depth)
        .collect();
    assert_eq!(depths, ["0-6 in", "6-24 in"]);
    assert!(
        remarks
            .iter()
            .any(|what| what.contains("begin where the one above")),
        "{remarks:?}"
    );
    // One depth at each place begins at the surface.
    let alone = "ID,Lat,Lon,Depth (in),pH 1:1\n1,{y},{x},6,6.00\n2,{Y},{X},24,6.51\n";
    let (table, remarks) = read(alone, PointKind::Cores, Depths::Unknown).unwrap();
    let depths: Vec<String> = by_depth(&table, "ph")
        .into_iter()
        .map(|(depth, _)| depth)
        .collect();
    assert_eq!(depths, ["0-6 in", "0-24 in"]);
    assert!(
        !remarks.iter().any(|what| what.contains("begin where")),
        "{remarks:?}"
    );
    // An amount per area was spread over the whole depth: refused.
    let per_area = text.replace("pH 1:1", "K lb/ac").replace("6.", "200.");
    let refused = read(&per_area, PointKind::Cores, Depths::Unknown).unwrap_err();
    assert!(refused.contains("where each begins"), "{refused}");
}

#[test]
fn readings_one_a_row_by_depth_are_a_cone() {
    let text = "Insertion,Latitude,Longitude,Depth (cm),CI (kPa)\n1,{y},{x},0,500\n1,{y},{x},2.5,625\n1,{y},{x},5,750\n2,{Y},{X},0,500\n2,{Y},{X},2.5,650\n2,{Y},{X},5,750\n";
    let plan = started_in(SAXONY, text);
    assert!(
        plan.contains("kind   = \"cone\"") && plan.contains("unit   = \"kPa\""),
        "{plan}"
    );
    assert!(plan.contains("depth_column = \"Depth (cm)\""), "{plan}");
    let refused = read(text, PointKind::Cores, Depths::Unknown).unwrap_err();
    assert!(refused.contains("kind = \"cone\""), "{refused}");
    // Soil tests by layer stay cores.
    let cores = "ID,Lat,Lon,Depth (cm),CI (kPa),pH\n1,{y},{x},15,500,6.5\n2,{Y},{X},15,625,6.6\n";
    let plan = started_in(SAXONY, cores);
    assert!(plan.contains("kind   = \"cores\""), "{plan}");
}

#[test]
fn a_force_and_other_pressures_are_readings_of_a_cone() {
    let text =
        |head: &str| format!("Push,Lat,Lon,{head}\n1,{{y}},{{x}},5,10,20\n2,{{Y}},{{X}},6,11,21\n");
    for (head, unit) in [
        ("5cm (N),10cm (N),15cm (N)", "N"),
        ("5cm kgf/cm2,10cm kgf/cm2,15cm kgf/cm2", "kgf/cm2"),
        ("2 in,4 in,6 in\n,,,bar,bar,bar", "bar"),
    ] {
        let plan = started_in(IOWA, &text(head));
        assert!(plan.contains("kind   = \"cone\""), "{plan}");
        assert!(plan.contains(&format!("unit   = \"{unit}\"")), "{plan}");
        assert_eq!(plan.contains("base_area"), unit == "N", "{plan}");
        assert!(!plan.contains("covariate"), "{plan}");
    }
}

/// Two squares of a field's file, the second beside or inside the first.
fn two_shapes(second: [f64; 4]) -> String {
    let shape = |name: &str, [west, south, east, north]: [f64; 4]| {
        format!(
            "{{\"type\":\"Feature\",\"properties\":{{\"NAME\":\"{name}\"}},\"geometry\":{{\"type\":\"Polygon\",\"coordinates\":\
             [[[{west},{south}],[{east},{south}],[{east},{north}],[{west},{north}],[{west},{south}]]]}}}}"
        )
    };
    let home = shape("Home", [-93.65, 42.02, -93.64, 42.03]);
    format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{home},{}]}}",
        shape("Pond", second)
    )
}

#[test]
fn a_shape_inside_the_field_and_a_parcel_beside_it_are_asked_about() {
    let cores = "ID,Lat,Lon,pH\n1,42.021,-93.649,6.0\n2,42.022,-93.648,6.1\n3,42.022,-93.638,6.1\n";
    let plan = started(
        &two_shapes([-93.645, 42.025, -93.643, 42.027]),
        &[("points.csv", cores)],
    );
    assert!(
        plan.contains("# LOOK: \"Pond\" lies inside the field"),
        "{plan}"
    );
    assert!(!plan.contains("all = true"), "{plan}");
    let plan = started(
        &two_shapes([-93.64, 42.02, -93.63, 42.03]),
        &[("points.csv", cores)],
    );
    assert!(!plan.contains("lies inside"), "{plan}");
    assert!(
        plan.contains("# LOOK: 1 of the first 3 points stand in \"Pond\"")
            && plan.contains("all = true"),
        "{plan}"
    );
}

#[test]
fn a_file_of_places_gets_the_id_by_which_results_find_them() {
    let lab = "Field,Sample,Depth in,pH 1:1\nHome,H1,0-6,7.00\nHome,H2,0-6,7.02\n";
    let boundary = field(IOWA.0, IOWA.1);
    let places = placed(IOWA, "Sample,Lat,Lon\nH1,{y},{x}\nH2,{Y},{X}\n");
    let plan = started(&boundary, &[("places.csv", &places), ("lab.csv", lab)]);
    assert_eq!(plan.matches("id     = \"Sample\"").count(), 2, "{plan}");
    assert!(!plan.contains("covariate:sample"), "{plan}");
    let lab = lab.replace('H', "");
    let places = placed(IOWA, "Site ID,Lat,Lon\n001,{y},{x}\n002,{Y},{X}\n");
    let plan = started(&boundary, &[("places.csv", &places), ("lab.csv", &lab)]);
    assert!(plan.contains("id     = \"Site ID\""), "{plan}");
    assert!(plan.contains("written \"001\" here and \"1\" in"), "{plan}");
}

#[test]
fn any_name_of_a_column_makes_a_plan_that_can_be_read() {
    let text = "ID;Lat;Lon;pH;'5\" \\ mark';\"say \"\"x\"\" 'y'\";%;°\n1;{y};{x};6.0;3;4;5;7\n2;{Y};{X};6.1;3;4;5;8\n";
    let plan = started_in(IOWA, text);
    assert!(!plan.contains("covariate:\""), "{plan}");
    let open = plan.replace("  # \"", "  \"");
    assert!(toml::from_str::<toml::Table>(&open).is_ok(), "{open}");
}

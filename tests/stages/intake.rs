//! Files become a survey: through `intake::read`, on small invented files written here.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use lowstave::Files;
use lowstave::analyte::{Analyte, DepthRange, Method};
use lowstave::intake::{IntakeError, LayerColumn, Survey};
use lowstave::plan::{
    BelowDetection, ColumnMeaning, ConeSettings, Depths, PointKind, PointsSettings, Settings,
};
use lowstave::provenance::Place;
use lowstave::units::{Length, UnitSystem};

use crate::made_settings;

const SQUARE: &str = r#"{"type":"Polygon","coordinates":[[[-97.13,41.20],[-97.12,41.20],[-97.12,41.21],[-97.13,41.21],[-97.13,41.20]]]}"#;

/// The files lie where their whole paths say.
fn read(settings: &Settings) -> Result<Survey, Vec<IntakeError>> {
    lowstave::intake::read(&Files::folder(""), settings, 7.3)
}

struct Plan {
    folder: tempfile::TempDir,
    settings: Settings,
}

impl Plan {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let at = |name: &str| folder.path().join(name);
        fs::write(at("plan.toml"), "field = \"Test\"\n").expect("plan");
        fs::write(at("boundary.geojson"), SQUARE).expect("boundary");
        let settings = settings(at("plan.toml"), at("boundary.geojson"));
        Self { folder, settings }
    }

    fn file(&self, name: &str, bytes: impl AsRef<[u8]>) -> PathBuf {
        let path = self.folder.path().join(name);
        fs::write(&path, bytes).expect("file");
        path
    }

    fn points(
        mut self,
        name: &str,
        bytes: impl AsRef<[u8]>,
        kind: PointKind,
        change: impl FnOnce(&mut PointsSettings),
    ) -> Self {
        let file = self.file(name, bytes);
        let mut points = points_settings(&file, kind);
        change(&mut points);
        self.settings.points.push(points);
        self
    }

    fn read(&self) -> Result<Survey, Vec<IntakeError>> {
        read(&self.settings)
    }

    fn survey(&self) -> Survey {
        self.read()
            .unwrap_or_else(|errors| panic!("{}", texts(&errors)))
    }

    fn errors(&self) -> String {
        texts(&self.read().expect_err("errors"))
    }
}

fn texts(errors: &[IntakeError]) -> String {
    errors
        .iter()
        .map(ToString::to_string)
        .collect::<Vec<_>>()
        .join("\n")
}

fn settings(plan: PathBuf, boundary: PathBuf) -> Settings {
    Settings {
        plan_file: plan,
        units: UnitSystem::UnitedStates,
        boundary: made_settings::boundary(boundary),
        ..made_settings::settings()
    }
}

fn points_settings(file: &Path, kind: PointKind) -> PointsSettings {
    PointsSettings {
        file: file.to_owned(),
        kind,
        crs: Some("EPSG:4326".into()),
        x: None,
        y: None,
        id: None,
        depths: Depths::Unknown,
        columns: Vec::new(),
        ignore: Vec::new(),
        leave_out: Vec::new(),
        reading: lowstave::plan::FileForm::default(),
        cone: None,
        laboratory: None,
        sampled: None,
        place: Place::file("plan.toml"),
    }
}

fn column(
    name: &str,
    analyte: Analyte,
    method: Option<&str>,
    unit: Option<&str>,
) -> (Arc<str>, ColumnMeaning) {
    let meaning = ColumnMeaning {
        analyte,
        method: method.map(Method::new),
        unit: unit.map(str::to_owned),
        depth: None,
        sure: false,
        numbers: lowstave::plan::NumberForm::default(),
        place: Place::file("plan.toml"),
    };
    (name.into(), meaning)
}

fn six_inches() -> Depths {
    Depths::Fixed(DepthRange::parse("0-6 in", None).expect("a depth"))
}

fn layer<'s>(survey: &'s Survey, slug: &str) -> &'s LayerColumn {
    let all: Vec<&LayerColumn> = survey
        .tables
        .iter()
        .flat_map(|table| &table.layers)
        .collect();
    let slugs: Vec<String> = all.iter().map(|layer| layer.key.slug()).collect();
    all.into_iter()
        .find(|layer| layer.key.slug() == slug)
        .unwrap_or_else(|| panic!("no layer {slug} among {slugs:?}"))
}

fn codes(survey: &Survey) -> Vec<&'static str> {
    survey.remarks.iter().map(|remark| remark.code).collect()
}

const CORES: &str = "core,lon,lat,pH,P1,Ca_ppm\nA1,-97.125,41.205,6.5,12,1800\nA2,-97.126,41.206,6.1,<2,1650\nA3,-97.124,41.204,5.9,ND,1500\n";

fn cores() -> Plan {
    Plan::new().points("cores.csv", CORES, PointKind::Cores, |points| {
        points.id = Some("core".into());
        points.depths = six_inches();
        points.columns = vec![
            column("pH", Analyte::Ph, Some("water"), None),
            column("P1", Analyte::Phosphorus, Some("bray-1"), Some("ppm")),
            column("Ca_ppm", Analyte::Calcium, Some("ammonium-acetate"), None),
        ];
    })
}

#[test]
fn a_wide_table_of_cores_becomes_layers_with_method_depth_and_qualifiers() {
    let survey = cores().survey();
    let table = &survey.tables[0];
    assert_eq!((table.x.len(), table.row.as_slice()), (3, &[2, 3, 4][..]));
    assert_eq!(
        table.id.as_ref().map(|ids| ids.join(" ")),
        Some("A1 A2 A3".into())
    );
    assert_eq!(layer(&survey, "ph_water_0-15.2cm").values, [6.5, 6.1, 5.9]);
    let p = layer(&survey, "p_bray-1_0-15.2cm");
    assert_eq!((p.values[0], p.values[1]), (12.0, 1.0));
    assert!(p.values[2].is_nan());
    assert_eq!(
        (
            p.qualified.len(),
            p.summary().below_detection,
            p.summary().missing
        ),
        (2, 2, 1)
    );
    assert_eq!(
        layer(&survey, "ca_ammonium-acetate_0-15.2cm").unit.as_ref(),
        "ppm"
    );
}

/// Both edges may be written as heights below the surface; a minus before one of them is a slip, and is not dropped.
#[test]
fn a_minus_before_one_depth_alone_is_refused_with_its_row() {
    let plan = |edges: &str| {
        let text = format!(
            "core,lon,lat,from,to,pH\nA1,-97.125,41.205,0,6,6.5\nA2,-97.126,41.206,{edges},6.1\n"
        );
        Plan::new().points("cores.csv", text, PointKind::Cores, |points| {
            points.id = Some("core".into());
            points.depths = Depths::TopAndBottom {
                top: "from".into(),
                bottom: "to".into(),
                unit: "in".into(),
            };
            points.columns = vec![column("pH", Analyte::Ph, Some("water"), None)];
        })
    };
    let errors = plan("-3,6").errors();
    assert!(
        errors.contains("row 3") && errors.contains("-3 to 6"),
        "{errors}"
    );
    assert!(errors.contains("take the minus out"), "{errors}");
    let survey = plan("0,-6").survey();
    assert_eq!(layer(&survey, "ph_water_0-15.2cm").values, [6.5, 6.1]);
    let survey = plan("-2,-8").survey();
    layer(&survey, "ph_water_5.1-20.3cm");
}

/// Half of a limit is no pH: it is a logarithm.
#[test]
fn a_ph_below_a_limit_counts_as_the_limit_whatever_share_is_asked_for() {
    for (rule, ph, p) in [
        (BelowDetection::Half, 5.5, 1.0),
        (BelowDetection::Zero, 5.5, 0.0),
        (BelowDetection::Limit, 5.5, 2.0),
    ] {
        let text = "core,lon,lat,pH,P1\nA1,-97.125,41.205,<5.5,<2\nA2,-97.126,41.206,6.1,12\n";
        let mut plan = Plan::new();
        plan.settings.below_detection = rule;
        let survey = plan
            .points("cores.csv", text, PointKind::Cores, |points| {
                points.id = Some("core".into());
                points.depths = six_inches();
                points.columns = vec![
                    column("pH", Analyte::Ph, Some("water"), None),
                    column("P1", Analyte::Phosphorus, Some("bray-1"), Some("ppm")),
                ];
            })
            .survey();
        let first = |slug: &str| layer(&survey, slug).values[0];
        let found = (first("ph_water_0-15.2cm"), first("p_bray-1_0-15.2cm"));
        assert_eq!(found, (ph, p), "{rule:?}");
    }
}

#[test]
fn every_input_is_recorded_with_its_hash_and_size() {
    let survey = cores().survey();
    let names: Vec<&str> = survey
        .inputs
        .iter()
        .map(|input| input.path.rsplit('/').next().unwrap_or(""))
        .collect();
    assert_eq!(names, ["plan.toml", "boundary.geojson", "cores.csv"]);
    // The hash of the text in CORES by sha256sum of coreutils.
    let cores = &survey.inputs[2];
    assert_eq!(
        (cores.bytes, cores.sha256.as_str()),
        (
            CORES.len() as u64,
            "7e9bf65d61187bffa58cb148649fdd624dc15daea0adbbe6f4b052af1811057a"
        )
    );
}

#[test]
fn two_depths_in_one_file_are_two_layers() {
    let text = "id,lon,lat,depth,pH\nA,-97.125,41.205,0-2 in,6.5\nA,-97.125,41.205,0-6 in,6.1\nB,-97.126,41.206,0-2\",6.9\n";
    let survey = Plan::new()
        .points("cores.csv", text, PointKind::Cores, |points| {
            points.depths = Depths::Column {
                column: "depth".into(),
                unit: None,
            };
            points.columns = vec![column("pH", Analyte::Ph, Some("water"), None)];
        })
        .survey();
    let shallow = &layer(&survey, "ph_water_0-5.1cm").values;
    let deep = &layer(&survey, "ph_water_0-15.2cm").values;
    assert_eq!((shallow[0], shallow[2], deep[1]), (6.5, 6.9, 6.1));
    assert!(shallow[1].is_nan() && deep[0].is_nan() && deep[2].is_nan());
}

#[test]
fn a_wide_cone_file_becomes_profiles_and_layers() {
    let text = "id,lon,lat,d2,d4,d6\n1,-97.125,41.205,100,150,200\n2,-97.126,41.206,110,,\n3,-97.124,41.204,120,>500,\n";
    let survey = Plan::new()
        .points("cone.csv", text, PointKind::Cone, |points| {
            let inches = |number: f64| Length::from_metres(number * 0.0254);
            let depths = vec![
                ("d2".into(), inches(2.0)),
                ("d4".into(), inches(4.0)),
                ("d6".into(), inches(6.0)),
            ];
            points.cone = Some(ConeSettings {
                unit: "psi".into(),
                base_area_mm2: None,
                depths,
                moisture: Some("field capacity".into()),
                blank_below: lowstave::plan::BlankBelow::Refused,
            });
        })
        .survey();
    let cone = survey.tables[0].cone.as_ref().expect("profiles");
    assert_eq!(cone.depths.len(), 3);
    assert!((cone.kilopascals[0] - 689.4757).abs() < 1e-3);
    assert!(cone.kilopascals[4].is_nan() && cone.kilopascals[7].is_nan());
    assert!((layer(&survey, "cone_index_profile_5.1-10.2cm").values[0] - 1034.2136).abs() < 1e-3);
    assert!(
        (layer(&survey, "cone_index_profile-maximum_0-15.2cm").values[0] - 1378.951).abs() < 1e-2
    );
    let refused: Vec<Option<f64>> = cone
        .refused
        .iter()
        .map(|depth| depth.map(|depth| (depth.metres() / 0.0254).round()))
        .collect();
    assert_eq!(refused, [None, Some(4.0), Some(4.0)]);
    assert!(codes(&survey).contains(&"cone-refused"));
}

#[test]
fn a_column_that_the_plan_names_and_the_file_lacks_is_an_error_with_the_nearest_name() {
    let plan = Plan::new().points("cores.csv", CORES, PointKind::Cores, |points| {
        points.x = Some("long".into());
        points.columns = vec![column(
            "P_1",
            Analyte::Phosphorus,
            Some("bray-1"),
            Some("ppm"),
        )];
    });
    let errors = plan.errors();
    assert!(
        errors.contains("no column \"long\" (x); did you mean \"lon\"?"),
        "{errors}"
    );
    assert!(
        errors.contains("no column \"P_1\"") && errors.contains("\"P1\""),
        "{errors}"
    );
}

#[test]
fn text_where_a_number_belongs_is_an_error_with_row_and_column() {
    let text = CORES.replace("6.1", "about 6");
    let errors = Plan::new()
        .points("cores.csv", text, PointKind::Cores, |points| {
            points.depths = six_inches();
        })
        .errors();
    assert!(
        errors.contains("row 3, column \"pH\": \"about 6\" is not a number"),
        "{errors}"
    );
}

#[test]
fn swapped_degrees_are_an_error_that_names_the_two_settings() {
    let text = CORES.replace("core,lon,lat", "core,lat,lon");
    let errors = Plan::new()
        .points("cores.csv", text, PointKind::Cores, |points| {
            points.depths = six_inches();
        })
        .errors();
    assert!(
        errors.contains("swapped") && errors.contains("set x = "),
        "{errors}"
    );
}

#[test]
fn a_missing_sign_of_west_is_named() {
    let errors = Plan::new()
        .points(
            "cores.csv",
            CORES.replace("-97", "97"),
            PointKind::Cores,
            |points| points.depths = six_inches(),
        )
        .errors();
    assert!(errors.contains("sign of west is missing"), "{errors}");
}

#[test]
fn a_boundary_that_crosses_itself_or_is_no_polygon_is_an_error() {
    let plan = cores();
    plan.file(
        "boundary.geojson",
        r#"{"type":"Polygon","coordinates":[[[0,0],[2,2],[2,0],[0,2],[0,0]]]}"#,
    );
    assert!(
        plan.errors().contains("crosses itself near (1, 1)"),
        "{}",
        plan.errors()
    );
    plan.file(
        "boundary.geojson",
        r#"{"type":"LineString","coordinates":[[0,0],[2,2]]}"#,
    );
    assert!(
        plan.errors().contains("is a line, not a polygon"),
        "{}",
        plan.errors()
    );
    plan.file(
        "boundary.geojson",
        r#"{"type":"FeatureCollection","features":[]}"#,
    );
    assert!(
        plan.errors().contains("holds no shape"),
        "{}",
        plan.errors()
    );
}

const WGS84_PRJ: &str = concat!(
    r#"GEOGCS["GCS_WGS_1984",DATUM["D_WGS_1984",SPHEROID["WGS_1984",6378137.0,298.257223563]],"#,
    r#"PRIMEM["Greenwich",0.0],UNIT["Degree",0.0174532925199433]]"#
);

#[test]
fn shapefiles_that_another_program_wrote_are_read_side_by_side_and_zipped() {
    // The writer is the `shapefile` crate; the reader is ours.
    use shapefile::dbase::{FieldValue, Record, TableWriterBuilder};
    let plan = Plan::new();
    let path = plan.folder.path().join("cores.shp");
    let table = TableWriterBuilder::new()
        .add_character_field("core".try_into().expect("a name"), 12)
        .add_numeric_field("pH".try_into().expect("a name"), 8, 2);
    let mut writer = shapefile::Writer::from_path(&path, table).expect("a writer");
    for (name, x, y, ph) in [
        ("Zürich", -97.125, 41.205, Some(6.5)),
        ("B2", -97.126, 41.206, None),
    ] {
        let mut record = Record::default();
        record.insert(
            "core".to_owned(),
            FieldValue::Character(Some(name.to_owned())),
        );
        record.insert("pH".to_owned(), FieldValue::Numeric(ph));
        writer
            .write_shape_and_record(&shapefile::Point::new(x, y), &record)
            .expect("a shape");
    }
    drop(writer);
    plan.file("cores.PRJ", WGS84_PRJ);
    plan.file("cores.cpg", "UTF-8");
    let zipped = zip_of(&plan, &["cores.shp", "cores.dbf", "cores.PRJ", "cores.cpg"]);
    plan.file("cores.zip", zipped);
    for name in ["cores.shp", "cores.zip"] {
        let mut settings = plan.settings.clone();
        let mut points = points_settings(&plan.folder.path().join(name), PointKind::Cores);
        points.crs = None;
        points.id = Some("core".into());
        points.depths = six_inches();
        settings.points.push(points);
        let survey = read(&settings).unwrap_or_else(|errors| panic!("{name}: {}", texts(&errors)));
        let table = &survey.tables[0];
        assert_eq!(
            (table.x.as_slice(), table.y.as_slice()),
            (&[-97.125, -97.126][..], &[41.205, 41.206][..])
        );
        assert_eq!(
            table.id.as_ref().map(|ids| ids.join(",")),
            Some("Zürich,B2".into())
        );
        assert_eq!(table.crs, WGS84_PRJ);
        let ph = layer(&survey, "ph_0-15.2cm");
        assert!(ph.values[0] == 6.5 && ph.values[1].is_nan());
    }
}

fn zip_of(plan: &Plan, names: &[&str]) -> Vec<u8> {
    use std::io::Write as _;
    let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    for name in names {
        archive
            .start_file(
                format!("data/{name}"),
                zip::write::SimpleFileOptions::default(),
            )
            .expect("an entry");
        archive
            .write_all(&fs::read(plan.folder.path().join(name)).expect("a part"))
            .expect("bytes");
    }
    archive.finish().expect("a zip").into_inner()
}

#[test]
fn a_shapefile_boundary_keeps_its_holes_and_parts() {
    let plan = Plan::new();
    let path = plan.folder.path().join("field.shp");
    let ring = |points: &[(f64, f64)]| {
        points
            .iter()
            .map(|(x, y)| shapefile::Point::new(*x, *y))
            .collect::<Vec<_>>()
    };
    let square = |x: f64, y: f64, side: f64| {
        ring(&[
            (x, y),
            (x + side, y),
            (x + side, y + side),
            (x, y + side),
            (x, y),
        ])
    };
    let polygon = shapefile::Polygon::with_rings(vec![
        shapefile::PolygonRing::Outer(square(-97.13, 41.20, 0.004)),
        shapefile::PolygonRing::Outer(square(-97.12, 41.20, 0.004)),
        shapefile::PolygonRing::Inner(square(-97.119, 41.201, 0.001)),
    ]);
    let mut writer = shapefile::ShapeWriter::from_path(&path).expect("a writer");
    writer.write_shape(&polygon).expect("a shape");
    drop(writer);
    let mut settings = plan.settings.clone();
    settings.boundary.file = path;
    assert!(texts(&read(&settings).expect_err("no .prj")).contains("no .prj file"));
    settings.boundary.crs = Some("EPSG:4326".into());
    let survey = read(&settings).unwrap_or_else(|errors| panic!("{}", texts(&errors)));
    let holes: Vec<usize> = survey
        .boundary
        .shape
        .0
        .iter()
        .map(|polygon| polygon.interiors().len())
        .collect();
    assert_eq!(holes, [0, 1]);
}

const LAB_OF_A_DRAFT: &str = "Sample ID,Longitude,Latitude,1:1 Soil pH,K ppm,\"Depth (in)\",C %
A,-97.125,41.205,6.5,180,0-6,1.8
B,-97.126,41.206,6.1,150,0-6,1.6
";

#[test]
fn a_draft_of_a_plan_is_read_by_the_plan_reader_and_runs() {
    let plan = Plan::new();
    let lab = plan.file("lab.csv", LAB_OF_A_DRAFT);
    let cone = plan.file(
        "cone.csv",
        "id,lon,lat,d2,d4,d6\n1,-97.125,41.205,100,150,200\n2,-97.126,41.206,110,160,210\n",
    );
    let folder = plan.folder.path();
    let text = lowstave::intake::draft_plan(
        &Files::folder(""),
        &folder.join("boundary.geojson"),
        &[lab, cone],
        folder,
    )
    .unwrap_or_else(|e| panic!("{}", texts(&e)))
    .plan
    .to_text();
    let wanted = [
        "boundary = { file = \"boundary.geojson\" }",
        "kind   = \"cores\"",
        "kind   = \"cone\"",
        "depth_column = \"Depth (in)\"",
        "ignore = [\"C %\"]",
        "GUESS",
    ];
    for wanted in wanted {
        assert!(text.contains(wanted), "{wanted} is not in\n{text}");
    }
    fs::write(folder.join("plan.toml"), &text).expect("the plan");
    let (settings, _) = lowstave::plan::read(&Files::folder(folder), Path::new("plan.toml"))
        .unwrap_or_else(|problems| {
            panic!(
                "{}\n{text}",
                problems
                    .iter()
                    .map(|p| format!("{p}\n"))
                    .collect::<String>()
            )
        });
    let survey = lowstave::intake::read(&Files::folder(folder), &settings, 7.3)
        .unwrap_or_else(|errors| panic!("{}\n{text}", texts(&errors)));
    assert_eq!(survey.tables.len(), 2);
    assert_eq!(layer(&survey, "ph_water_0-15.2cm").values, [6.5, 6.1]);
    assert_eq!(
        survey.tables[1].cone.as_ref().map(|cone| cone.depths.len()),
        Some(3)
    );
}

#[test]
fn the_samples_are_read_and_no_unit_of_theirs_is_contradicted() {
    for (plan, tables) in [
        ("samples/alder-flat/plan.toml", 2),
        ("samples/open-field/plan.toml", 1),
    ] {
        let files = Files::folder("");
        let (settings, _) = lowstave::plan::read(&files, Path::new(plan))
            .unwrap_or_else(|problems| panic!("{problems:?}"));
        let survey = lowstave::intake::read(&files.beside(Path::new(plan)), &settings, 7.3)
            .unwrap_or_else(|errors| panic!("{plan}: {}", texts(&errors)));
        assert_eq!(survey.tables.len(), tables, "{plan}");
        assert!(
            !survey
                .remarks
                .iter()
                .any(|remark| remark.code == "unit-mistake"),
            "{plan}"
        );
    }
}

#[cfg(unix)]
#[test]
fn pipes_devices_and_folders_are_refused_without_being_read() {
    for (name, word) in [
        ("pipe.csv", "pipe"),
        ("folder.csv", "folder"),
        ("zero.csv", "device"),
    ] {
        let plan = Plan::new().points(name, CORES, PointKind::Cores, |_| {});
        let path = plan.settings.points[0].file.clone();
        std::fs::remove_file(&path).expect("the file");
        match word {
            "pipe" => {
                let made = std::process::Command::new("mkfifo").arg(&path).status();
                assert!(made.is_ok_and(|status| status.success()), "mkfifo");
            }
            "device" => std::os::unix::fs::symlink("/dev/zero", &path).expect("a link"),
            _ => std::fs::create_dir(&path).expect("a folder"),
        }
        let errors = plan.errors();
        assert!(errors.contains(word) && errors.contains(name), "{errors}");
    }
}

#[cfg(unix)]
#[test]
fn a_boundary_that_is_a_pipe_is_refused_without_being_read() {
    let mut plan = cores();
    let pipe = plan.file("outline.geojson", "");
    std::fs::remove_file(&pipe).expect("the file");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    assert!(made.is_ok_and(|status| status.success()), "mkfifo");
    plan.settings.boundary.file = pipe;
    assert!(plan.errors().contains("pipe"), "{}", plan.errors());
}

#[test]
fn two_results_of_one_core_that_conflict_are_named_with_their_rows() {
    let read = |more: &str| {
        let mut plan = cores();
        let text = format!("{CORES}{more}");
        plan.settings.points[0].file = plan.file("cores.csv", text);
        plan.survey()
    };
    let conflict = |survey: &Survey| {
        let mut remarks = survey.remarks.iter();
        let found = remarks.find(|remark| remark.code == "results-conflict");
        found.map(|remark| remark.what.clone())
    };
    let told = conflict(&read("A2,-97.126,41.206,9.0,13,1650\n")).expect("the remark");
    assert!(
        told.contains("core A2 has two results of pH (water), 0-6 in, 6.1 (row 3) and 9 (row 5)"),
        "{told}"
    );
    assert!(told.contains("they conflict"), "{told}");
    // Another core at the same place: both are named, so that nobody looks for two results of one.
    let told = conflict(&read("X9,-97.126,41.206,9.0,13,1650\n")).expect("the remark");
    let named = "the place of cores A2 and X9 has two results of pH (water), 0-6 in, 6.1 (row 3) and 9 (row 5)";
    assert!(told.contains(named), "{told}");
    // A repeat of the laboratory's own is none.
    assert_eq!(conflict(&read("A2,-97.126,41.206,6.3,<2,1700\n")), None);
}

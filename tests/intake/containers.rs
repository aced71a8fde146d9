//! Spreadsheets, GeoPackage and GeoParquet files, made here by other writers than our own code: the zip crate by the letter of ECMA-376,
//! SQLite by the letter of OGC 12-128r19, the parquet crate's writer.

use std::io::Write as _;
use std::path::PathBuf;

use lowstave::intake::{
    PointTable, ReadingRules, ShapeFormat, boundary_from_bytes, points_from_bytes,
};
use lowstave::plan::{BelowDetection, Depths, FieldChoice, FileForm, PointKind, PointsSettings};
use lowstave::provenance::Place;

/// A settings table for a file, with nothing said of its columns.
pub fn settings(file: &str) -> PointsSettings {
    PointsSettings {
        file: PathBuf::from(file),
        kind: PointKind::Cores,
        crs: Some("EPSG:4326".to_owned()),
        x: None,
        y: None,
        id: None,
        depths: Depths::Unknown,
        columns: Vec::new(),
        ignore: Vec::new(),
        leave_out: Vec::new(),
        reading: FileForm::default(),
        cone: None,
        laboratory: None,
        sampled: None,
        place: Place::file("plan.toml"),
    }
}

pub fn read(bytes: &[u8], settings: &PointsSettings) -> Result<(PointTable, Vec<String>), String> {
    let rules = ReadingRules {
        below_detection: BelowDetection::Half,
        bulk_density: None,
        crop: "corn".to_owned(),
        season: None,
        units: lowstave::units::UnitSystem::Metric,
    };
    points_from_bytes(bytes, settings, &rules)
        .map(|(table, remarks)| {
            (
                table,
                remarks.into_iter().map(|remark| remark.what).collect(),
            )
        })
        .map_err(|errors| errors.iter().map(|error| format!("{error}\n")).collect())
}

/// Cells of a row: a text that is a number becomes one, one that begins with `=` a formula without a stored value.
fn sheet_xml(rows: &[&[&str]]) -> String {
    let mut xml = String::from(
        "<worksheet xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\"><sheetData>",
    );
    for (row, cells) in (1..).zip(rows) {
        xml.push_str(&format!("<row r=\"{row}\">"));
        for (column, cell) in ('A'..)
            .zip(cells.iter())
            .filter(|(_, cell)| !cell.is_empty())
        {
            xml.push_str(&if let Some(formula) = cell.strip_prefix('=') {
                format!("<c r=\"{column}{row}\"><f>{formula}</f></c>")
            } else if cell.parse::<f64>().is_ok() {
                format!("<c r=\"{column}{row}\"><v>{cell}</v></c>")
            } else {
                format!(
                    "<c r=\"{column}{row}\" t=\"inlineStr\"><is><t>{}</t></is></c>",
                    cell.replace('<', "&lt;")
                )
            });
        }
        xml.push_str("</row>");
    }
    xml + "</sheetData></worksheet>"
}

pub fn spreadsheet(sheets: &[(&str, &[&[&str]])]) -> Vec<u8> {
    const PACKAGE: &str = "http://schemas.openxmlformats.org/package/2006";
    const OFFICE: &str = "http://schemas.openxmlformats.org/officeDocument/2006/relationships";
    let (mut names, mut links) = (String::new(), String::new());
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    let mut put = |name: &str, text: String| {
        zip.start_file(name, options).unwrap();
        zip.write_all(text.as_bytes()).unwrap();
    };
    for (number, (name, rows)) in (1..).zip(sheets) {
        names.push_str(&format!(
            "<sheet name=\"{name}\" sheetId=\"{number}\" r:id=\"r{number}\"/>"
        ));
        links.push_str(&format!(
            "<Relationship Id=\"r{number}\" Type=\"{OFFICE}/worksheet\" Target=\"worksheets/sheet{number}.xml\"/>"
        ));
        put(&format!("xl/worksheets/sheet{number}.xml"), sheet_xml(rows));
    }
    put(
        "[Content_Types].xml",
        format!("<Types xmlns=\"{PACKAGE}/content-types\"/>"),
    );
    put(
        "_rels/.rels",
        format!(
            "<Relationships xmlns=\"{PACKAGE}/relationships\"><Relationship Id=\"r1\" Type=\"{OFFICE}/officeDocument\" \
             Target=\"xl/workbook.xml\"/></Relationships>"
        ),
    );
    put(
        "xl/workbook.xml",
        format!(
            "<workbook xmlns=\"http://schemas.openxmlformats.org/spreadsheetml/2006/main\" xmlns:r=\"{OFFICE}\"><sheets>{names}</sheets></workbook>"
        ),
    );
    put(
        "xl/_rels/workbook.xml.rels",
        format!("<Relationships xmlns=\"{PACKAGE}/relationships\">{links}</Relationships>"),
    );
    zip.finish().unwrap().into_inner()
}

pub const RESULTS: [&[&str]; 6] = [
    &["Example laboratory (invented)"],
    &[],
    &["Sample ID", "Longitude", "Latitude", "Soil pH", "P"],
    &["", "", "", "1:1", "ppm Bray"],
    &["A1", "-97.125", "41.205", "6.5", "12"],
    &["A2", "-97.126", "41.206", "6.7", "<5"],
];

#[test]
fn the_first_sheet_of_a_spreadsheet_is_read_and_the_others_are_told() {
    let bytes = spreadsheet(&[("Results", &RESULTS), ("Notes", &[&["see page 2"]])]);
    let (table, remarks) = read(&bytes, &settings("lab.xlsx")).unwrap();
    let layers: Vec<String> = table
        .layers
        .iter()
        .map(|layer| layer.key.to_string())
        .collect();
    assert_eq!(table.row, [5, 6], "the sheet's own rows");
    assert_eq!(layers.len(), 2, "{layers:?}");
    assert_eq!(table.layers[0].values, [6.5, 6.7]);
    assert_eq!(
        table.layers[1].key.method.as_ref().unwrap().name(),
        "bray-1"
    );
    assert_eq!(table.layers[1].values, [12.0, 2.5]);
    assert!(
        remarks.iter().any(|what| what.contains("\"Notes\"")),
        "{remarks:?}"
    );
}

#[test]
fn a_sheet_can_be_named_and_a_name_that_is_not_there_is_refused_with_the_sheets() {
    let bytes = spreadsheet(&[("Notes", &[&["see page 2"]]), ("Results", &RESULTS)]);
    let mut said = settings("lab.xlsx");
    said.reading.sheet = Some("Results".to_owned());
    assert_eq!(read(&bytes, &said).unwrap().0.row, [5, 6]);
    said.reading.sheet = Some("Result".to_owned());
    let refused = read(&bytes, &said).unwrap_err();
    assert!(refused.contains("\"Notes\", \"Results\""), "{refused}");
}

#[test]
fn the_plan_says_decimal_signs_words_for_no_result_skipped_rows_units_and_methods() {
    let text = "lon;lat;K;pH\nnot the header;;;\nlon;lat;K;pH\n-97,125;41,205;1.234;6,5\n-97,126;41,206;x;-1\n";
    let mut said = settings("lab.csv");
    said.reading.skip_rows = 2;
    said.reading.numbers.decimal = Some(',');
    said.reading.numbers.thousands = Some('.');
    said.reading.numbers.na = vec!["x".to_owned(), "-1".to_owned()];
    said.reading.unit = Some("mg/kg".to_owned());
    said.reading.method = Some(lowstave::analyte::Method::new("mehlich-3"));
    let (table, _) = read(text.as_bytes(), &said).unwrap();
    let layer = |name: &str| {
        table
            .layers
            .iter()
            .find(|layer| layer.key.analyte.name() == name)
            .unwrap()
    };
    assert_eq!(layer("k").values[0], 1234.0);
    assert!(layer("k").values[1].is_nan() && layer("ph").values[1].is_nan());
    assert_eq!(layer("k").key.method.as_ref().unwrap().name(), "mehlich-3");
    assert_eq!(layer("ph").key.method, None, "no such method of pH");
    let refused = read(text.as_bytes(), &settings("lab.csv")).unwrap_err();
    assert!(
        !refused.is_empty(),
        "without the plan's word the file is not read"
    );
}

/// A ring round a square in well-known binary.
fn square(west: f64, south: f64, side: f64) -> Vec<u8> {
    let corners = [(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (0.0, 0.0)];
    let mut out = vec![1, 3, 0, 0, 0, 1, 0, 0, 0, 5, 0, 0, 0];
    for (x, y) in corners {
        out.extend((west + x * side).to_le_bytes());
        out.extend((south + y * side).to_le_bytes());
    }
    out
}

fn point(x: f64, y: f64) -> Vec<u8> {
    let mut out = vec![1, 1, 0, 0, 0];
    out.extend(x.to_le_bytes());
    out.extend(y.to_le_bytes());
    out
}

#[cfg(feature = "geopackage")]
pub fn geopackage() -> Vec<u8> {
    let database = rusqlite::Connection::open_in_memory().unwrap();
    database
        .execute_batch(
            "CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT, srs_id INTEGER PRIMARY KEY, organization TEXT, organization_coordsys_id INTEGER, definition TEXT);
             CREATE TABLE gpkg_geometry_columns (table_name TEXT, column_name TEXT, geometry_type_name TEXT, srs_id INTEGER, z, m);
             INSERT INTO gpkg_spatial_ref_sys VALUES ('WGS 84', 4326, 'EPSG', 4326, '');
             INSERT INTO gpkg_geometry_columns VALUES ('fields', 'geom', 'POLYGON', 4326, 0, 0), ('cores', 'geom', 'POINT', 4326, 0, 0);
             CREATE TABLE fields (fid INTEGER PRIMARY KEY, geom BLOB, NAME TEXT);
             CREATE TABLE cores (fid INTEGER PRIMARY KEY, geom BLOB, core TEXT, \"pH H2O\" REAL);",
        )
        .unwrap();
    let blob = |shape: Vec<u8>| [b"GP\0\x01\xe6\x10\0\0".to_vec(), shape].concat();
    for (name, west) in [("West", -97.13), ("East", -97.12)] {
        let shape = blob(square(west, 41.2, 0.01));
        database
            .execute(
                "INSERT INTO fields (geom, NAME) VALUES (?1, ?2)",
                (shape, name),
            )
            .unwrap();
    }
    for (core, x, ph) in [("A1", -97.125, 6.5), ("A2", -97.124, 6.7)] {
        let shape = blob(point(x, 41.205));
        database
            .execute(
                "INSERT INTO cores (geom, core, \"pH H2O\") VALUES (?1, ?2, ?3)",
                (shape, core, ph),
            )
            .unwrap();
    }
    database.serialize("main").unwrap().to_vec()
}

#[cfg(feature = "geopackage")]
#[test]
fn a_geopackage_gives_its_layer_of_points_and_its_layer_of_fields() {
    let bytes = geopackage();
    let (table, _) = read(&bytes, &settings("farm.gpkg")).unwrap();
    assert_eq!(
        (table.x.as_slice(), table.crs.as_str()),
        (&[-97.125, -97.124][..], "EPSG:4326")
    );
    assert_eq!(table.layers[0].values, [6.5, 6.7]);
    let choose = FieldChoice::Attribute("NAME".to_owned(), "East".to_owned());
    let field = boundary_from_bytes(&bytes, ShapeFormat::GeoPackage, Some(&choose)).unwrap();
    assert_eq!(field.0.len(), 1);
    let refused = boundary_from_bytes(&bytes, ShapeFormat::GeoPackage, None).unwrap_err();
    assert!(
        refused.to_string().contains("1 \"West\", 2 \"East\""),
        "{refused}"
    );
}

#[cfg(feature = "geopackage")]
#[test]
fn a_geopackage_whose_table_is_a_view_is_not_asked() {
    let database = rusqlite::Connection::open_in_memory().unwrap();
    database
        .execute_batch(
            "CREATE TABLE gpkg_geometry_columns (table_name TEXT, column_name TEXT, geometry_type_name TEXT, srs_id INTEGER, z, m);
             INSERT INTO gpkg_geometry_columns VALUES ('cores', 'geom', 'POINT', 4326, 0, 0);
             CREATE VIEW cores AS WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT i AS geom FROM n;",
        )
        .unwrap();
    let bytes = database.serialize("main").unwrap().to_vec();
    let refused = read(&bytes, &settings("farm.gpkg")).unwrap_err();
    assert!(refused.contains("no layer"), "{refused}");
}

#[cfg(feature = "geoparquet")]
pub fn geoparquet(crs: &str) -> Vec<u8> {
    use parquet::data_type::{ByteArray, ByteArrayType, DoubleType};
    use parquet::file::metadata::KeyValue;
    use parquet::file::properties::WriterProperties;
    use parquet::file::writer::SerializedFileWriter;
    use parquet::schema::parser::parse_message_type;
    use std::sync::Arc;

    let schema = "message cores { required binary geometry; required binary core (UTF8); required double pH_H2O; }";
    let geo = format!(
        "{{\"version\":\"1.1.0\",\"primary_column\":\"geometry\",\"columns\":{{\"geometry\":{{\"encoding\":\"WKB\",\"geometry_types\":[\"Point\"]{crs}}}}}}}"
    );
    let properties = WriterProperties::builder()
        .set_key_value_metadata(Some(vec![KeyValue::new("geo".to_owned(), geo)]))
        .build();
    let schema = Arc::new(parse_message_type(schema).unwrap());
    let mut writer = SerializedFileWriter::new(Vec::new(), schema, Arc::new(properties)).unwrap();
    let mut group = writer.next_row_group().unwrap();
    let shapes = [point(-97.125, 41.205), point(-97.124, 41.205)].map(ByteArray::from);
    let names = ["A1", "A2"].map(ByteArray::from);
    for values in [&shapes, &names] {
        let mut column = group.next_column().unwrap().unwrap();
        column
            .typed::<ByteArrayType>()
            .write_batch(values, None, None)
            .unwrap();
        column.close().unwrap();
    }
    let mut column = group.next_column().unwrap().unwrap();
    column
        .typed::<DoubleType>()
        .write_batch(&[6.5, 6.7], None, None)
        .unwrap();
    column.close().unwrap();
    group.close().unwrap();
    writer.into_inner().unwrap()
}

#[cfg(feature = "geoparquet")]
#[test]
fn a_geoparquet_file_is_read_with_its_coordinate_system() {
    let (table, _) = read(
        &geoparquet(""),
        &PointsSettings {
            crs: None,
            ..settings("cores.parquet")
        },
    )
    .unwrap();
    assert_eq!(
        (table.x.as_slice(), table.crs.as_str()),
        (&[-97.125, -97.124][..], "EPSG:4326")
    );
    assert_eq!(table.layers[0].values, [6.5, 6.7]);
    let said = ",\"crs\":{\"id\":{\"authority\":\"EPSG\",\"code\":4269}}";
    let (table, _) = read(
        &geoparquet(said),
        &PointsSettings {
            crs: None,
            ..settings("cores.parquet")
        },
    )
    .unwrap();
    assert_eq!(table.crs, "EPSG:4269");
    let unknown = read(
        &geoparquet(",\"crs\":null"),
        &PointsSettings {
            crs: None,
            ..settings("cores.parquet")
        },
    );
    assert!(unknown.unwrap_err().contains("EPSG:..."));
}

#[test]
fn damaged_containers_are_refused_and_never_end_the_program() {
    let mut files: Vec<(&str, Vec<u8>)> = vec![("lab.xlsx", spreadsheet(&[("Results", &RESULTS)]))];
    #[cfg(feature = "geopackage")]
    files.push(("farm.gpkg", geopackage()));
    #[cfg(feature = "geoparquet")]
    files.push(("cores.parquet", geoparquet("")));
    for (name, whole) in files {
        assert!(read(&whole, &settings(name)).is_ok(), "{name}");
        for cut in (0..whole.len()).step_by(whole.len() / 40 + 1) {
            let _ = read(&whole[..cut], &settings(name));
            let mut spoilt = whole.clone();
            spoilt[cut] ^= 0xff;
            let _ = read(&spoilt, &settings(name));
        }
        assert!(
            read(&whole[..whole.len() / 3], &settings(name)).is_err(),
            "{name}"
        );
    }
}

/// Writes the files above as first inputs of the fuzz targets: `LOWSTAVE_SEEDS=FOLDER cargo test --test intake seeds -- --ignored`.
#[test]
#[ignore = "writes files"]
fn seeds_for_the_fuzz_targets() {
    let folder = PathBuf::from(std::env::var("LOWSTAVE_SEEDS").expect("LOWSTAVE_SEEDS"));
    let mut files = vec![("spreadsheet", spreadsheet(&[("Results", &RESULTS)]))];
    #[cfg(feature = "geopackage")]
    files.push(("geopackage", geopackage()));
    #[cfg(feature = "geoparquet")]
    files.push(("geoparquet", geoparquet("")));
    for (target, bytes) in files {
        std::fs::create_dir_all(folder.join(target)).unwrap();
        std::fs::write(folder.join(target).join("first"), bytes).unwrap();
    }
}

#[test]
fn ions_of_two_charges_in_millimoles_are_asked_about_and_the_rest_is_turned_into_milligrams() {
    // 1 mmol of magnesium is 24.305 mg and carries 2 mmol of charge (IUPAC atomic weights 2021).
    let table = |head: &str| format!("lon,lat,{head}\n-97.125,41.205,10\n-97.126,41.206,20\n");
    let refused = read(table("Mg mmol/kg").as_bytes(), &settings("lab.csv")).unwrap_err();
    assert!(
        refused.contains("mmol(+)/kg") && refused.contains("two charges"),
        "{refused}"
    );
    for (head, wanted) in [
        ("Mg mmol(+)/kg", 121.525),
        ("Mg cmol(+)/kg", 1215.25),
        ("K mmol/kg", 390.983),
        ("K mg/100 g", 100.0),
        ("Ca meq/100 g", 2003.9),
    ] {
        let (table, _) = read(table(head).as_bytes(), &settings("lab.csv")).unwrap();
        let found = table.layers[0].values[0];
        assert!((found / wanted - 1.0).abs() < 1e-9, "{head}: {found}");
    }
}

/// Programs that write a formula and not its value leave a blank for everybody else.
#[test]
fn a_formula_without_a_stored_value_is_refused_with_its_rows() {
    let rows: [&[&str]; 3] = [
        &["lon", "lat", "pH"],
        &["-97.125", "41.205", "6.5"],
        &["-97.126", "41.206", "=C2+0.1"],
    ];
    let refused = read(&spreadsheet(&[("Results", &rows)]), &settings("lab.xlsx")).unwrap_err();
    assert!(
        refused.contains("1 cell(s) hold a formula") && refused.contains("rows 3"),
        "{refused}"
    );
}

#[test]
fn a_row_without_a_place_is_told() {
    let feature = |place: &str, ph: f64| {
        format!("{{\"type\":\"Feature\",\"properties\":{{\"pH\":{ph}}},\"geometry\":{place}}}")
    };
    let point = "{\"type\":\"Point\",\"coordinates\":[-97.125,41.205]}";
    let text = format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{},{}]}}",
        feature(point, 6.5),
        feature("null", 6.7)
    );
    let (table, remarks) = read(text.as_bytes(), &settings("lab.geojson")).unwrap();
    assert_eq!(table.layers[0].values, [6.5]);
    assert!(
        remarks
            .iter()
            .any(|what| what == "row 2 without a place: not used"),
        "{remarks:?}"
    );
}

/// 0.015 is no fifteen, whatever the decimal sign is said to be.
#[test]
fn thousands_never_begin_with_a_zero() {
    let text = "lon;lat;Zn\n-97,125;41,205;0.015\n-97,126;41,206;1,5\n";
    let mut said = settings("lab.csv");
    said.reading.numbers.decimal = Some(',');
    let found = read(text.as_bytes(), &said);
    let is_fifteen = found
        .as_ref()
        .is_ok_and(|(table, _)| table.layers[0].values[0] > 1.0);
    assert!(!is_fifteen, "{found:?}");
}

/// A unit of an oxide in a column of the element is not passed over with its whole row: 40 kg/ha of P2O5 are no 40 ppm of P.
#[test]
fn a_units_row_with_a_unit_that_is_not_understood_is_not_passed_over() {
    let text =
        "lon,lat,pH,Buffer pH,P,K\n,,1:1,SMP,kg/ha P2O5,kg/ha K2O\n-97.125,41.205,6.5,6.7,40,200\n";
    let found = read(text.as_bytes(), &settings("lab.csv"));
    let is_ppm = found.as_ref().is_ok_and(|(table, _)| {
        let mut layers = table.layers.iter();
        layers.any(|layer| layer.key.analyte.name() == "p" && layer.values[0] > 39.0)
    });
    assert!(!is_ppm, "{found:?}");
    // Parts of two million: half as many parts of a million.
    let text = "lon,lat,P,K\nunits,,pp2m,pp2m\n-97.125,41.205,40,200\n";
    let (table, _) = read(text.as_bytes(), &settings("lab.csv")).unwrap();
    assert_eq!(table.layers[0].values, [20.0]);
}

/// A sheet as spreadsheet programs write it: organic matter as a share that is shown in percent (styles 1 and 2: built-in format 10 and a
/// code of its own), and one sample's name merged over its two depths.
fn sheet_with_styles() -> Vec<u8> {
    const MAIN: &str = "http://schemas.openxmlformats.org/spreadsheetml/2006/main";
    let plain = spreadsheet(&[(
        "Results",
        &[
            &[
                "Sample ID",
                "Longitude",
                "Latitude",
                "Depth",
                "OM",
                "pH (water)",
            ],
            &["A1", "-97.125", "41.205", "0-6 in", "0.035", "6.5"],
            &["", "-97.125", "41.205", "6-12 in", "0.0215", "6.7"],
        ],
    )]);
    let styles = format!(
        "<styleSheet xmlns=\"{MAIN}\"><numFmts><numFmt numFmtId=\"170\" formatCode=\"0.00%\"/></numFmts>\
         <cellXfs><xf numFmtId=\"0\"/><xf numFmtId=\"10\"/><xf numFmtId=\"170\"/></cellXfs></styleSheet>"
    );
    let mut from = zip::ZipArchive::new(std::io::Cursor::new(plain)).unwrap();
    let mut to = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    let options = zip::write::SimpleFileOptions::default();
    for at in 0..from.len() {
        let mut file = from.by_index(at).unwrap();
        let mut text = std::io::read_to_string(&mut file).unwrap();
        text = text
            .replace("<c r=\"E2\">", "<c r=\"E2\" s=\"1\">")
            .replace("<c r=\"E3\">", "<c r=\"E3\" s=\"2\">")
            .replace("</sheetData>", "</sheetData><mergeCells><mergeCell ref=\"A2:A3\"/></mergeCells>")
            .replace(
                "</Relationships>",
                "<Relationship Id=\"r9\" Type=\"http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles\" \
                 Target=\"styles.xml\"/></Relationships>",
            );
        to.start_file(file.name().unwrap().into_owned(), options)
            .unwrap();
        to.write_all(text.as_bytes()).unwrap();
    }
    to.start_file("xl/styles.xml", options).unwrap();
    to.write_all(styles.as_bytes()).unwrap();
    to.finish().unwrap().into_inner()
}

#[test]
fn percent_is_read_as_it_is_shown_and_merged_names_hold_for_all_their_rows() {
    let (table, remarks) = read(&sheet_with_styles(), &settings("lab.xlsx")).unwrap();
    let of = |name: &str| {
        let layers = table
            .layers
            .iter()
            .filter(|layer| layer.key.analyte.name() == name);
        layers
            .flat_map(|layer| layer.values.clone())
            .filter(|value| value.is_finite())
            .collect::<Vec<f64>>()
    };
    assert_eq!(of("organic_matter"), [3.5, 2.15], "{remarks:?}");
    assert!(
        remarks
            .iter()
            .any(|what| what.contains("2 cells are shown as percent")),
        "{remarks:?}"
    );
    assert!(
        remarks
            .iter()
            .any(|what| what.contains("1 cells are merged")),
        "{remarks:?}"
    );
    let names = table.id.unwrap();
    assert!(names.iter().all(|name| &**name == "A1"), "{names:?}");
}

/// A folder with some files in memory, and what `start` makes of it.
fn started(boundary: &str, points: &str, files: &[(&str, &[u8])]) -> String {
    let files = lowstave::Files::memory(
        files
            .iter()
            .map(|(name, bytes)| ((*name).to_owned(), bytes.to_vec())),
    );
    let draft = lowstave::intake::draft_plan(
        &files,
        std::path::Path::new(boundary),
        &[PathBuf::from(points)],
        std::path::Path::new(""),
    );
    draft.unwrap().plan.to_text()
}

#[test]
fn start_takes_the_sheet_of_results_wherever_it_stands() {
    let cover: &[&[&str]] = &[
        &["Example laboratory (invented)"],
        &["Prices", "USD"],
        &["pH", "9"],
    ];
    let book = spreadsheet(&[("Cover", cover), ("Results", &RESULTS)]);
    let field = "{\"type\":\"Polygon\",\"coordinates\":[[[-97.13,41.2],[-97.12,41.2],[-97.12,41.21],[-97.13,41.21],[-97.13,41.2]]]}";
    let plan = started(
        "field.geojson",
        "lab.xlsx",
        &[("field.geojson", field.as_bytes()), ("lab.xlsx", &book)],
    );
    assert!(plan.contains("sheet  = \"Results\""), "{plan}");
    assert!(plan.contains("not read: \"Cover\""), "{plan}");
    assert!(
        plan.contains("\"Soil pH\" = { is = \"ph\", method = \"water\" }"),
        "{plan}"
    );
}

#[test]
fn start_takes_the_field_in_which_the_points_stand() {
    let square = |name: &str, west: f64| {
        format!(
            "{{\"type\":\"Feature\",\"properties\":{{\"field\":\"{name}\"}},\"geometry\":{{\"type\":\"Polygon\",\"coordinates\":\
             [[[{west},41.2],[{east},41.2],[{east},41.21],[{west},41.21],[{west},41.2]]]}}}}",
            east = west + 0.01
        )
    };
    let fields = format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{},{}]}}",
        square("North", -98.0),
        square("South", -97.13)
    );
    let cores =
        "id,lon,lat,pH\nA1,-97.125,41.205,6.5\nA2,-97.126,41.206,6.1\nA3,-97.124,41.204,5.9\n";
    let plan = started(
        "fields.geojson",
        "cores.csv",
        &[
            ("fields.geojson", fields.as_bytes()),
            ("cores.csv", cores.as_bytes()),
        ],
    );
    assert!(plan.contains("is = \"South\""), "{plan}");
    assert!(plan.contains("stand 3 of the first 3 points"), "{plan}");
}

/// Results with a decimal comma, places with a point, as a positioning receiver writes them: `decimal` of the file is for the results.
#[test]
fn the_decimal_sign_of_a_file_leaves_coordinates_with_a_point_alone() {
    let text = "id;lon;lat;pH\nA1;-97.125;41.205;6,512\nA2;-97.126;41.206;6,101\n";
    let mut said = settings("cores.csv");
    said.reading.numbers.decimal = Some(',');
    let (table, _) = read(text.as_bytes(), &said).unwrap();
    assert_eq!((table.x[0], table.y[0]), (-97.125, 41.205));
    assert_eq!(table.layers[0].values, [6.512, 6.101]);
    // Cells that do not tell are written as the plan says of the file.
    let text = "id;lon;lat;pH\nA1;-97,125;41,205;6,512\nA2;-97,126;41,206;6,101\n";
    let (table, _) = read(text.as_bytes(), &said).unwrap();
    assert_eq!((table.x[0], table.y[0]), (-97.125, 41.205));
}

/// Two fields in one laboratory's file that number their samples alike, and places of one of them only: a result of the other field would
/// stand at a place of this one.
#[test]
fn a_name_with_two_results_is_asked_about_when_results_are_joined_to_places() {
    let plan = |lab: &str| {
        let files: [(&str, String); 4] = [
            ("plan.toml", "field = \"Home\"\nseason = 2027\ncrop = \"corn\"\nboundary = { file = \"b.geojson\" }\n[[points]]\nfile = \"w.csv\"\nkind = \"cores\"\ncrs = \"EPSG:4326\"\nid = \"name\"\n[[points]]\nfile = \"lab.csv\"\nkind = \"cores\"\nid = \"Sample\"\ndepth = \"0-6 in\"\n".to_owned()),
            ("b.geojson", "{\"type\":\"Polygon\",\"coordinates\":[[[-97.13,41.2],[-97.12,41.2],[-97.12,41.21],[-97.13,41.21],[-97.13,41.2]]]}".to_owned()),
            ("w.csv", "name,lon,lat\n1,-97.125,41.205\n2,-97.126,41.206\n3,-97.124,41.204\n".to_owned()),
            ("lab.csv", lab.to_owned()),
        ];
        let files =
            lowstave::Files::memory(files.map(|(name, text)| (name.to_owned(), text.into_bytes())));
        lowstave::run(&files, "plan.toml")
            .map(|_| ())
            .map_err(|failure| failure.to_string())
    };
    let one = "Sample,Field,pH (water)\n1,Home,6.5\n2,Home,6.7\n3,Home,6.6\n";
    assert_eq!(plan(one), Ok(()));
    let two = format!("{one}1,West,5.1\n2,West,5.2\n3,West,5.3\n");
    let refused = plan(&two).unwrap_err();
    assert!(
        refused.contains("the sample name \"1\" has two results of pH (water)"),
        "{refused}"
    );
    assert!(
        refused.contains("row 2") && refused.contains("row 5"),
        "{refused}"
    );
}

#[test]
fn start_asks_between_sheets_that_are_alike_and_takes_the_later_year() {
    let book = spreadsheet(&[("2021", &RESULTS), ("2026", &RESULTS)]);
    let field = "{\"type\":\"Polygon\",\"coordinates\":[[[-97.13,41.2],[-97.12,41.2],[-97.12,41.21],[-97.13,41.21],[-97.13,41.2]]]}";
    let plan = started(
        "field.geojson",
        "lab.xlsx",
        &[("field.geojson", field.as_bytes()), ("lab.xlsx", &book)],
    );
    assert!(plan.contains("sheet  = \"2026\""), "{plan}");
    assert!(plan.contains("# LOOK: \"2021\" may be meant"), "{plan}");
    let mut said = settings("lab.xlsx");
    said.reading.sheet = Some("2026".to_owned());
    let (_, remarks) = read(&book, &said).unwrap();
    assert!(
        remarks.iter().any(|what| what.contains("\"2021\" as well")),
        "{remarks:?}"
    );
}

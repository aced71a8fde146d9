//! Writing a table in any dialect and reading it back gives the same numbers; arbitrary bytes never panic.

use std::fmt::Write as _;
use std::path::PathBuf;
use std::sync::Arc;

use lowstave::analyte::{Analyte, Method};
use lowstave::intake::{
    PointTable, Qualifier, ReadingRules, ShapeFormat, boundary_from_bytes, points_from_bytes,
};
use lowstave::plan::{BelowDetection, ColumnMeaning, Depths, PointKind, PointsSettings};
use lowstave::provenance::Place;
use proptest::prelude::*;

#[derive(Debug, Clone, Copy, PartialEq)]
enum Encoding {
    Utf8,
    Utf8WithMark,
    Utf16,
    Windows1252,
}

#[derive(Debug, Clone)]
struct Dialect {
    separator: char,
    decimal: char,
    line_end: &'static str,
    encoding: Encoding,
    has_title: bool,
    has_units_row: bool,
    is_quoted: bool,
    blank_rows_at_end: usize,
}

#[derive(Debug, Clone)]
struct Row {
    place: (f64, f64),
    ph: Option<f64>,
    potassium: Option<f64>,
    is_below: bool,
    covariate: Option<f64>,
}

fn dialect() -> impl Strategy<Value = Dialect> {
    (
        prop::sample::select(vec![',', ';', '\t', '|']),
        prop::sample::select(vec!['.', ',']),
        prop::sample::select(vec!["\n", "\r\n", "\r"]),
        prop::sample::select(vec![
            Encoding::Utf8,
            Encoding::Utf8WithMark,
            Encoding::Utf16,
            Encoding::Windows1252,
        ]),
        (any::<bool>(), any::<bool>(), any::<bool>()),
        0_usize..3,
    )
        .prop_map(
            |(
                separator,
                decimal,
                line_end,
                encoding,
                (has_title, has_units_row, is_quoted),
                blank_rows_at_end,
            )| Dialect {
                separator,
                decimal,
                line_end,
                encoding,
                has_title,
                has_units_row,
                is_quoted,
                blank_rows_at_end,
            },
        )
}

fn row() -> impl Strategy<Value = Row> {
    let number = |low: f64, high: f64| prop::option::weighted(0.9, low..high);
    (
        -98.0..-97.0_f64,
        41.0..42.0_f64,
        number(4.0, 9.0),
        number(10.0, 1500.0),
        any::<bool>(),
        number(-1e6, 1e6),
    )
        .prop_map(|(x, y, ph, potassium, is_below, covariate)| Row {
            place: (x, y),
            ph,
            potassium,
            is_below,
            covariate,
        })
}

#[allow(clippy::too_many_lines, reason = "one case after the other")]
fn write(rows: &[Row], dialect: &Dialect) -> Vec<u8> {
    let show = |number: f64| {
        number
            .to_string()
            .replace('.', &dialect.decimal.to_string())
    };
    let cell = |text: String| {
        if dialect.is_quoted || text.contains(dialect.separator) {
            format!("\"{text}\"")
        } else {
            text
        }
    };
    let mut text = String::new();
    let mut line = |cells: Vec<String>| {
        let cells: Vec<String> = cells.into_iter().map(&cell).collect();
        let _ = write!(
            text,
            "{}{}",
            cells.join(&dialect.separator.to_string()),
            dialect.line_end
        );
    };
    if dialect.has_title {
        line(vec!["Invented laboratory".into()]);
    }
    line(
        ["Größe", "lon", "lat", "pH", "K", "height"]
            .map(str::to_owned)
            .to_vec(),
    );
    if dialect.has_units_row {
        line(
            ["UNITS", "deg", "deg", "", "ppm", "m"]
                .map(str::to_owned)
                .to_vec(),
        );
    }
    for row in rows {
        let number = |value: Option<f64>| value.map(show).unwrap_or_default();
        let below = if row.is_below && row.potassium.is_some() {
            "<"
        } else {
            ""
        };
        let potassium = format!("{below}{}", number(row.potassium));
        line(vec![
            "Möhre".into(),
            show(row.place.0),
            show(row.place.1),
            number(row.ph),
            potassium,
            number(row.covariate),
        ]);
    }
    for _ in 0..dialect.blank_rows_at_end {
        line(vec![String::new(); 6]);
    }
    match dialect.encoding {
        Encoding::Utf8 => text.into_bytes(),
        Encoding::Utf8WithMark => [b"\xEF\xBB\xBF", text.as_bytes()].concat(),
        Encoding::Utf16 => [0xFF, 0xFE]
            .into_iter()
            .chain(text.encode_utf16().flat_map(u16::to_le_bytes))
            .collect(),
        Encoding::Windows1252 => text
            .chars()
            .map(|c| u8::try_from(u32::from(c)).expect("a sign of Latin-1"))
            .collect(),
    }
}

fn settings(file: &str, kind: PointKind) -> PointsSettings {
    let meaning =
        |name: &str, analyte: Analyte, method: Option<&str>| -> (Arc<str>, ColumnMeaning) {
            let unit = None;
            let place = Place::file("plan.toml");
            (
                name.into(),
                ColumnMeaning {
                    analyte,
                    method: method.map(Method::new),
                    unit,
                    depth: None,
                    sure: false,
                    numbers: lowstave::plan::NumberForm::default(),
                    place,
                },
            )
        };
    PointsSettings {
        file: PathBuf::from(file),
        kind,
        crs: Some("EPSG:4326".into()),
        x: Some("lon".into()),
        y: Some("lat".into()),
        id: None,
        depths: Depths::Unknown,
        columns: vec![
            meaning("pH", Analyte::Ph, Some("water")),
            meaning("K", Analyte::Potassium, None),
            meaning("height", Analyte::Covariate("height".into()), None),
        ],
        ignore: Vec::new(),
        leave_out: Vec::new(),
        reading: lowstave::plan::FileForm::default(),
        cone: None,
        laboratory: None,
        sampled: None,
        place: Place::file("plan.toml"),
    }
}

fn rules() -> ReadingRules {
    ReadingRules {
        below_detection: BelowDetection::Limit,
        bulk_density: None,
        crop: "corn".into(),
        season: None,
        units: lowstave::units::UnitSystem::Metric,
    }
}

fn same(read: &[f64], written: impl Iterator<Item = Option<f64>>) -> bool {
    read.iter()
        .map(|value| (!value.is_nan()).then_some(*value))
        .eq(written)
}

fn values<'t>(table: &'t PointTable, analyte: &str) -> &'t [f64] {
    table
        .layers
        .iter()
        .find(|layer| layer.key.analyte.name() == analyte)
        .map_or(&[], |layer| &layer.values)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn a_table_that_is_read_in_pieces_reads_back_as_the_same_numbers(mut rows in prop::collection::vec(row(), 20..60), dialect in dialect()) {
        rows.insert(0, Row { place: (-97.5, 41.5), ph: Some(6.5), potassium: Some(120.5), is_below: false, covariate: Some(0.5) });
        let rows: Vec<Row> = rows.iter().cloned().cycle().take(30_000).collect();
        let bytes = write(&rows, &dialect);
        let (table, _) = points_from_bytes(&bytes, &settings("lab.csv", PointKind::Readings), &rules())
            .map_err(|errors| TestCaseError::fail(format!("{errors:?}")))?;
        let head = 2 + u32::from(dialect.has_title) + u32::from(dialect.has_units_row);
        prop_assert!(table.row.iter().copied().eq(head..head + rows.len() as u32));
        prop_assert!(same(&table.x, rows.iter().map(|row| Some(row.place.0))));
        prop_assert!(same(&table.y, rows.iter().map(|row| Some(row.place.1))));
        prop_assert!(same(values(&table, "ph"), rows.iter().map(|row| row.ph)));
        prop_assert!(same(values(&table, "k"), rows.iter().map(|row| row.potassium)));
        prop_assert!(same(values(&table, "covariate:height"), rows.iter().map(|row| row.covariate)));
        let potassium = table.layers.iter().find(|layer| layer.key.analyte == Analyte::Potassium);
        let qualified = potassium.into_iter().flat_map(|layer| &layer.qualified).filter(|(_, q)| matches!(q, Qualifier::Below(_)));
        let below = (0_u32..).zip(&rows).filter(|(_, row)| row.is_below && row.potassium.is_some());
        prop_assert!(qualified.map(|(at, _)| *at).eq(below.map(|(at, _)| at)));
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn a_table_in_any_dialect_reads_back_as_the_same_numbers(mut rows in prop::collection::vec(row(), 1..40), dialect in dialect()) {
        // The first row is full and shows the decimal sign of each column for certain.
        rows.insert(0, Row { place: (-97.5, 41.5), ph: Some(6.5), potassium: Some(120.5), is_below: false, covariate: Some(0.5) });
        let bytes = write(&rows, &dialect);
        let (table, _) = points_from_bytes(&bytes, &settings("lab.csv", PointKind::Readings), &rules())
            .map_err(|errors| TestCaseError::fail(format!("{errors:?}\n{}", String::from_utf8_lossy(&bytes))))?;
        prop_assert_eq!(table.x.len(), rows.len());
        prop_assert!(same(&table.x, rows.iter().map(|row| Some(row.place.0))));
        prop_assert!(same(&table.y, rows.iter().map(|row| Some(row.place.1))));
        prop_assert!(same(values(&table, "ph"), rows.iter().map(|row| row.ph)));
        prop_assert!(same(values(&table, "k"), rows.iter().map(|row| row.potassium)));
        prop_assert!(same(values(&table, "covariate:height"), rows.iter().map(|row| row.covariate)));
        let below = rows.iter().filter(|row| row.is_below && row.potassium.is_some()).count();
        let potassium = table.layers.iter().find(|layer| layer.key.analyte == Analyte::Potassium);
        let qualified = potassium.map_or(0, |layer| layer.qualified.iter().filter(|(_, q)| matches!(q, Qualifier::Below(_))).count());
        prop_assert_eq!(qualified, below);
    }

    #[test]
    fn arbitrary_bytes_are_an_error_or_a_reading_and_never_a_panic(bytes in prop::collection::vec(any::<u8>(), 0..600)) {
        for file in ["a.csv", "a.geojson", "a.shp", "a.zip", "a.kml", "a.gpx"] {
            let _ = points_from_bytes(&bytes, &settings(file, PointKind::Readings), &rules());
        }
        for format in [ShapeFormat::GeoJson, ShapeFormat::Shapefile, ShapeFormat::Kml] {
            let _ = boundary_from_bytes(&bytes, format, None);
        }
    }

    #[test]
    fn arbitrary_text_of_a_table_is_an_error_or_a_reading_and_never_a_panic(
        cells in prop::collection::vec(prop::collection::vec("[-0-9.,;<>eE \"'a-zA-Z%/µ]{0,9}", 1..7), 0..12),
        kind in prop::sample::select(vec![PointKind::Cores, PointKind::Cone, PointKind::Readings]),
    ) {
        let body: Vec<String> = cells.iter().map(|row| row.join(",")).collect();
        let text = format!("id,lon,lat,pH,K,height\n{}\n", body.join("\n"));
        let mut settings = settings("a.csv", kind);
        let _ = points_from_bytes(text.as_bytes(), &settings, &rules());
        settings.columns.clear();
        let _ = points_from_bytes(body.join("\n").as_bytes(), &settings, &rules());
    }
}

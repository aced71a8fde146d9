//! Modus (AgGateway): laboratory results as XML become a table, one row per sample and depth.
//!
//! The key of a result is its test id, never the element's name: one sample may hold three phosphorus tests. A value
//! can not be written as "below" in this format, so a laboratory's limit or 0 stands there as a number.

use std::collections::BTreeMap;
use std::sync::{Arc, LazyLock};

use serde::Deserialize;

use crate::analyte::{Analyte, Method};
use crate::plan::{ColumnMeaning, Depths, NumberForm, PointsSettings};
use crate::provenance::Place;
use crate::remark::Remark;
use crate::toml_tree::built_in;

use crate::intake::error::IntakeError;
use crate::intake::formats::text_rows::TextRows;
use crate::intake::formats::xml::{Step, attribute, walk};

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct TestList {
    test: Vec<Test>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Test {
    is: String,
    method: String,
    ids: Vec<String>,
}

static TESTS: LazyLock<TestList> =
    LazyLock::new(|| built_in(include_str!("modus.toml"), "the built-in list of tests"));

/// Column of the sample's name.
const SAMPLE: &str = "sample";
/// Column of the depth.
const DEPTH: &str = "depth";
/// Columns of the place.
const PLACE: [&str; 2] = ["(longitude)", "(latitude)"];

/// What a Modus file holds, as a table and what its columns are.
pub(in crate::intake) struct ModusTable {
    /// Names of the columns.
    pub names: Vec<String>,
    /// The rows.
    pub rows: TextRows,
    /// The plan's settings with what the file says of its columns.
    pub settings: PointsSettings,
    /// Whether the samples carry their places.
    pub has_geometry: bool,
    /// What can go on.
    pub remarks: Vec<Remark>,
}

/// One result: test id, unit, value.
type ResultCell = (String, String, String);

#[derive(Default)]
struct Sample {
    number: String,
    name: Option<String>,
    place: Option<(f64, f64)>,
    /// Depth id and its results.
    depths: Vec<(String, Vec<ResultCell>)>,
}

#[derive(Default)]
struct Collector {
    depth_ids: BTreeMap<String, String>,
    depth_id: String,
    fields: BTreeMap<String, String>,
    samples: Vec<Sample>,
    is_in_sample: bool,
    is_soil: bool,
}

/// Reads a Modus file.
pub(in crate::intake) fn modus(
    bytes: &[u8],
    settings: &PointsSettings,
    place: &Place,
) -> Result<ModusTable, IntakeError> {
    let mut reading = Collector::default();
    walk(bytes, place, "Modus XML", |step| {
        match step {
            Step::Open(name, start) => reading.open(name, attribute(start, "DepthID")),
            Step::Close(name, text) => reading.close(name, text),
        }
        Ok(())
    })?;
    if !reading.is_soil || reading.samples.is_empty() {
        let what = "the file holds no soil samples in the form of Modus results".to_owned();
        return Err(IntakeError::Nothing {
            place: place.clone(),
            what,
        });
    }
    Ok(table_of(&reading, settings, place))
}

impl Collector {
    fn open(&mut self, name: &str, depth_id: Option<String>) {
        match name {
            "SoilSample" => {
                self.is_in_sample = true;
                self.is_soil = true;
                self.samples.push(Sample::default());
            }
            "DepthRef" => {
                self.depth_id = depth_id.unwrap_or_default();
                self.fields.clear();
            }
            "Depth" if self.is_in_sample => {
                if let Some(sample) = self.samples.last_mut() {
                    sample
                        .depths
                        .push((depth_id.unwrap_or_default(), Vec::new()));
                }
            }
            "NutrientResult" | "TextureResult" => self.fields.clear(),
            _ => {}
        }
    }

    fn close(&mut self, name: &str, text: &str) {
        match name {
            "SoilSample" => self.is_in_sample = false,
            "DepthRef" => self.depth_ref(),
            "NutrientResult" => self.nutrient(),
            "SampleNumber" | "FMISSampleID" | "LabSampleID" | "Geometry" if self.is_in_sample => {
                self.metadata(name, text);
            }
            "StartingDepth" | "EndingDepth" | "DepthUnit" | "Value" | "ValueUnit"
            | "ModusTestID" => {
                self.fields.insert(name.to_owned(), text.to_owned());
            }
            "PercentClay" | "PercentSilt" | "PercentSand" => {
                self.result(format!("texture {name}"), "%".to_owned(), text.to_owned());
            }
            _ => {}
        }
    }

    fn depth_ref(&mut self) {
        let field = |name: &str| self.fields.get(name).cloned().unwrap_or_default();
        let text = format!(
            "{}-{} {}",
            field("StartingDepth"),
            field("EndingDepth"),
            field("DepthUnit")
        );
        self.depth_ids
            .insert(std::mem::take(&mut self.depth_id), text);
    }

    fn metadata(&mut self, name: &str, text: &str) {
        let Some(sample) = self.samples.last_mut() else {
            return;
        };
        match name {
            "SampleNumber" => text.clone_into(&mut sample.number),
            "Geometry" => sample.place = wkt_point(text),
            _ if !text.is_empty() && (name == "FMISSampleID" || sample.name.is_none()) => {
                sample.name = Some(text.to_owned());
            }
            _ => {}
        }
    }

    fn nutrient(&mut self) {
        let mut field = |name: &str| self.fields.remove(name).unwrap_or_default();
        let (id, unit, value) = (field("ModusTestID"), field("ValueUnit"), field("Value"));
        self.result(id, unit, value);
    }

    fn result(&mut self, id: String, unit: String, value: String) {
        if let Some((_, results)) = self
            .samples
            .last_mut()
            .and_then(|sample| sample.depths.last_mut())
        {
            results.push((id, unit, value));
        }
    }
}

/// `POINT (x y)`. The schema calls the order latitude, longitude while WKT is x y: a latitude cannot pass 90.
fn wkt_point(text: &str) -> Option<(f64, f64)> {
    let upper = text.trim().to_ascii_uppercase();
    let inner = upper
        .strip_prefix("POINT")?
        .trim()
        .strip_prefix('(')?
        .strip_suffix(')')?;
    let numbers: Vec<f64> = inner
        .split_whitespace()
        .map(str::parse)
        .collect::<Result<_, _>>()
        .ok()?;
    match numbers.as_slice() {
        [x, y, ..] if x.is_finite() && y.is_finite() => Some((*x, *y)),
        _ => None,
    }
}

/// Analyte and method of a test id; newer ids end like the entries of the list.
fn meaning_of_test(id: &str) -> Option<(Analyte, Option<Method>)> {
    let texture = match id {
        "texture PercentClay" => Some(Analyte::Clay),
        "texture PercentSilt" => Some(Analyte::Silt),
        "texture PercentSand" => Some(Analyte::Sand),
        _ => None,
    };
    if let Some(analyte) = texture {
        return Some((analyte, None));
    }
    let short = id.strip_prefix("L_MODV2_SOIL_").unwrap_or(id);
    let test = TESTS
        .test
        .iter()
        .find(|test| test.ids.iter().any(|own| own.eq_ignore_ascii_case(short)))?;
    Some((test.is.parse().ok()?, Some(Method::new(&test.method))))
}

fn table_of(reading: &Collector, settings: &PointsSettings, place: &Place) -> ModusTable {
    let mut remarks = Vec::new();
    let mut columns: BTreeMap<(String, String), usize> = BTreeMap::new();
    let mut unknown: Vec<String> = Vec::new();
    for (id, unit, _) in reading
        .samples
        .iter()
        .flat_map(|sample| &sample.depths)
        .flat_map(|(_, results)| results)
    {
        if meaning_of_test(id).is_none() {
            if !unknown.contains(id) && unknown.len() < 1_000 {
                unknown.push(id.clone());
            }
        } else if columns.len() < 1_000 {
            columns.entry((id.clone(), unit.clone())).or_insert(0);
        }
    }
    let has_geometry = reading.samples.iter().any(|sample| sample.place.is_some());
    let first = if has_geometry { 4 } else { 2 };
    columns
        .values_mut()
        .enumerate()
        .for_each(|(at, index)| *index = first + at);
    if !unknown.is_empty() {
        let list = unknown
            .iter()
            .take(20)
            .map(|id| format!("\"{id}\""))
            .collect::<Vec<_>>()
            .join(", ");
        let what = format!(
            "{} test ids are not known here and not used: {list}",
            unknown.len()
        );
        remarks.push(Remark::info("columns-not-recognised", what).at(place.clone()));
    }
    let mut names: Vec<String> = if has_geometry {
        PLACE.map(str::to_owned).to_vec()
    } else {
        Vec::new()
    };
    names.extend([SAMPLE.to_owned(), DEPTH.to_owned()]);
    names.extend(columns.keys().map(|(id, unit)| column_name(id, unit)));
    let rows = rows_of(reading, &columns, has_geometry, names.len());
    let settings = settings_of(settings, columns.keys(), place);
    ModusTable {
        names,
        rows,
        settings,
        has_geometry,
        remarks,
    }
}

fn column_name(id: &str, unit: &str) -> String {
    format!("{id} [{unit}]")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

fn settings_of<'k>(
    settings: &PointsSettings,
    columns: impl Iterator<Item = &'k (String, String)>,
    place: &Place,
) -> PointsSettings {
    let mut out = settings.clone();
    out.id = Some(SAMPLE.to_owned());
    out.x = None;
    out.y = None;
    if out.depths == Depths::Unknown {
        out.depths = Depths::Column {
            column: DEPTH.to_owned(),
            unit: None,
        };
    }
    out.columns = columns
        .filter_map(|(id, unit)| {
            let (analyte, method) = meaning_of_test(id)?;
            let name = Arc::from(column_name(id, unit));
            let unit = Some(unit.clone())
                .filter(|unit| !unit.is_empty() && !unit.eq_ignore_ascii_case("none"));
            Some((
                name,
                ColumnMeaning {
                    analyte,
                    method,
                    unit,
                    depth: None,
                    // The file itself says what its tests are, by the identifiers of the standard.
                    sure: true,
                    numbers: NumberForm::default(),
                    place: place.clone(),
                },
            ))
        })
        .collect();
    out.ignore = Vec::new();
    out
}

fn rows_of(
    reading: &Collector,
    columns: &BTreeMap<(String, String), usize>,
    has_geometry: bool,
    width: usize,
) -> TextRows {
    let mut rows = TextRows::default();
    for (at, sample) in reading.samples.iter().enumerate() {
        for (depth_id, results) in &sample.depths {
            let mut cells = vec![String::new(); width];
            let mut put = |index: usize, text: &str| {
                if let Some(cell) = cells.get_mut(index) {
                    text.clone_into(cell);
                }
            };
            let first = if has_geometry { 2 } else { 0 };
            if let (true, Some((x, y))) = (has_geometry, sample.place) {
                put(0, &x.to_string());
                put(1, &y.to_string());
            }
            put(first, sample.name.as_deref().unwrap_or(&sample.number));
            put(
                first + 1,
                reading.depth_ids.get(depth_id).map_or("", String::as_str),
            );
            for (id, unit, value) in results {
                if let Some(index) = columns.get(&(id.clone(), unit.clone())) {
                    put(*index, value);
                }
            }
            rows.push(at as u32 + 1, cells.iter().map(String::as_str));
        }
    }
    rows
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_list_of_tests_names_known_analytes_and_no_id_twice() {
        let mut ids: Vec<&String> = TESTS.test.iter().flat_map(|test| &test.ids).collect();
        let count = ids.len();
        assert!(
            TESTS
                .test
                .iter()
                .all(|test| test.is.parse::<Analyte>().is_ok())
        );
        ids.sort();
        ids.dedup();
        assert_eq!(ids.len(), count);
    }

    #[test]
    fn old_and_new_ids_of_one_test_are_one_method() {
        assert_eq!(
            meaning_of_test("S-P-B1-1:10.01.03"),
            meaning_of_test("L_MODV2_SOIL_P_053")
        );
        assert_ne!(
            meaning_of_test("S-P-B1-1:10.01.03"),
            meaning_of_test("S-P-B1-1:7.01.03")
        );
        assert_eq!(meaning_of_test("L_MODV2_SOIL_P_030"), None);
    }
}

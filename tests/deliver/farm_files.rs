//! The files of a whole farm against the map of each of its fields, in readers that are not ours.

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

use geo::{Contains, MultiPolygon, Point};
use lowstave::deliver::{Delivery, FarmField, FarmInput, farm_files};
use lowstave::farm::PieceRow;
use serde_json::{Map, Value, json};
use shapefile::dbase::FieldValue;

use super::outside_readers::isoxml_takes;
use super::task_data::{self, Package, half_a_step};
use super::tools::{is_missing, output_of, python};
use super::{Draws, Invented, delivered, delivery_in, geojson, shapefile as shapes, text_of};

const CARD: &str = "controller/taskdata.zip";
const MAP: &str = "prescription.geojson";
/// Most characters of a designator (ISO 11783-10).
const LONGEST: usize = 32;

type Zones = Vec<(Map<String, Value>, MultiPolygon<f64>)>;

/// The invented farm Three Alders as the program writes it, and where.
fn written() -> &'static (PathBuf, Delivery) {
    static FARM: OnceLock<(PathBuf, Delivery)> = OnceLock::new();
    FARM.get_or_init(|| {
        let out =
            Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("farm-{}", std::process::id()));
        let _ = std::fs::remove_dir_all(&out);
        let farm = format!(
            "{}/samples/three-alders/farm.toml",
            env!("CARGO_MANIFEST_DIR")
        );
        let mut program = Command::new(env!("CARGO_BIN_EXE_lowstave"));
        let ran = program
            .args(["farm", &farm, "--quiet", "--files", "rates", "--out"])
            .arg(&out)
            .output()
            .unwrap();
        assert!(
            matches!(ran.status.code(), Some(0 | 1)),
            "{}",
            String::from_utf8_lossy(&ran.stderr)
        );
        let files = delivery_in(&out);
        (out, files)
    })
}

/// The files of the invented farm.
pub fn farm() -> &'static Delivery {
    &written().1
}

/// Each field's own map: the name of its folder, the text, the zones.
fn maps() -> Vec<(String, String, Zones)> {
    let mut paths: Vec<&str> = farm().files.iter().map(|file| &file.path[..]).collect();
    paths.sort_unstable();
    let maps = paths.into_iter().filter_map(|path| {
        let id = path.strip_prefix("fields/")?.strip_suffix(MAP)?;
        let text = text_of(farm(), path);
        let zones = geojson::zones(&text);
        Some((id.trim_end_matches('/').to_owned(), text, zones))
    });
    maps.collect()
}

/// A thousand places over the fields of the farm and a little round them.
fn places() -> Vec<Point<f64>> {
    let maps = maps();
    let mut places: Vec<Point<f64>> = Vec::new();
    for (at, (_, text, _)) in maps.iter().enumerate() {
        let more = geojson::thousand_places(text, &mut Draws(at as u64 + 5));
        let count = 1_000 * (at + 1) / maps.len() - 1_000 * at / maps.len();
        places.extend(more.into_iter().take(count));
    }
    places
}

/// What a field's own map says at a place.
fn said<'a>(zones: &'a Zones, place: &Point<f64>) -> Option<&'a Map<String, Value>> {
    let found = zones.iter().find(|(_, outline)| outline.contains(place));
    found.map(|(properties, _)| properties)
}

fn named(package: &Package, element: &str) -> BTreeMap<String, task_data::Attributes> {
    let of = package.named.iter().filter(|(name, _)| name == element);
    of.map(|(_, attributes)| (attributes["A"].clone(), attributes.clone()))
        .collect()
}

#[test]
fn rates_at_a_thousand_places_of_the_card_are_those_of_each_fields_map() {
    let package = task_data::open(farm().get(CARD).expect("one card"));
    let (maps, places) = (maps(), places());
    assert_eq!((maps.len(), places.len()), (3, 1_000));
    let (mut task, mut inside) = (0, 0);
    for (id, _, zones) in &maps {
        for property in geojson::used_rate_names(zones) {
            for place in &places {
                let properties = said(zones, place);
                let expected = properties.map_or(0.0, |said| said[&property].as_f64().unwrap());
                let found = package.rate(task, *place);
                assert!(
                    (found - expected).abs() <= half_a_step(&property),
                    "{id}, {property} at {place:?}: {found}, not {expected}"
                );
                inside += usize::from(properties.is_some());
            }
            task += 1;
        }
    }
    assert_eq!(task, package.tasks.len(), "a task per field and product");
    assert!(inside > 500 && task >= 3, "{inside} in {task} tasks");
}

#[test]
fn rates_at_a_thousand_places_of_the_shapefiles_are_those_of_each_fields_map() {
    let (maps, places) = (maps(), places());
    let used = maps
        .iter()
        .flat_map(|(_, _, zones)| geojson::used_rate_names(zones));
    let used: BTreeSet<String> = used.collect();
    let mut inside = 0;
    for property in &used {
        let (outlines, rows) = (
            shapes::polygons(farm(), property),
            shapes::rows(farm(), property),
        );
        assert_eq!(outlines.len(), rows.len());
        for place in &places {
            let fields = maps
                .iter()
                .filter(|(_, _, zones)| geojson::used_rate_names(zones).contains(property));
            let expected: Vec<f64> = fields
                .filter_map(|(_, _, zones)| said(zones, place)?[property].as_f64())
                .collect();
            let found = outlines
                .iter()
                .zip(&rows)
                .filter(|(shape, _)| shape.contains(place));
            let found: Vec<f64> = found.map(|(_, row)| shapes::number(row, "RATE")).collect();
            assert_eq!(found, expected, "{property} at {place:?}");
            inside += found.len();
        }
        for row in &rows {
            assert!(
                matches!(row.get("FIELD"), Some(FieldValue::Character(Some(name))) if !name.is_empty())
            );
            assert_eq!(shapes::number(row, "SEASON"), 2027.0);
        }
    }
    assert!(inside > 500, "{inside}");
}

/// What geopandas finds in `zones.parquet` and, by GDAL, in the shapefiles at some places.
const LOOK_UP: &str = r#"
import sys, json, geopandas
from shapely import Point
out, places = sys.argv[1], json.load(open(sys.argv[2]))
zones = geopandas.read_parquet(f"{out}/zones.parquet")
count = 0
for lon, lat, expected in places:
    rows = zones[zones.contains(Point(lon, lat))]
    found = {row.field_id: dict(row.rates) for row in rows.itertuples()}
    assert found == expected, (lon, lat, found, expected)
    count += len(found)
print("looked up", len(places), count)
"#;

#[test]
fn rates_at_a_thousand_places_of_the_table_of_zones_are_those_of_each_fields_map() {
    let python = python();
    let has_packages = Command::new(&python)
        .args(["-c", "import geopandas, pyarrow"])
        .output()
        .is_ok_and(|ran| ran.status.success());
    if !has_packages {
        return is_missing("geopandas or pyarrow");
    }
    let maps = maps();
    let mut inside = 0;
    let rates = |zones: &Zones, place: &Point<f64>| {
        let properties = said(zones, place)?;
        let rates = geojson::rate_names(zones).into_iter();
        let rates = rates.map(|name| (name.clone(), properties[&name].clone()));
        Some(Value::Object(rates.collect()))
    };
    let lines = places().into_iter().map(|place| {
        let found = maps
            .iter()
            .filter_map(|(id, _, zones)| Some((id.clone(), rates(zones, &place)?)));
        let found: Map<String, Value> = found.collect();
        inside += found.len();
        json!([place.x(), place.y(), found])
    });
    let lines: Vec<Value> = lines.collect();
    assert!(inside > 500, "{inside}");
    let folder = tempfile::tempdir().unwrap();
    let list = folder.path().join("places.json");
    std::fs::write(&list, serde_json::to_string(&lines).unwrap()).unwrap();
    let mut command = Command::new(&python);
    let ran = output_of(command.args(["-c", LOOK_UP]).arg(&written().0).arg(&list)).unwrap();
    let told = String::from_utf8_lossy(&ran.stdout);
    assert!(
        ran.status.success(),
        "{}",
        String::from_utf8_lossy(&ran.stderr)
    );
    assert_eq!(told.trim(), format!("looked up 1000 {inside}"));
}

#[test]
fn the_card_names_customer_farm_and_every_field_and_its_own_reader_takes_it() {
    let package = task_data::open(farm().get(CARD).unwrap());
    let (customers, farms, fields) = (
        named(&package, "CTR"),
        named(&package, "FRM"),
        named(&package, "PFD"),
    );
    let with_rates = maps()
        .iter()
        .filter(|(_, _, zones)| !geojson::used_rate_names(zones).is_empty())
        .count();
    assert!(with_rates >= 2);
    assert_eq!(
        (customers.len(), farms.len(), fields.len()),
        (1, 1, with_rates)
    );
    assert_eq!(farms["FRM1"]["B"], "Three Alders");
    assert_eq!(farms["FRM1"]["I"], "CTR1");
    let outlines = package
        .named
        .iter()
        .filter(|(name, _)| name == "PLN")
        .count();
    assert!(outlines >= fields.len(), "every field has its outline");
    for task in &package.tasks {
        let (name, field) = (&task.attributes["B"], &fields[&task.attributes["E"]]);
        assert!(
            name.starts_with(&field["C"]) && name.ends_with(" 2027"),
            "{name}: {field:?}"
        );
        assert_eq!(
            (&task.attributes["C"][..], &task.attributes["D"][..]),
            ("CTR1", "FRM1")
        );
        assert!(
            task.zones.iter().any(|zone| zone.raw > 0),
            "{name} has no rate"
        );
    }
    isoxml_takes(&written().0.join(CARD));
}

/// The amounts of the bill against rates and areas of the maps: areas on the ellipsoid by another library (Karney 2013 in `geo`).
#[test]
fn the_bill_is_the_sum_of_rates_over_the_maps() {
    use geo::GeodesicArea;
    const ACRE_M2: f64 = 4_046.856_422_4;
    let mut sums: BTreeMap<String, f64> = BTreeMap::new();
    for (_, _, zones) in maps() {
        for property in geojson::used_rate_names(&zones) {
            let amounts = zones.iter().map(|(properties, outline)| {
                properties[&property].as_f64().unwrap() * outline.geodesic_area_unsigned() / ACRE_M2
            });
            *sums.entry(property).or_default() += amounts.sum::<f64>();
        }
    }
    let bill = text_of(farm(), "bill.csv");
    let cell = |line: &str, at: usize| line.split(',').nth(at).unwrap_or_default().to_owned();
    let number = |line: &str, at: usize| cell(line, at).parse::<f64>().unwrap_or_default();
    let (mut bought, mut of_fields): (BTreeMap<String, f64>, BTreeMap<String, f64>) =
        Default::default();
    for line in bill.lines().skip(1) {
        match &cell(line, 0)[..] {
            "buy" => *bought.entry(cell(line, 2)).or_default() += number(line, 3),
            "field" => *of_fields.entry(cell(line, 2)).or_default() += number(line, 3),
            _ => {}
        }
    }
    assert!(
        !bought.is_empty() && bought.len() == of_fields.len(),
        "{bill}"
    );
    for (item, amount) in &bought {
        assert!(
            (amount - of_fields[item]).abs() <= 0.02,
            "{item}: {amount}\n{bill}"
        );
    }
    for (property, item) in [("lime_lb_ac", "calcitic lime"), ("gypsum_lb_ac", "gypsum")] {
        let (sum, amount) = (sums[property], bought[item]);
        assert!(
            (sum - amount).abs() <= 5e-4 * amount,
            "{property}: {sum} by the maps, {amount} to buy"
        );
    }
}

/// The invented field again and again under other names.
fn repeated(
    facts: &lowstave::deliver::FieldFacts,
    pieces: &[PieceRow],
    names: &[(String, String)],
) -> Vec<lowstave::deliver::OutputFile> {
    let fields = names.iter().map(|(id, field)| FarmField {
        id,
        field,
        crop: "corn",
        season: 2027,
        area_ha: 1.0,
        area_ac: 2.47,
        facts,
        outlines: pieces.iter().map(|piece| &piece.parts[..]).collect(),
    });
    let input = FarmInput {
        farm: "Made Up",
        grower: None,
        prepared_by: None,
        date: None,
        units: facts.units,
        fields: fields.collect(),
        problems: Vec::new(),
        shared: None,
        stock: Vec::new(),
    };
    farm_files(&input).expect("the files can be made")
}

fn many(count: usize) -> Vec<(String, String)> {
    let name = |at: usize| format!("Long meadow behind the old creamery number {at}");
    (0..count)
        .map(|at| (format!("field-{at}"), name(at)))
        .collect()
}

#[test]
fn names_of_many_fields_are_cut_at_whole_words_and_stay_apart() {
    let delivery = delivered(&Invented::small());
    let files = repeated(
        &delivery.facts,
        &PieceRow::all(&delivery).unwrap(),
        &many(60),
    );
    let card = files
        .iter()
        .find(|file| file.path == CARD)
        .expect("one card");
    let package = task_data::open(&card.bytes);
    assert_eq!(package.tasks.len(), 60 * delivery.facts.products.len());
    let names: BTreeSet<&str> = package
        .tasks
        .iter()
        .map(|task| &task.attributes["B"][..])
        .collect();
    assert_eq!(
        names.len(),
        package.tasks.len(),
        "every task has a name of its own"
    );
    let words: BTreeSet<&str> = "Long meadow behind the old creamery number"
        .split(' ')
        .collect();
    for name in names {
        assert!(
            name.chars().count() <= LONGEST && name.ends_with(" 2027"),
            "{name}"
        );
        let first = name
            .split(' ')
            .take_while(|word| words.contains(word))
            .count();
        assert!(first >= 1, "{name} begins with whole words of its field");
    }
    let fields = named(&package, "PFD");
    assert_eq!(
        (fields.len(), named(&package, "PDT").len()),
        (60, delivery.facts.products.len())
    );
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("taskdata.zip");
    std::fs::write(&path, &card.bytes).unwrap();
    isoxml_takes(&path);
}

#[test]
fn more_than_a_card_should_hold_comes_in_several_that_hold_every_task_once() {
    let delivery = delivered(&Invented::small());
    let mut pieces = PieceRow::all(&delivery).unwrap();
    // The same outlines with many more places on their edges.
    for ring in pieces
        .iter_mut()
        .flat_map(|piece| piece.parts.iter_mut().flatten())
    {
        let edges: Vec<_> = ring.windows(2).map(|pair| (pair[0], pair[1])).collect();
        let last = ring.last().copied();
        let steps = 4_000 / edges.len().max(1);
        *ring = edges
            .into_iter()
            .flat_map(|(a, b)| {
                (0..steps.max(1)).map(move |step| {
                    let share = step as f64 / steps.max(1) as f64;
                    [a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share]
                })
            })
            .chain(last)
            .collect();
    }
    let files = repeated(&delivery.facts, &pieces, &many(6));
    let cards: Vec<_> = files
        .iter()
        .filter(|file| file.path.starts_with("controller/taskdata"))
        .collect();
    let paths: Vec<&str> = cards.iter().map(|file| &file.path[..]).collect();
    assert_eq!(
        paths[..2],
        ["controller/taskdata-1.zip", "controller/taskdata-2.zip"]
    );
    let mut names = BTreeSet::new();
    for card in &cards {
        let package = task_data::open(&card.bytes);
        assert!(package.files["TASKDATA/TASKDATA.XML"].len() < 26_000_000);
        assert_eq!(package.tasks[0].attributes["A"], "TSK1");
        names.extend(
            package
                .tasks
                .into_iter()
                .map(|task| task.attributes["B"].clone()),
        );
    }
    assert_eq!(names.len(), 6 * delivery.facts.products.len());
    let text = files.iter().find(|file| file.path == "farm.txt").unwrap();
    let text = String::from_utf8_lossy(&text.bytes);
    assert!(text.contains("taskdata-1.zip to"), "{text}");
}

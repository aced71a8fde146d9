//! A farm's tables in geopandas and pyarrow, and a table of fields that pyarrow wrote.

use std::fs;
use std::path::Path;
use std::process::Command;

use lowstave::Files;
use lowstave::farm::{self, Farm, FarmOptions, FarmResult, FarmWatch, FieldFiles, JoinOptions};

use crate::tools::{is_missing, python};

#[path = "../../samples/three-alders/generate.rs"]
mod generate;

struct Unwatched;

impl FarmWatch for Unwatched {}

const TOP: &str = "season = 2027\nunits = \"us\"\n";
const TABLES: &str =
    "\n[grid]\ncell = \"10 m\"\n\n[zones]\ncount = \"auto\"\nsmallest = \"1 ac\"\n";

fn run(folder: &Path, farm_file: &str, out: &str, files: FieldFiles) -> FarmResult {
    let farm = Farm::open(
        &Files::folder(folder),
        Some(Path::new(farm_file)),
        "made up",
    )
    .unwrap();
    let options = FarmOptions {
        farm: farm_file.to_owned(),
        files,
        resume: false,
        part: None,
        threads: 2,
        overwrite_edited: false,
    };
    let out = folder.join(out);
    farm::work(&farm, &out, &options, &Unwatched).unwrap();
    let options = JoinOptions {
        threads: 2,
        overwrite_edited: false,
    };
    farm::join(&farm, &out, options, &Unwatched).unwrap()
}

/// Runs a script; `None` where Python or its packages are not there.
fn script(folder: &Path, text: &str) -> Option<String> {
    let python = python();
    let has_packages = Command::new(&python)
        .args(["-c", "import geopandas, pyarrow"])
        .output()
        .is_ok_and(|ran| ran.status.success());
    if !has_packages {
        is_missing("geopandas or pyarrow");
        return None;
    }
    let ran = Command::new(&python)
        .args(["-c", text])
        .current_dir(folder)
        .output()
        .unwrap();
    assert!(
        ran.status.success(),
        "{}",
        String::from_utf8_lossy(&ran.stderr)
    );
    Some(String::from_utf8(ran.stdout).unwrap())
}

fn write_farm(folder: &Path) {
    let files = generate::fields()
        .into_iter()
        .flat_map(|field| field.files());
    for (name, text) in files {
        let text = if name.ends_with("plan.toml") {
            format!("{TOP}{text}{TABLES}")
        } else {
            text
        };
        let path = folder.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
    fs::write(
        folder.join("farm.toml"),
        "farm = \"Made Up\"\nfields = [\"*/plan.toml\"]\n",
    )
    .unwrap();
}

/// Zones, rates and shapes of the table are those of each field's own map, as geopandas reads both.
const COMPARE: &str = r#"
import geopandas, pyarrow.parquet as pq, json
table = geopandas.read_parquet("out/zones.parquet")
assert table.crs.to_authority() == ("OGC", "CRS84"), table.crs
assert table.is_valid.all() and (table.geom_type == "MultiPolygon").all()
count = 0
for name, rows in table.groupby("field_id", sort=False):
    own = json.load(open(f"out/fields/{name}/prescription.geojson"))["features"]
    shapes = geopandas.GeoSeries.from_file(f"out/fields/{name}/prescription.geojson")
    assert len(own) == len(rows), name
    for feature, shape, (_, row) in zip(own, shapes, rows.iterrows()):
        said = feature["properties"]
        assert row.geometry.equals(shape) and row.zone == said["zone"], name
        rates = dict(row.rates)
        assert rates and all(said[key] == rate for key, rate in rates.items()), (rates, said)
        assert [row.limit_1, row.reason, row.do_first, list(row.not_known)] == [said["limit_1"], said["reason"], said["do_first"], said["not_known"]]
        count += 1
box = table.iloc[0].geometry.bounds
found = geopandas.read_parquet("out/zones.parquet", bbox=box)
assert 0 < len(found) < len(table), (len(found), len(table))
fields = pq.read_table("out/fields.parquet").to_pylist()
print(count, *[f"{field['field_id']}:{field['code']}:{field['zones']}" for field in fields])
assert fields[1]["code"] == 2 and "cores.csv" in fields[1]["error"] and fields[1]["totals"] == [], fields[1]
"#;

#[test]
fn geopandas_and_pyarrow_read_the_tables_as_each_fields_own_map() {
    let folder = tempfile::tempdir().unwrap();
    write_farm(folder.path());
    fs::remove_file(folder.path().join("home/cores.csv")).unwrap();
    let result = run(folder.path(), "farm.toml", "out", FieldFiles::Rates);
    assert_eq!((result.records.len(), result.without_result()), (2, 1));
    if let Some(told) = script(folder.path(), COMPARE) {
        println!("{told}");
        assert!(told.contains("home:2:None"), "{told}");
    }
}

/// A row a field, with the text of its plan and a map of its files.
const MAKE: &str = r#"
import pyarrow as pa, pyarrow.parquet as pq, pathlib
rows = []
for plan in sorted(pathlib.Path(".").glob("*/plan.toml")):
    files = [(name, (plan.parent / name).read_bytes()) for name in ("boundary.geojson", "cores.csv")]
    rows.append((plan.parent.name, plan.read_text(), files))
schema = pa.schema([("field_id", pa.string()), ("plan", pa.string()), ("files", pa.map_(pa.string(), pa.binary()))])
columns = [pa.array([row[at] for row in rows], schema.field(at).type) for at in range(3)]
pq.write_table(pa.table(columns, schema=schema), "fields.parquet", row_group_size=2, compression="zstd")
"#;

#[test]
fn a_table_that_holds_plans_and_files_gives_the_zones_of_the_folder() {
    let folder = tempfile::tempdir().unwrap();
    write_farm(folder.path());
    if script(folder.path(), MAKE).is_none() {
        return;
    }
    let by_table = "farm = \"Made Up\"\nfields = { table = \"fields.parquet\" }\n";
    fs::write(folder.path().join("table.toml"), by_table).unwrap();
    run(folder.path(), "farm.toml", "by_folder", FieldFiles::None);
    run(folder.path(), "table.toml", "by_table", FieldFiles::None);
    let of = |out: &str| fs::read(folder.path().join(out).join("zones.parquet")).unwrap();
    assert!(of("by_folder") == of("by_table"));
}

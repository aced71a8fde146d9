//! The plan as typed: which tables and keys there are, and of which type. Nothing here is checked against anything else.

use super::past_settings::PastTable;
use super::people::PeopleTable;
use super::points_table::PointsTable;
use super::read_texts::read_texts;
use super::reading::{AutoOr, Item, TableReader, Typed, Written};
use super::results_table::ResultsTable;
use super::strips_table::StripsTable;
use super::supply::ShedTable;
use crate::provenance::Place;

/// The whole plan file as typed.
pub(super) struct PlanFile {
    pub place: Place,
    pub field: Typed<String>,
    pub season: Typed<u64>,
    pub crop: Typed<String>,
    pub units: Typed<String>,
    pub organic_carbon: Typed<String>,
    pub below_detection: Typed<String>,
    pub bulk_density: Typed<String>,
    pub boundary: Typed<BoundaryTable>,
    pub keep_outs: Vec<KeepOutTable>,
    pub points: Typed<Vec<PointsTable>>,
    pub grid: GridTable,
    pub surface: SurfaceTable,
    pub zones: ZonesTable,
    pub machine: MachineTable,
    pub rules: Typed<RulesTable>,
    pub prices: Vec<(Written<String>, Written<String>)>,
    pub budget: Typed<BudgetTable>,
    pub overrides: Vec<OverrideTable>,
    pub people: PeopleTable,
    pub limits: LimitsTable,
    pub strips: Typed<StripsTable>,
    pub results: Vec<ResultsTable>,
    pub past: PastTable,
    pub region: Typed<String>,
    pub yield_goals: Vec<(Written<String>, Written<String>)>,
    pub last_harvests: Vec<(Written<String>, Written<String>)>,
    pub shed: ShedTable,
}

pub(super) struct BoundaryTable {
    pub place: Place,
    pub file: Typed<String>,
    pub crs: Typed<String>,
    pub choose: Typed<ChooseTable>,
    pub layer: Typed<String>,
}

pub(super) struct ChooseTable {
    pub place: Place,
    pub attribute: Typed<String>,
    pub is: Typed<String>,
    pub number: Typed<u64>,
    pub all: Typed<bool>,
}

pub(super) struct KeepOutTable {
    pub place: Place,
    pub file: Typed<String>,
    pub crs: Typed<String>,
    pub distance: Typed<String>,
    pub why: Typed<String>,
}

#[derive(Default)]
pub(super) struct GridTable {
    pub cell: Typed<String>,
}

#[derive(Default)]
pub(super) struct SurfaceTable {
    pub power: Typed<AutoOr>,
    pub neighbours: Typed<AutoOr>,
}

#[derive(Default)]
pub(super) struct ZonesTable {
    pub count: Typed<AutoOr>,
    pub layers: Typed<Vec<LayerEntry>>,
    pub smallest: Typed<String>,
    pub method: Typed<String>,
    pub fuzziness: Typed<f64>,
    pub seed: Typed<u64>,
    pub tolerance: Typed<String>,
    pub components: Typed<bool>,
    pub shape: Typed<String>,
}

/// `"ph"` or `{ layer = "ph", weight = 2 }`.
pub(super) struct LayerEntry {
    pub place: Place,
    pub layer: Typed<String>,
    pub weight: Typed<f64>,
}

#[derive(Default)]
pub(super) struct MachineTable {
    pub swath: Typed<String>,
    pub row_spacing: Typed<String>,
    pub heading: Typed<f64>,
    pub speed: Typed<String>,
    pub tank: Typed<String>,
    pub flow_per_row: Typed<Vec<String>>,
    pub liquid_step: Typed<String>,
    pub dry_step: Typed<String>,
    pub passes: Typed<u64>,
}

pub(super) struct RulesTable {
    pub place: Place,
    pub file: Typed<String>,
}

pub(super) struct BudgetTable {
    pub place: Place,
    pub limit: Typed<String>,
    pub interest: Typed<f64>,
}

/// What the work may take of the machine.
#[derive(Default)]
pub(super) struct LimitsTable {
    pub memory: Typed<String>,
    pub disk: Typed<String>,
    pub time: Typed<String>,
}

pub(super) struct OverrideTable {
    pub place: Place,
    pub zone: Typed<u64>,
    pub at: Typed<Vec<f64>>,
    pub inside: Typed<Vec<Vec<f64>>>,
    pub product: Typed<String>,
    pub rate: Typed<String>,
    pub why: Typed<String>,
    pub force: Typed<bool>,
}

impl PlanFile {
    /// Reads every table; problems are noted in the reader's document.
    pub(super) fn read(mut root: TableReader<'_>) -> Self {
        let place = root.place();
        let plan = Self {
            place,
            field: root.text("field", "\"Alder Flat\""),
            season: root.whole("season", "season = 2027, a year without quotes"),
            crop: root.text("crop", "\"corn\""),
            units: root.text("units", "\"us\" or \"metric\""),
            boundary: table(&mut root, "boundary", BoundaryTable::read),
            keep_outs: read_tables(&mut root, "keep_out", KeepOutTable::read).into_value(),
            points: read_tables(&mut root, "points", PointsTable::read),
            grid: table(&mut root, "grid", GridTable::read).into_value(),
            surface: table(&mut root, "surface", SurfaceTable::read).into_value(),
            zones: table(&mut root, "zones", ZonesTable::read).into_value(),
            machine: table(&mut root, "machine", MachineTable::read).into_value(),
            rules: table(&mut root, "rules", RulesTable::read),
            prices: read_prices(&mut root),
            budget: table(&mut root, "budget", BudgetTable::read),
            overrides: read_tables(&mut root, "override", OverrideTable::read).into_value(),
            people: table(&mut root, "people", PeopleTable::read).into_value(),
            results: read_tables(&mut root, "results", ResultsTable::read).into_value(),
            past: table(&mut root, "past", PastTable::read).into_value(),
            strips: table(&mut root, "strips", StripsTable::read),
            limits: table(&mut root, "limits", LimitsTable::read).into_value(),
            region: root.text("region", "\"tri-state\""),
            yield_goals: read_yields(&mut root, "yield_goal", example("yield_goal")),
            last_harvests: read_yields(&mut root, "last_harvest", example("last_harvest")),
            shed: table(&mut root, "shed", ShedTable::read).into_value(),
            organic_carbon: root.text("organic_carbon", "\"from organic matter\""),
            below_detection: root.text("below_detection", "\"half\""),
            bulk_density: root.text("bulk_density", "\"1.3 g/cm3\""),
        };
        root.finish();
        plan
    }
}

impl BoundaryTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            place: table.place(),
            file: table.text("file", "\"boundary.geojson\""),
            crs: table.text("crs", "\"EPSG:4326\""),
            choose: read_table(
                &mut table,
                "choose",
                "choose = { attribute = \"NAME\", is = \"Alder Flat\" }",
                ChooseTable::read,
            ),
            layer: table.text("layer", "\"fields\", a layer of the GeoPackage"),
        };
        table.finish();
        read
    }
}

impl ChooseTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            place: table.place(),
            attribute: table.text("attribute", "\"NAME\""),
            is: table.text("is", "\"Alder Flat\" (in quotes)"),
            number: table.whole("number", "number = 2, the shape's number without quotes"),
            all: table.flag("all"),
        };
        table.finish();
        read
    }
}

impl KeepOutTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            place: table.place(),
            file: table.text("file", "\"creek.geojson\""),
            crs: table.text("crs", "\"EPSG:4326\""),
            distance: table.text("distance", "\"33 ft\""),
            why: table.text("why", "\"setback from water\""),
        };
        table.finish();
        read
    }
}

fn read_prices(root: &mut TableReader<'_>) -> Vec<(Written<String>, Written<String>)> {
    let prices = root
        .table(
            "prices",
            "[prices] and below it lines such as gypsum = \"45 USD/ton\"",
        )
        .into_given();
    prices
        .map(|table| read_texts(&table, "a price such as \"45 USD/ton\""))
        .unwrap_or_default()
}

/// Yields by crop.
fn read_yields(
    root: &mut TableReader<'_>,
    key: &'static str,
    wanted: &str,
) -> Vec<(Written<String>, Written<String>)> {
    let yields = root.table(key, wanted).into_given();
    yields
        .map(|table| read_texts(&table, "a yield such as \"180 bu/ac\""))
        .unwrap_or_default()
}

impl GridTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            cell: table.text("cell", "\"5 m\""),
        };
        table.finish();
        read
    }
}

impl SurfaceTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            power: table.auto_or_number("power"),
            neighbours: table.auto_or_number("neighbours"),
        };
        table.finish();
        read
    }
}

impl ZonesTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            count: table.auto_or_number("count"),
            layers: read_layers(&mut table),
            smallest: table.text("smallest", "\"0.5 ac\""),
            method: table.text("method", "\"k-means\" or \"fuzzy c-means\""),
            fuzziness: table.number("fuzziness", "fuzziness = 1.5, a number without quotes"),
            seed: table.whole("seed", "seed = 1, a whole number without quotes"),
            tolerance: table.text("tolerance", "\"2 m\""),
            components: table.flag("components"),
            shape: table.text("shape", "\"smooth\" or \"along passes\""),
        };
        table.finish();
        read
    }
}

fn read_layers(table: &mut TableReader<'_>) -> Typed<Vec<LayerEntry>> {
    let wanted = "layers = [\"ph\", \"cn_ratio\"], a list of analytes";
    table
        .items("layers", wanted)
        .map(|items| items.iter().filter_map(LayerEntry::read).collect())
}

impl LayerEntry {
    fn read(item: &Item<'_>) -> Option<Self> {
        if let Some(name) = item.as_text() {
            return Some(Self {
                place: name.place.clone(),
                layer: Typed::Given(name),
                weight: Typed::Absent,
            });
        }
        let Some(mut table) = item.as_table() else {
            item.refuse("an analyte such as \"ph\", or { layer = \"ph\", weight = 2 }");
            return None;
        };
        let read = Self {
            place: table.place(),
            layer: table.text("layer", "\"ph\""),
            weight: table.number("weight", "weight = 2, a number without quotes"),
        };
        table.finish();
        Some(read)
    }
}

impl MachineTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            swath: table.text("swath", "\"40 ft\""),
            row_spacing: table.text("row_spacing", "\"30 in\""),
            heading: table.number("heading", "heading = 0, degrees from north without quotes"),
            speed: table.text("speed", "\"5 mph\""),
            tank: table.text("tank", "\"400 gal\""),
            flow_per_row: table.texts(
                "flow_per_row",
                "flow_per_row = [\"0.03 gal/min\", \"0.30 gal/min\"], least and most",
            ),
            liquid_step: table.text("liquid_step", "\"0.1 gal/ac\""),
            dry_step: table.text("dry_step", "\"10 lb/ac\""),
            passes: table.whole("passes", "passes = 2, a whole number without quotes"),
        };
        table.finish();
        read
    }
}

impl RulesTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            place: table.place(),
            file: table.text("file", "\"my-rules.toml\""),
        };
        table.finish();
        read
    }
}

impl BudgetTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            place: table.place(),
            limit: table.text("limit", "\"60 USD/ac\""),
            interest: table.number("interest", "interest = 6, percent a year without quotes"),
        };
        table.finish();
        read
    }
}

impl LimitsTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            memory: table.text("memory", "\"4 GB\""),
            disk: table.text("disk", "\"2 GB\""),
            time: table.text("time", "\"1 h\""),
        };
        table.finish();
        read
    }
}

impl OverrideTable {
    fn read(mut table: TableReader<'_>) -> Self {
        let read = Self {
            place: table.place(),
            zone: table.whole("zone", "zone = 3, the number on the map without quotes"),
            at: table.numbers("at", "at = [-83.61, 40.91], longitude and latitude"),
            inside: table.lists_of_numbers(
                "inside",
                "inside = [[-83.61, 40.91], [-83.60, 40.91], [-83.60, 40.92]], the corners of a drawn place",
            ),
            product: table.text("product", "\"starter\""),
            rate: table.text("rate", "\"4 gal/ac\""),
            why: table.text("why", "\"old feedlot, seen on foot\""),
            force: table.flag("force"),
        };
        table.finish();
        read
    }
}

/// How each table of a plan is written, for whoever wrote it otherwise.
const EXAMPLES: [(&str, &str); 14] = [
    ("grid", "[grid] and below it cell = \"5 m\""),
    ("surface", "[surface] and its keys below it"),
    ("zones", "[zones] and its keys below it"),
    ("machine", "[machine] and its keys below it"),
    ("people", "[people] and its keys below it"),
    ("past", "[past] and below it runs = [\"../2027/out\"]"),
    ("limits", "[limits] and below it memory = \"4 GB\""),
    ("shed", "[shed] and its keys below it"),
    ("boundary", "boundary = { file = \"boundary.geojson\" }"),
    ("rules", "[rules] and below it file = \"my-rules.toml\""),
    ("budget", "[budget] and below it limit = \"60 USD/ac\""),
    ("strips", "[strips] and below it products = [\"starter\"]"),
    (
        "yield_goal",
        "[yield_goal] and below it lines such as corn = \"180 bu/ac\"",
    ),
    (
        "last_harvest",
        "[last_harvest] and below it lines such as soybean = \"52 bu/ac\"",
    ),
];

fn example(key: &str) -> &'static str {
    let known = EXAMPLES.iter().find(|(name, _)| *name == key);
    known.map_or("", |(_, example)| example)
}

fn table<T>(
    root: &mut TableReader<'_>,
    key: &'static str,
    read: impl FnOnce(TableReader<'_>) -> T,
) -> Typed<T> {
    read_table(root, key, example(key), read)
}

fn read_table<T>(
    from: &mut TableReader<'_>,
    key: &'static str,
    wanted: &str,
    read: impl FnOnce(TableReader<'_>) -> T,
) -> Typed<T> {
    from.table(key, wanted).map(read)
}

fn read_tables<T>(
    from: &mut TableReader<'_>,
    key: &'static str,
    read: impl Fn(TableReader<'_>) -> T,
) -> Typed<Vec<T>> {
    from.tables(key)
        .map(|tables| tables.into_iter().map(read).collect())
}

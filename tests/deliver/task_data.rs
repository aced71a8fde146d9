//! The task data read back from its XML (quick-xml) and its grids, without our writer's code.

use std::collections::HashMap;
use std::io::{Cursor, Read};

use geo::{Contains, Point, Polygon};
use lowstave::deliver::{DeliverOptions, Delivery, TaskDataForm, prepare};
use quick_xml::events::{BytesStart, Event};

use super::{Draws, Invented, geojson, text_of};

pub type Attributes = HashMap<String, String>;

/// A treatment zone: its outline, where it has one, and the raw value of its one rate.
#[derive(Debug, Default, Clone)]
pub struct TreatmentZone {
    code: usize,
    polygons: usize,
    rings: Vec<Vec<(f64, f64)>>,
    pub raw: i64,
}

#[derive(Debug, Default, Clone)]
pub struct Task {
    pub attributes: Attributes,
    pub zones: Vec<TreatmentZone>,
    grid: Option<Attributes>,
    /// Data dictionary entry of all its rates.
    entry: String,
}

pub struct Package {
    pub tasks: Vec<Task>,
    /// Every element before the tasks: its name and its attributes.
    pub named: Vec<(String, Attributes)>,
    scales: HashMap<String, f64>,
    pub files: HashMap<String, Vec<u8>>,
    presentation_of: Vec<String>,
}

fn attributes(element: &BytesStart<'_>) -> Attributes {
    let pair = |a: quick_xml::events::attributes::Attribute<'_>| {
        (a.key.as_ref().to_owned(), a.value.into_owned())
    };
    element.attributes().map(|a| pair(a.unwrap())).collect()
}

pub fn open(bytes: &[u8]) -> Package {
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes.to_vec())).expect("a zip");
    let mut files = HashMap::new();
    for at in 0..archive.len() {
        let mut file = archive.by_index(at).unwrap();
        let mut bytes: Vec<u8> = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        files.insert(file.name().expect("a plain name").into_owned(), bytes);
    }
    let xml = String::from_utf8(files["TASKDATA/TASKDATA.XML"].clone()).unwrap();
    let mut package = Package {
        tasks: Vec::new(),
        named: Vec::new(),
        scales: HashMap::new(),
        files,
        presentation_of: Vec::new(),
    };
    let mut reader = quick_xml::Reader::from_str(&xml);
    let mut is_in_task = false;
    loop {
        match reader.read_event().expect("well-formed XML") {
            Event::Eof => return package,
            Event::Start(element) | Event::Empty(element) => {
                take(&mut package, &element, &mut is_in_task);
            }
            _ => {}
        }
    }
}

fn take(package: &mut Package, element: &BytesStart<'_>, is_in_task: &mut bool) {
    let a = attributes(element);
    let name = element.name().as_ref().to_owned();
    if name == "VPN" {
        package
            .scales
            .insert(a["A"].clone(), a["C"].parse().unwrap());
        return;
    }
    if name == "TSK" {
        *is_in_task = true;
        package.tasks.push(Task {
            attributes: a,
            ..Task::default()
        });
        return;
    }
    if !*is_in_task {
        package.named.push((name, a));
        return;
    }
    let task = package.tasks.last_mut().unwrap();
    match name.as_str() {
        "TZN" => task.zones.push(TreatmentZone {
            code: a["A"].parse().unwrap(),
            ..TreatmentZone::default()
        }),
        "GRD" => task.grid = Some(a),
        "PLN" => task.zones.last_mut().unwrap().polygons += 1,
        "LSG" => task.zones.last_mut().unwrap().rings.push(Vec::new()),
        "PNT" => {
            let ring = task.zones.last_mut().unwrap().rings.last_mut().unwrap();
            ring.push((a["D"].parse().unwrap(), a["C"].parse().unwrap()));
        }
        "PDV" => {
            task.zones.last_mut().unwrap().raw = a["B"].parse().unwrap();
            assert!(
                task.entry.is_empty() || task.entry == a["A"],
                "one kind of rate in a task"
            );
            task.entry.clone_from(&a["A"]);
            if task.zones.len() == 1 {
                package.presentation_of.push(a["E"].clone());
            }
        }
        _ => {}
    }
}

impl Package {
    /// The rate of a task at a place, as the terminal would show it.
    pub fn rate(&self, task: usize, place: Point<f64>) -> f64 {
        let scale = self.scales[&self.presentation_of[task]];
        let task = &self.tasks[task];
        let raw = match &task.grid {
            None => task
                .zones
                .iter()
                .find(|zone| zone.contains(place))
                .map_or(0, |zone| zone.raw),
            Some(grid) => self.raw_in_grid(task, grid, place),
        };
        raw as f64 * scale
    }

    fn raw_in_grid(&self, task: &Task, grid: &Attributes, place: Point<f64>) -> i64 {
        let number = |key: &str| grid[key].parse::<f64>().unwrap();
        let (column, row) = (
            ((place.x() - number("B")) / number("D")).floor(),
            ((place.y() - number("A")) / number("C")).floor(),
        );
        let (columns, rows) = (number("E"), number("F"));
        if column < 0.0 || row < 0.0 || column >= columns || row >= rows {
            return 0;
        }
        let file = &self.files[&format!("TASKDATA/{}.bin", grid["G"])];
        let cell = row as usize * columns as usize + column as usize;
        if grid["I"] == "2" {
            return i64::from(i32::from_le_bytes(
                file[cell * 4..cell * 4 + 4].try_into().unwrap(),
            ));
        }
        task.zones
            .iter()
            .find(|zone| zone.code == usize::from(file[cell]))
            .expect("every code has a zone")
            .raw
    }
}

impl TreatmentZone {
    fn contains(&self, place: Point<f64>) -> bool {
        let mut rings = self
            .rings
            .iter()
            .map(|ring| ring.iter().copied().collect::<geo::LineString<f64>>());
        rings
            .next()
            .is_some_and(|outer| Polygon::new(outer, rings.collect()).contains(&place))
    }
}

/// Half a step of the data dictionary in the unit of a rate: 0.005 mm³/m² or 0.5 mg/m². Beyond it a hair for the printed scale.
pub fn half_a_step(property: &str) -> f64 {
    let steps = [
        ("_gal_ac", 5.346e-6),
        ("_l_ha", 5e-5),
        ("_lb_ac", 4.461e-3),
        ("_kg_ha", 5e-3),
    ];
    steps
        .iter()
        .find(|(end, _)| property.ends_with(end))
        .expect("a unit of a rate")
        .1
        * 1.001
}

/// Compares the rates of every task with the GeoJSON's at a thousand places, but not nearer to an edge than `away_m`; gives how many were
/// compared and how many of these lie in a zone.
pub fn compare(delivery: &Delivery, away_m: f64) -> (usize, usize) {
    let package = open(delivery.get("controller/taskdata.zip").unwrap());
    let map = text_of(delivery, "prescription.geojson");
    let zones = geojson::zones(&map);
    let properties = geojson::used_rate_names(&zones);
    assert_eq!(package.tasks.len(), properties.len());
    let (mut compared, mut inside) = (0, 0);
    for place in geojson::thousand_places(&map, &mut Draws(2)) {
        if away_m > 0.0
            && zones
                .iter()
                .any(|(_, outline)| edge_distance_m(outline, place) < away_m)
        {
            continue;
        }
        let zone = zones.iter().find(|(_, outline)| outline.contains(&place));
        compared += 1;
        inside += usize::from(zone.is_some());
        for (task, property) in properties.iter().enumerate() {
            let expected = zone.map_or(0.0, |(properties, _)| {
                properties[property].as_f64().unwrap()
            });
            let found = package.rate(task, place);
            assert!(
                (found - expected).abs() <= half_a_step(property),
                "{property} at {place:?}: {found}, not {expected}"
            );
        }
    }
    (compared, inside)
}

fn edge_distance_m(outline: &geo::MultiPolygon<f64>, place: Point<f64>) -> f64 {
    use geo::{Distance, Euclidean, MapCoords};
    // Degrees to metres on a sphere, near enough to stay away from edges.
    let metres = |c: geo::Coord<f64>| geo::Coord {
        x: (c.x - place.x()) * 111_320.0 * place.y().to_radians().cos(),
        y: (c.y - place.y()) * 111_320.0,
    };
    let rings = outline
        .iter()
        .flat_map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()));
    rings
        .map(|ring| Euclidean.distance(&Point::new(0.0, 0.0), &ring.map_coords(metres)))
        .fold(f64::INFINITY, f64::min)
}

#[test]
fn polygons_give_the_rates_of_the_geojson_at_a_thousand_places() {
    for invented in [Invented::small(), Invented::metric()] {
        let (compared, inside) = compare(&super::delivered(&invented), 0.0);
        assert!(compared == 1_000 && inside > 700, "{inside}");
    }
}

#[test]
fn a_grid_of_rates_gives_the_rates_of_the_geojson_away_from_edges() {
    // A cell of 5 m takes the rate at its centre: up to half its diagonal from an edge it may be the neighbour's.
    for invented in [Invented::small(), Invented::metric()] {
        let delivery = prepare(
            &invented.case(),
            &DeliverOptions {
                task_data: TaskDataForm::Grid,
                ..DeliverOptions::default()
            },
        )
        .unwrap();
        let (compared, inside) = compare(&delivery, 3.6);
        assert!(compared > 800 && inside > 600, "{compared}, {inside}");
    }
}

#[test]
fn more_parts_than_codes_fall_back_to_a_grid_of_codes() {
    let mut invented = Invented::small();
    // 260 small squares apart from each other become parts of zone 1 (index 2 of the clustering); only the package is looked at.
    let squares = (0..260).map(|k| {
        let (x, y) = (
            -97.118 + f64::from(k % 26) * 1e-5,
            41.2005 + f64::from(k / 26) * 1e-5,
        );
        geo::Rect::new((x, y), (x + 4e-6, y + 4e-6)).to_polygon()
    });
    invented.zones.zones[2].lonlat.0.extend(squares);
    let delivery = super::delivered(&invented);
    let package = open(delivery.get("controller/taskdata.zip").unwrap());
    for task in &package.tasks {
        assert_eq!(task.grid.as_ref().unwrap()["I"], "1");
        assert_eq!(
            task.zones.iter().map(|zone| zone.code).collect::<Vec<_>>(),
            [0, 1, 2, 3]
        );
    }
    let (compared, inside) = compare(&delivery, 3.6);
    assert!(compared > 600 && inside > 400, "{compared}, {inside}");
}

#[test]
fn the_example_value_of_five_gallons_is_the_published_one() {
    // 5 US gal/ac is 467 698 steps of 0.01 mm³/m² (DDI 1): 5 x 3.785411784e6 mm³ / 4046.8564224 m² / 0.01.
    let delivery = super::delivered(&Invented::small());
    let package = open(delivery.get("controller/taskdata.zip").unwrap());
    let raw: Vec<i64> = package.tasks[0].zones.iter().map(|zone| zone.raw).collect();
    assert!(raw.contains(&467_698), "{raw:?}");
}

/// ISO 11783-11, data dictionary (public export of 2025-01-21): DDI 1 is the setpoint of volume per area in steps of 0.01 mm³/m², DDI 6 the
/// setpoint of mass per area in steps of 1 mg/m².
#[test]
fn liquids_are_volumes_and_dry_products_masses_in_the_steps_of_the_data_dictionary() {
    let delivery = super::delivered(&Invented::small());
    let package = open(delivery.get("controller/taskdata.zip").unwrap());
    let entries: Vec<&str> = package
        .tasks
        .iter()
        .map(|task| task.entry.as_str())
        .collect();
    assert_eq!(entries, ["0001", "0006", "0006"], "starter, gypsum, lime");
    // 1,500 lb/ac is 1,500 x 453,592.37 mg / 4,046.856 422 4 m² = 168,127.7 mg/m².
    assert!(
        package.tasks[2]
            .zones
            .iter()
            .any(|zone| zone.raw == 168_128),
        "{:?}",
        package.tasks[2].zones
    );
    let grid = prepare(
        &Invented::small().case(),
        &DeliverOptions {
            task_data: TaskDataForm::Grid,
            ..DeliverOptions::default()
        },
    )
    .unwrap();
    let grid = open(grid.get("controller/taskdata.zip").unwrap());
    assert_eq!(
        grid.tasks
            .iter()
            .map(|task| task.entry.as_str())
            .collect::<Vec<_>>(),
        entries
    );
}

#[test]
fn texts_of_the_users_stay_inside_their_attributes() {
    let hostile = "\"/><TZN A=\"9\"><!-- & \u{1b}[31m ]]> a name of more than 32 letters";
    let mut invented = Invented::small();
    invented.settings.field = hostile.to_owned();
    invented.prescription.products[1].label = hostile.to_owned();
    let open_of = |invented: &Invented| {
        open(
            super::delivered(invented)
                .get("controller/taskdata.zip")
                .unwrap(),
        )
    };
    let (package, plain) = (open_of(&invented), open_of(&Invented::small()));
    let zones = |package: &Package| {
        package
            .tasks
            .iter()
            .map(|task| task.zones.len())
            .collect::<Vec<_>>()
    };
    assert_eq!(zones(&package), zones(&plain), "no element of its own");
    let xml = String::from_utf8(package.files["TASKDATA/TASKDATA.XML"].clone()).unwrap();
    assert!(
        xml.chars().all(|c| c == '\n' || !c.is_control())
            && xml.contains("&quot;/&gt;&lt;TZN A=&quot;9&quot;")
    );
}

#[test]
fn outside_position_lost_and_default_are_the_zone_of_rate_zero() {
    let delivery = super::delivered(&Invented::small());
    for task in open(delivery.get("controller/taskdata.zip").unwrap()).tasks {
        assert_eq!(
            ["H", "I", "J"].map(|key| task.attributes[key].as_str()),
            ["0", "0", "0"]
        );
        assert_eq!(
            (
                task.zones[0].code,
                task.zones[0].raw,
                task.zones[0].polygons
            ),
            (0, 0, 0)
        );
        assert!(
            task.zones.iter().skip(1).all(|zone| zone.polygons == 1),
            "one part per zone"
        );
    }
}

//! Inputs that are too long, too large or too odd to be written down.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;
use std::process::Command;

/// South-west corner and size of the good field, degrees.
const WEST: f64 = -96.5;
const SOUTH: f64 = 41.2;
const WIDTH: f64 = 0.005;
const HEIGHT: f64 = 0.004;

/// Makes what a case asks for by name.
pub fn write(path: &Path, what: &str) {
    match what {
        "nothing" => {}
        "a folder" => fs::create_dir(path).unwrap(),
        "a pipe without a writer" => {
            assert!(Command::new("mkfifo").arg(path).status().unwrap().success());
        }
        "an endless device" => std::os::unix::fs::symlink("/dev/zero", path).unwrap(),
        "a link to itself" => std::os::unix::fs::symlink(path, path).unwrap(),
        "64 GB of zeros" => fs::File::create(path).unwrap().set_len(64 << 30).unwrap(),
        _ => fs::write(path, bytes(what)).unwrap(),
    }
}

fn bytes(what: &str) -> Vec<u8> {
    match what {
        "no byte" => Vec::new(),
        "random bytes" => random_bytes(1 << 20),
        "a program" => [b"\x7fELF\x02\x01\x01".to_vec(), random_bytes(4096)].concat(),
        "a zip of 256 MB of zeros" => zip_of_zeros(256 << 20),
        "a shapefile of the field" => shapefile(&[square()]),
        "a shapefile of nothing" => shapefile(&[]),
        "half a shapefile" => shapefile(&[square()])[..120].to_vec(),
        "a shapefile that counts 2 billion points" => shapefile_that_lies(),
        _ => text(what).into_bytes(),
    }
}

fn text(what: &str) -> String {
    match what {
        "100000 brackets" => "[".repeat(100_000),
        "a plan of 100000 brackets" => format!("a = {}", "[".repeat(100_000)),
        "a creek of 20000 vertices" => creek(20_000),
        "4000 points" => points(4_000),
        "a ring of 50000 vertices" => ring(50_000),
        "a boundary of 3000 holes" => holes(3_000),
        "50000 nested folders" => nested_markup("Folder", 50_000),
        "an entity that doubles" => doubling_entities(),
        "20000 columns" => wide_table(20_000),
        "a cell of 5 MB" => format!(
            "core,lon,lat,pH\nC1,-96.4975,41.202,{}\n",
            "6".repeat(5 << 20)
        ),
        other => panic!("nothing is known of \"{other}\""),
    }
}

/// Bytes that are the same each time (Knuth's 64-bit constants).
fn random_bytes(count: usize) -> Vec<u8> {
    let mut state = 7_u64;
    let mut next = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 56) as u8
    };
    (0..count).map(|_| next()).collect()
}

fn at(east: f64, north: f64) -> String {
    format!("[{:.7},{:.7}]", WEST + east * WIDTH, SOUTH + north * HEIGHT)
}

fn feature(geometry: &str) -> String {
    format!("{{\"type\":\"Feature\",\"properties\":{{}},\"geometry\":{geometry}}}")
}

/// A meandering line from south to north.
fn creek(vertices: usize) -> String {
    let place = |n: usize| {
        let north = n as f64 / vertices as f64;
        at(0.8 + 0.05 * (north * 900.0).sin(), north)
    };
    let places: Vec<String> = (0..vertices).map(place).collect();
    feature(&format!(
        "{{\"type\":\"LineString\",\"coordinates\":[{}]}}",
        places.join(",")
    ))
}

/// Points on a lattice over the eastern half of the field.
fn points(count: usize) -> String {
    let side = (count as f64).sqrt().ceil() as usize;
    let share = |n: usize| n as f64 / side as f64;
    let place = |n: usize| at(0.5 + 0.5 * share(n % side), share(n / side));
    let places: Vec<String> = (0..count).map(place).collect();
    feature(&format!(
        "{{\"type\":\"MultiPoint\",\"coordinates\":[{}]}}",
        places.join(",")
    ))
}

/// A field with a wavy edge.
fn ring(vertices: usize) -> String {
    let place = |n: usize| {
        let turn = n as f64 / vertices as f64 * std::f64::consts::TAU;
        let reach = 0.45 + 0.04 * (turn * 400.0).sin();
        at(0.5 + reach * turn.cos(), 0.5 + reach * turn.sin())
    };
    let mut places: Vec<String> = (0..vertices).map(place).collect();
    places.push(places[0].clone());
    feature(&format!(
        "{{\"type\":\"Polygon\",\"coordinates\":[[{}]]}}",
        places.join(",")
    ))
}

fn square_ring(east: f64, north: f64, side: f64) -> String {
    let corners = [
        (0.0, 0.0),
        (0.0, side),
        (side, side),
        (side, 0.0),
        (0.0, 0.0),
    ];
    format!(
        "[{}]",
        corners.map(|(x, y)| at(east + x, north + y)).join(",")
    )
}

fn holes(count: usize) -> String {
    let side = (count as f64).sqrt().ceil();
    let hole = |n: usize| {
        let (column, row) = ((n as f64) % side, (n as f64 / side).floor());
        square_ring((column + 0.25) / side, (row + 0.25) / side, 0.4 / side)
    };
    let rings: Vec<String> = std::iter::once(square_ring(0.0, 0.0, 1.0))
        .chain((0..count).map(hole))
        .collect();
    feature(&format!(
        "{{\"type\":\"Polygon\",\"coordinates\":[{}]}}",
        rings.join(",")
    ))
}

fn nested_markup(element: &str, depth: usize) -> String {
    let (open, close) = (format!("<{element}>"), format!("</{element}>"));
    format!(
        "<kml xmlns=\"http://www.opengis.net/kml/2.2\">{}{}</kml>",
        open.repeat(depth),
        close.repeat(depth)
    )
}

/// Ten entities, each ten times the one before.
fn doubling_entities() -> String {
    let mut text = String::from("<?xml version=\"1.0\"?><!DOCTYPE kml [<!ENTITY a0 \"lowstave\">");
    for n in 1..10 {
        let _ = write!(
            text,
            "<!ENTITY a{n} \"{}\">",
            format!("&a{};", n - 1).repeat(10)
        );
    }
    text + "]><kml><Placemark><name>&a9;</name></Placemark></kml>"
}

fn wide_table(columns: usize) -> String {
    let names: Vec<String> = (0..columns).map(|n| format!("c{n}")).collect();
    let row = vec!["1"; columns].join(",");
    format!(
        "lon,lat,{}\n-96.4975,41.202,{row}\n-96.4970,41.202,{row}\n",
        names.join(",")
    )
}

/// An archive with one member that is far larger than the archive.
fn zip_of_zeros(size: u64) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    archive
        .start_file("field.shp", zip::write::SimpleFileOptions::default())
        .unwrap();
    let mut zeros = std::io::Read::take(std::io::repeat(0), size);
    std::io::copy(&mut zeros, &mut archive).unwrap();
    archive.finish().unwrap().into_inner()
}

fn square() -> Vec<shapefile::Point> {
    [(0.0, 0.0), (0.0, 1.0), (1.0, 1.0), (1.0, 0.0), (0.0, 0.0)]
        .map(|(x, y)| shapefile::Point::new(WEST + x * WIDTH, SOUTH + y * HEIGHT))
        .to_vec()
}

/// The bytes of a .shp.
fn shapefile(rings: &[Vec<shapefile::Point>]) -> Vec<u8> {
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = shapefile::ShapeWriter::new(&mut bytes);
    for ring in rings {
        let polygon = shapefile::Polygon::new(shapefile::PolygonRing::Outer(ring.clone()));
        writer.write_shape(&polygon).unwrap();
    }
    writer.finalize().unwrap();
    drop(writer);
    bytes.into_inner()
}

/// A polygon whose count of points is the largest that fits.
fn shapefile_that_lies() -> Vec<u8> {
    let mut bytes = shapefile(&[square()]);
    // After the file's header (100 bytes), the record's (8), the type (4), the box (32) and the count of parts (4).
    bytes[148..152].copy_from_slice(&i32::MAX.to_le_bytes());
    bytes
}

//! Spreadsheets and packages of shapes with random damage: read or refused, never the end of the program. `LOWSTAVE_SECONDS=600`
//! takes ten minutes for each; the fuzz targets do the same with feedback.

use std::io::{Cursor, Read as _, Write as _};
use std::time::{Duration, Instant};

use lowstave::intake::{ShapeFormat, boundary_from_bytes};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::containers;

/// What is put in the place of some bytes: ends of counts, signs of XML, numbers that cannot be.
const SLIPS: [&[u8]; 12] = [
    b"",
    b"\0",
    b"\xff\xff\xff\xff",
    b"\x7f\xff\xff\xff\xff\xff\xff\xff",
    b"<",
    b"</row>",
    b"\"",
    b"1e999",
    b"-1",
    b"4294967295",
    b"r=\"ZZZ9999999\"",
    b"&#0;",
];

fn seconds() -> u64 {
    let asked = std::env::var("LOWSTAVE_SECONDS").ok();
    asked.and_then(|text| text.parse().ok()).unwrap_or(2)
}

fn below(random: &mut ChaCha8Rng, limit: usize) -> usize {
    (random.next_u64() % limit.max(1) as u64) as usize
}

/// One to six slips.
fn spoil(bytes: &mut Vec<u8>, random: &mut ChaCha8Rng) {
    for _ in 0..=below(random, 6) {
        let at = below(random, bytes.len());
        let end = (at + below(random, 9)).min(bytes.len());
        match below(random, 8) {
            0 => bytes.truncate(at),
            1 => drop(bytes.drain(at..end)),
            2 if end > at => bytes[at] ^= 1 << below(random, 8),
            3 => {
                let copy = bytes[at..end].to_vec();
                let to = below(random, bytes.len());
                drop(bytes.splice(to..to, copy));
            }
            _ => drop(bytes.splice(at..end, SLIPS[below(random, SLIPS.len())].iter().copied())),
        }
    }
}

/// Spoils the files in an archive and packs them again, so that no checksum hides the damage from the reader.
fn spoil_inside(bytes: &[u8], random: &mut ChaCha8Rng) -> Vec<u8> {
    let mut from = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let mut to = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let chosen = below(random, from.len());
    for at in 0..from.len() {
        let mut file = from.by_index(at).unwrap();
        let mut inner = Vec::new();
        file.read_to_end(&mut inner).unwrap();
        if at == chosen {
            spoil(&mut inner, random);
        }
        let name = file.name().unwrap().into_owned();
        to.start_file(name, zip::write::SimpleFileOptions::default())
            .unwrap();
        to.write_all(&inner).unwrap();
    }
    to.finish().unwrap().into_inner()
}

/// Reads damaged copies until the time is over.
#[expect(clippy::print_stdout, reason = "a long run says how far it came")]
fn survives(name: &str, good: &[u8], seed: u64, read: impl Fn(&[u8])) {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let until = Instant::now() + Duration::from_secs(seconds());
    let (mut runs, mut longest) = (0_u64, Duration::ZERO);
    while Instant::now() < until {
        let bytes = if good.starts_with(b"PK") && below(&mut random, 4) > 0 {
            spoil_inside(good, &mut random)
        } else {
            let mut bytes = good.to_vec();
            spoil(&mut bytes, &mut random);
            bytes
        };
        let started = Instant::now();
        read(&bytes);
        longest = longest.max(started.elapsed());
        runs += 1;
    }
    println!("{name}: {runs} damaged files, the longest took {longest:?}");
    assert!(runs > 0);
}

fn as_points(bytes: &[u8], name: &str) {
    // Whether it is read or refused is not asked here.
    let _ = containers::read(bytes, &containers::settings(name));
}

#[test]
fn a_damaged_spreadsheet_never_ends_the_program() {
    let good = containers::spreadsheet(&[("Results", &containers::RESULTS)]);
    survives("spreadsheet", &good, 1, |bytes| {
        as_points(bytes, "lab.xlsx");
    });
}

#[cfg(feature = "geopackage")]
#[test]
fn a_damaged_geopackage_never_ends_the_program() {
    survives("geopackage", &containers::geopackage(), 2, |bytes| {
        as_points(bytes, "farm.gpkg");
        let _ = boundary_from_bytes(bytes, ShapeFormat::GeoPackage, None);
    });
}

#[cfg(feature = "geoparquet")]
#[test]
fn a_damaged_geoparquet_file_never_ends_the_program() {
    survives("geoparquet", &containers::geoparquet("null"), 3, |bytes| {
        as_points(bytes, "farm.parquet");
        let _ = boundary_from_bytes(bytes, ShapeFormat::GeoParquet, None);
    });
}

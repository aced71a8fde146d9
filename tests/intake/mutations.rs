//! Files of the corpus with random damage: any answer is right but a panic, a hang or a flood of memory.

use std::fs;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use lowstave::intake::{
    ReadingRules, ShapeFormat, boundary_from_bytes, points_from_bytes, shape_format,
};
use lowstave::plan::{BelowDetection, Depths, PointKind, PointsSettings};
use lowstave::provenance::Place;
use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::{Rng, SeedableRng};

/// Longest that one damaged file may take; a whole file of the corpus takes a few milliseconds.
const LONGEST: Duration = Duration::from_secs(5);

fn seeds() -> Vec<(PathBuf, Vec<u8>)> {
    let mut files: Vec<PathBuf> = Vec::new();
    for case in fs::read_dir(Path::new("tests/intake/corpus")).expect("the corpus") {
        let case = case.expect("an entry").path();
        if case.is_dir() {
            files.extend(
                fs::read_dir(case)
                    .expect("a case")
                    .map(|file| file.expect("a file").path()),
            );
        } else {
            files.push(case);
        }
    }
    files.retain(|file| {
        file.extension()
            .is_some_and(|extension| extension != "toml")
    });
    files.sort();
    let mut seeds: Vec<(PathBuf, Vec<u8>)> = files
        .into_iter()
        .map(|file| (file.clone(), fs::read(file).expect("bytes")))
        .collect();
    seeds.push((PathBuf::from("polygon.shp"), shapefile_of_a_polygon()));
    seeds
}

fn shapefile_of_a_polygon() -> Vec<u8> {
    let ring = |points: &[(f64, f64)]| {
        points
            .iter()
            .map(|(x, y)| shapefile::Point::new(*x, *y))
            .collect::<Vec<_>>()
    };
    let polygon = shapefile::Polygon::with_rings(vec![
        shapefile::PolygonRing::Outer(ring(&[
            (0.0, 0.0),
            (0.0, 9.0),
            (9.0, 9.0),
            (9.0, 0.0),
            (0.0, 0.0),
        ])),
        shapefile::PolygonRing::Inner(ring(&[(1.0, 1.0), (2.0, 1.0), (2.0, 2.0), (1.0, 1.0)])),
    ]);
    let mut bytes = std::io::Cursor::new(Vec::new());
    let mut writer = shapefile::ShapeWriter::new(&mut bytes);
    writer.write_shape(&polygon).expect("a shape");
    writer.finalize().expect("a header");
    drop(writer);
    bytes.into_inner()
}

/// Bytes that files are sensitive to.
const TELLING: &[u8] = b"\"\",,;;\t\n\r\0<>-.eE{}[]:%'/ \xA0\xB5\xEF\xBB\xBF\xFF\xFE0123456789NaN";

fn damage(bytes: &[u8], other: &[u8], random: &mut ChaCha8Rng) -> Vec<u8> {
    let mut out = bytes.to_vec();
    for _ in 0..=below(random, 6) {
        let at = below(random, out.len() + 1);
        match below(random, 6) {
            0 if at < out.len() => out[at] = random.next_u32() as u8,
            1 => out.insert(at, TELLING[below(random, TELLING.len())]),
            2 if at < out.len() => out[at] = TELLING[below(random, TELLING.len())],
            3 => {
                let end = (at + below(random, 40)).min(out.len());
                out.drain(at..end);
            }
            4 => {
                let from = below(random, other.len() + 1);
                let end = (from + below(random, 60)).min(other.len());
                let piece = other[from..end].to_vec();
                out.splice(at..at, piece);
            }
            _ => {
                let end = (at + below(random, 30)).min(out.len());
                let piece = out[at..end].repeat(1 + below(random, 20));
                out.splice(at..at, piece);
            }
        }
    }
    out
}

fn below(random: &mut ChaCha8Rng, limit: usize) -> usize {
    random.next_u32() as usize % limit.max(1)
}

fn read_everywhere(file: &Path, bytes: &[u8]) {
    let rules = ReadingRules {
        below_detection: BelowDetection::Half,
        bulk_density: None,
        crop: "corn".into(),
        season: Some(2027),
        units: lowstave::units::UnitSystem::Metric,
    };
    for kind in [PointKind::Cores, PointKind::Cone, PointKind::Readings] {
        let settings = PointsSettings {
            file: file.to_owned(),
            kind,
            crs: None,
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
        };
        let _ = points_from_bytes(bytes, &settings, &rules);
    }
    if let Some(format) = shape_format(file).filter(|format| *format != ShapeFormat::Gpx) {
        let _ = boundary_from_bytes(bytes, format, None);
    }
}

fn run(seconds: u64, most: usize, seed: u64) -> usize {
    let seeds = seeds();
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let start = Instant::now();
    let mut count = 0;
    while count < most && start.elapsed().as_secs() < seconds {
        let (file, bytes) = &seeds[below(&mut random, seeds.len())];
        let (_, other) = &seeds[below(&mut random, seeds.len())];
        let damaged = damage(bytes, other, &mut random);
        let began = Instant::now();
        read_everywhere(file, &damaged);
        assert!(
            began.elapsed() < LONGEST,
            "{} took {:?}:\n{}",
            file.display(),
            began.elapsed(),
            String::from_utf8_lossy(&damaged)
        );
        count += 1;
    }
    count
}

#[test]
fn damaged_files_of_the_corpus_never_panic_or_hang() {
    assert!(run(60, 3_000, 1) > 100);
}

#[test]
#[ignore = "five minutes of damage on one core"]
fn damaged_files_of_the_corpus_never_panic_or_hang_for_minutes() {
    let count = run(300, usize::MAX, 20_261_125);
    println!("{count} damaged files");
    assert!(count > 3_000, "more than the everyday test, not {count}");
}

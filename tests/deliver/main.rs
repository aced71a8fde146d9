//! What `deliver` writes, read back by readers that are not ours, and written under bad conditions.

#![allow(
    clippy::too_many_lines,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test that cannot go on fails"
)]
#![allow(clippy::print_stdout, reason = "a tool that is not installed is named")]

#[path = "../stages/made_settings.rs"]
mod made_settings;

mod browser;
mod disk;
mod farm_files;
mod farm_tables;
mod geojson;
mod geopackage;
mod geotiff;
mod invented_case;
mod killed;
mod mix;
mod outside_readers;
mod reports;
mod samples;
mod schemas;
mod shapefile;
mod speed;
mod task_data;
mod tools;
mod writing;

use invented_case::Invented;
use lowstave::deliver::{DeliverOptions, Delivery, OutputFile, Summary, prepare};

fn delivered(invented: &Invented) -> Delivery {
    prepare(&invented.case(), &DeliverOptions::default()).expect("the invented case fits together")
}

fn text_of(delivery: &Delivery, path: &str) -> String {
    let bytes = delivery
        .get(path)
        .unwrap_or_else(|| panic!("{path} is missing"));
    String::from_utf8(bytes.to_vec()).expect("the file is UTF-8")
}

/// What the program itself writes of a sample's plan.
fn sample(plan: &str, options: &[&str]) -> Delivery {
    let folder = tempfile::tempdir().unwrap();
    let (root, out) = (env!("CARGO_MANIFEST_DIR"), folder.path().join("out"));
    let plan = format!("{root}/samples/{plan}");
    let mut program = std::process::Command::new(env!("CARGO_BIN_EXE_lowstave"));
    let ran = program
        .args(["plan", &plan, "--quiet", "--out"])
        .arg(&out)
        .args(options)
        .output()
        .unwrap();
    assert!(
        matches!(ran.status.code(), Some(0 | 1)),
        "{}",
        String::from_utf8_lossy(&ran.stderr)
    );
    delivery_in(&out)
}

/// A result as it lies in a folder, without its summary.
fn delivery_in(folder: &std::path::Path) -> Delivery {
    let mut files = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in std::fs::read_dir(next).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else {
                files.push(OutputFile::new(
                    path.strip_prefix(folder).unwrap().to_str().unwrap(),
                    std::fs::read(&path).unwrap(),
                ));
            }
        }
    }
    let summary = Summary {
        field: String::new(),
        season: 0,
        crop: String::new(),
        units: lowstave::units::UnitSystem::Metric,
        area_ha: 0.0,
        area_ac: 0.0,
        zones: Vec::new(),
        products: Vec::new(),
        cost_usd: 0.0,
        work_usd: 0.0,
        budget_usd: None,
        money: String::new(),
        test_first: Vec::new(),
        looks: 0,
        guesses: 0,
        notes: 0,
        files: Vec::new(),
        unused: Vec::new(),
    };
    Delivery {
        files,
        summary,
        facts: lowstave::deliver::FieldFacts::default(),
    }
}

/// A small generator of our own (Knuth's 64-bit constants), so that the cases are the same everywhere.
struct Draws(u64);

impl Draws {
    /// A number from 0 to 1.
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }
}

/// Writes the invented results where a person can look at them, and holds them to what was handed over:
/// `cargo test --test deliver look -- --ignored --nocapture`.
#[test]
#[ignore = "leaves its files for a person to look at"]
fn the_files_to_look_at_are_the_bytes_that_were_handed_over() {
    let out = std::path::Path::new(env!("CARGO_TARGET_TMPDIR"));
    for (name, invented) in [("us", Invented::small()), ("metric", Invented::metric())] {
        let delivery = delivered(&invented);
        let _ = std::fs::remove_dir_all(out.join(name));
        lowstave::deliver::write(&delivery, &out.join(name)).unwrap();
        let found = delivery_in(&out.join(name));
        assert_eq!(found.files.len(), delivery.files.len());
        for file in &found.files {
            assert_eq!(
                delivery.get(&file.path),
                Some(&file.bytes[..]),
                "{}",
                file.path
            );
        }
    }
    println!("written to {}", out.display());
}

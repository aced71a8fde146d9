//! The samples are what their makers say they are.

#[path = "../samples/alder-flat/season.rs"]
mod season;
#[path = "../samples/alder-flat-2028/second_season.rs"]
mod second_season;
#[path = "../samples/three-alders/generate.rs"]
mod three_alders;

use second_season::generate;

use std::fs;
use std::path::Path;

use lowstave::Files;
use lowstave::remark::Level;

#[test]
fn the_generator_of_alder_flat_makes_the_files_that_are_kept_byte_for_byte() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat");
    for (name, made) in generate::files() {
        let kept = fs::read_to_string(folder.join(name)).expect("the file is kept");
        assert!(
            made == kept,
            "{name} differs: run `cargo run --example generate_alder_flat` and look at the difference"
        );
    }
}

#[test]
fn the_generator_of_the_second_season_makes_the_files_that_are_kept_byte_for_byte() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat-2028");
    for (name, made) in second_season::files() {
        let kept = fs::read_to_string(folder.join(name)).expect("the file is kept");
        assert!(
            made == kept,
            "{name} differs: run `cargo run --example second_season_alder_flat` and look at the difference"
        );
    }
}

#[test]
fn the_generator_of_three_alders_makes_the_files_that_are_kept_byte_for_byte() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/three-alders");
    for (name, made) in three_alders::fields()
        .iter()
        .flat_map(three_alders::Field::files)
    {
        let kept = fs::read_to_string(folder.join(&name)).expect("the file is kept");
        assert!(
            made == kept,
            "{name} differs: run `cargo run --example generate_three_alders` and look at the difference"
        );
    }
}

#[test]
fn the_readings_of_the_season_are_those_that_their_maker_makes() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat");
    for (name, made) in season::files() {
        let kept = fs::read_to_string(folder.join(name)).expect("the file is kept");
        assert!(
            made == kept,
            "{name} differs: run `cargo run --example season_alder_flat` and look at the difference"
        );
    }
}

#[test]
fn every_sample_plan_is_read_without_a_problem() {
    let samples = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples");
    for plan in [
        "alder-flat/plan.toml",
        "alder-flat/plan-metric.toml",
        "alder-flat-2028/plan.toml",
        "open-field/plan.toml",
    ] {
        let (settings, remarks) = lowstave::plan::read(&Files::folder(&samples), Path::new(plan))
            .unwrap_or_else(|problems| {
                panic!(
                    "{plan}:\n{}",
                    problems
                        .iter()
                        .map(ToString::to_string)
                        .collect::<Vec<_>>()
                        .join("\n")
                );
            });
        println!("{plan}: {} {remarks:?}", settings.field);
        assert!(
            remarks.iter().all(|remark| remark.level != Level::Warning),
            "{plan}: {remarks:?}"
        );
    }
}

#[test]
fn the_rules_of_alder_flat_change_three_lines_of_the_consultants_own() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat/rules.toml");
    let rulebook = lowstave::rulebook::Rulebook::load(&Files::folder(""), None, Some(&file))
        .expect("a sound overlay");
    assert!(!rulebook.changes().is_empty());
    let own = [
        "rule.alkalinity.",
        "rule.phosphorus_mehlich_3.",
        "rule.potassium_ammonium_acetate.",
    ];
    assert!(
        rulebook
            .changes()
            .iter()
            .all(|change| own.iter().any(|rule| change.key.starts_with(rule))),
        "{:?}",
        rulebook.changes()
    );
}

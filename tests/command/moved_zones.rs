//! An override by zone number that now means other ground.

use std::fs;
use std::path::Path;

use crate::program::run_in;

#[test]
fn a_zone_number_that_lies_elsewhere_than_in_the_earlier_run_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let sample = Path::new(env!("CARGO_MANIFEST_DIR")).join("samples/alder-flat");
    for file in fs::read_dir(sample)
        .unwrap()
        .map(|file| file.unwrap().path())
    {
        if file.is_file() {
            fs::copy(&file, folder.path().join(file.file_name().unwrap())).unwrap();
        }
    }
    let plan = |count: &str, place: &str| {
        let text = fs::read_to_string(folder.path().join("plan.toml")).unwrap();
        let (before, _) = text.split_once("[[override]]").unwrap();
        let text = format!(
            "{before}\n[[override]]\n{place}\nproduct = \"starter\"\nrate = \"0 gal/ac\"\nwhy = \"a trial\"\n"
        );
        let (head, zones) = text.split_once("[zones]").unwrap();
        let zones: Vec<&str> = zones
            .lines()
            .filter(|line| !line.starts_with("count"))
            .collect();
        let text = format!("{head}[zones]\ncount = {count}{}", zones.join("\n"));
        fs::write(folder.path().join("changed.toml"), text).unwrap();
        run_in(
            folder.path(),
            &["plan", "changed.toml", "--out", "out", "--force"],
        )
    };
    let first = plan("8", "zone = 3");
    assert!(!first.stderr.contains("lies elsewhere"), "{}", first.stderr);
    let again = plan("8", "zone = 3");
    assert!(!again.stderr.contains("lies elsewhere"), "{}", again.stderr);
    let changed = plan("9", "zone = 3");
    assert_eq!(changed.code, 1, "{}", changed.stderr);
    assert!(
        changed
            .stderr
            .contains("is for zone 3, which lies elsewhere"),
        "{}",
        changed.stderr
    );
    // The way out works word for word: the place means the ground that had the number.
    let at = changed
        .stderr
        .split("write ")
        .find(|text| text.starts_with("at = ["))
        .unwrap();
    let at = &at[..=at.find(']').unwrap()];
    let by_place = plan("9", at);
    assert!(
        by_place.code <= 1 && !by_place.stderr.contains("lies elsewhere"),
        "{}",
        by_place.stderr
    );
}

//! Written complete or not at all, over nothing but our own.

use std::fs;
use std::path::Path;

use lowstave::deliver::{DeliverError, Delivery, write, write_file};

use super::{Invented, delivered};

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn assert_complete(delivery: &Delivery, out: &Path) {
    for file in &delivery.files {
        assert_eq!(
            fs::read(out.join(&file.path)).unwrap(),
            file.bytes,
            "{}",
            file.path
        );
    }
}

#[test]
fn a_new_folder_an_empty_one_and_an_earlier_result_are_written() {
    let folder = tempfile::tempdir().unwrap();
    let (us, metric) = (
        delivered(&Invented::small()),
        delivered(&Invented::metric()),
    );
    let out = folder.path().join("a/b/out");
    write(&us, &out).unwrap();
    assert_complete(&us, &out);
    write(&metric, &out).unwrap();
    assert_complete(&metric, &out);
    assert!(
        !out.join("controller/shapefile/lime_lb_ac.shp").exists(),
        "nothing of the old result is left"
    );
    assert_eq!(
        names(out.parent().unwrap()),
        ["out"],
        "nothing is left beside"
    );
    let empty = folder.path().join("empty");
    fs::create_dir(&empty).unwrap();
    write(&us, &empty).unwrap();
    assert_complete(&us, &empty);
}

#[test]
fn a_folder_that_is_not_ours_stays_as_it_is() {
    let folder = tempfile::tempdir().unwrap();
    let delivery = delivered(&Invented::small());
    let refused = |out: &Path| matches!(write(&delivery, out), Err(error @ DeliverError::NotOurs { .. }) if error.is_input_fault());
    let foreign = folder.path().join("foreign");
    fs::create_dir(&foreign).unwrap();
    fs::write(foreign.join("notes.txt"), "mine").unwrap();
    assert!(refused(&foreign));
    fs::write(foreign.join("run.json"), "{\"program\":\"another\"}").unwrap();
    assert!(refused(&foreign));
    assert_eq!(
        fs::read_to_string(foreign.join("notes.txt")).unwrap(),
        "mine"
    );
    let file = folder.path().join("file");
    fs::write(&file, "mine").unwrap();
    assert!(refused(&file));
    assert_eq!(names(folder.path()), ["file", "foreign"]);
}

#[test]
fn a_note_of_the_users_in_our_folder_is_not_thrown_away() {
    let folder = tempfile::tempdir().unwrap();
    let (out, delivery) = (folder.path().join("out"), delivered(&Invented::small()));
    write(&delivery, &out).unwrap();
    fs::write(
        out.join("layers/ph_water_0-15.2cm.tif.aux.xml"),
        "a GIS program's statistics",
    )
    .unwrap();
    write(&delivery, &out).unwrap();
    fs::write(out.join("controller/my notes.txt"), "mine").unwrap();
    let error = write(&delivery, &out).unwrap_err().to_string();
    assert!(error.contains("controller/my notes.txt"), "{error}");
    assert_eq!(
        fs::read_to_string(out.join("controller/my notes.txt")).unwrap(),
        "mine"
    );
}

#[test]
fn a_folder_that_cannot_be_written_is_an_error_of_the_disk() {
    // Nobody, not even root, makes folders here.
    let error = write(
        &delivered(&Invented::small()),
        Path::new("/proc/lowstave-out"),
    )
    .unwrap_err();
    assert!(
        matches!(&error, DeliverError::Write { .. }) && !error.is_input_fault(),
        "{error}"
    );
}

#[test]
fn a_file_in_the_way_of_a_folder_leaves_nothing_behind() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("a"), "mine").unwrap();
    let error = write(&delivered(&Invented::small()), &folder.path().join("a/out")).unwrap_err();
    assert!(matches!(error, DeliverError::BadPath { .. }) && error.is_input_fault());
    assert_eq!(names(folder.path()), ["a"]);
}

#[test]
fn the_leftovers_of_a_killed_run_are_tidied_up() {
    let folder = tempfile::tempdir().unwrap();
    let (out, delivery) = (folder.path().join("out"), delivered(&Invented::small()));
    write(&delivery, &out).unwrap();
    // A run that was killed between setting the old result aside and putting the new one in place.
    fs::rename(&out, folder.path().join(".out.lowstave-99999-old")).unwrap();
    fs::create_dir(folder.path().join(".out.lowstave-99999")).unwrap();
    fs::create_dir(folder.path().join(".out.lowstave-notes")).unwrap();
    assert!(
        lowstave::deliver::explain(&out, 1).is_ok(),
        "the old result comes back"
    );
    assert_complete(&delivery, &out);
    write(&delivery, &out).unwrap();
    assert_eq!(
        names(folder.path()),
        [".out.lowstave-notes", "out"],
        "only what is surely ours goes"
    );
}

#[test]
fn a_single_file_is_not_overwritten_unless_asked() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("new/plan.toml");
    write_file(&path, b"one", false).unwrap();
    assert!(matches!(
        write_file(&path, b"two", false),
        Err(DeliverError::Exists { .. })
    ));
    assert_eq!(fs::read(&path).unwrap(), b"one");
    write_file(&path, b"two", true).unwrap();
    assert_eq!(fs::read(&path).unwrap(), b"two");
    assert_eq!(names(path.parent().unwrap()), ["plan.toml"]);
}

use super::*;

#[test]
fn where_folders_cannot_be_swapped_the_new_one_takes_the_place_in_two_steps() {
    let folder = tempfile::tempdir().unwrap();
    let (out, staging) = (
        folder.path().join("out"),
        folder.path().join(".out.lowstave-1"),
    );
    for (path, text) in [(&out, "old"), (&staging, "new")] {
        fs::create_dir(path).unwrap();
        fs::write(path.join("file"), text).unwrap();
    }
    replace_in_two_steps(&staging, &Target::new(&out).unwrap()).unwrap();
    assert_eq!(fs::read_to_string(out.join("file")).unwrap(), "new");
    assert_eq!(
        fs::read_dir(folder.path()).unwrap().count(),
        1,
        "the old one is gone"
    );
}

#[test]
fn when_the_second_step_fails_the_old_result_is_back() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    fs::create_dir(&out).unwrap();
    fs::write(out.join("file"), "old").unwrap();
    assert!(
        replace_in_two_steps(
            &folder.path().join("not there"),
            &Target::new(&out).unwrap()
        )
        .is_err()
    );
    assert_eq!(fs::read_to_string(out.join("file")).unwrap(), "old");
}

#[test]
fn a_folder_whose_maker_lives_is_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let staging = folder.path().join(".out.lowstave-1");
    fs::create_dir(&staging).unwrap();
    let lock = File::open(&staging).unwrap();
    lock.try_lock().unwrap();
    let target = Target::new(&folder.path().join("out")).unwrap();
    recover(&target);
    assert!(staging.exists());
    drop(lock);
    recover(&target);
    assert!(!staging.exists());
}

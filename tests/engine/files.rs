use std::fs;
use std::io::{ErrorKind, Read};
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

use lowstave::Files;
use lowstave::files::FileSet;

fn kind_of(files: &Files, name: &str) -> ErrorKind {
    files
        .read(Path::new(name), 1_000)
        .expect_err("no file")
        .kind()
}

#[test]
fn what_is_no_plain_file_is_refused_before_it_is_opened() {
    let folder = tempfile::tempdir().unwrap();
    let made = Command::new("mkfifo")
        .arg(folder.path().join("pipe"))
        .status()
        .expect("mkfifo, of coreutils");
    assert!(made.success());
    fs::create_dir(folder.path().join("folder")).unwrap();
    let files = Files::folder(folder.path());
    let start = Instant::now();
    assert_eq!(kind_of(&files, "pipe"), ErrorKind::InvalidInput);
    assert_eq!(kind_of(&files, "folder"), ErrorKind::IsADirectory);
    assert_eq!(kind_of(&files, "/dev/zero"), ErrorKind::InvalidInput);
    assert_eq!(kind_of(&files, "not there"), ErrorKind::NotFound);
    assert!(
        start.elapsed() < Duration::from_secs(5),
        "no pipe was waited for"
    );
}

#[cfg(target_os = "linux")]
#[test]
fn a_file_that_says_it_is_empty_and_is_not_is_refused() {
    // Kept by the system: its size is 0 and its text is long.
    let text = fs::metadata("/proc/self/maps").unwrap();
    assert!(text.is_file() && text.len() == 0);
    let files = Files::folder("/proc/self");
    assert_eq!(kind_of(&files, "maps"), ErrorKind::FileTooLarge);
}

#[test]
fn a_file_over_the_limit_is_refused_by_its_size() {
    let folder = tempfile::tempdir().unwrap();
    let large = fs::File::create(folder.path().join("large")).unwrap();
    large.set_len(1 << 40).unwrap();
    let start = Instant::now();
    let files = Files::folder(folder.path());
    assert_eq!(kind_of(&files, "large"), ErrorKind::FileTooLarge);
    assert!(start.elapsed() < Duration::from_secs(5), "nothing was read");
    assert_eq!(
        kind_of(&Files::memory([("large", vec![0; 1_001])]), "large"),
        ErrorKind::FileTooLarge
    );
}

#[test]
fn names_are_resolved_inside_a_set_and_do_not_lead_out_of_it() {
    let files = Files::memory([
        ("./a/../b/one.csv", "1"),
        ("b/two.csv", "2"),
        ("c.csv", "3"),
    ]);
    let read = |name: &str| files.read(Path::new(name), 10);
    assert_eq!(read("b/one.csv").unwrap(), b"1");
    assert_eq!(read("a/./../b/two.csv").unwrap(), b"2");
    for name in ["../c.csv", "/c.csv", "b", "B/one.csv", ""] {
        assert_eq!(
            read(name).unwrap_err().kind(),
            ErrorKind::NotFound,
            "{name}"
        );
    }
    let beside = files.beside(Path::new("b/plan.toml"));
    assert_eq!(beside.names_beside(Path::new("x")), ["one.csv", "two.csv"]);
    assert_eq!(beside.read(Path::new("../c.csv"), 10).unwrap(), b"3");
}

#[test]
fn an_archive_that_is_none_or_unpacks_to_a_flood_is_refused() {
    assert!(Files::archive(b"not a zip").is_err());
    assert!(Files::archive(b"").is_err());
}

/// A store that counts, to show that a set may be anything.
struct Letters;

impl FileSet for Letters {
    fn size(&self, name: &Path) -> std::io::Result<u64> {
        Ok(name.as_os_str().len() as u64)
    }

    fn open<'a>(&'a self, name: &Path) -> std::io::Result<Box<dyn Read + Send + 'a>> {
        let bytes = name.to_string_lossy().into_owned().into_bytes();
        Ok(Box::new(std::io::Cursor::new(bytes)))
    }

    fn names_in(&self, _folder: &Path) -> Vec<String> {
        Vec::new()
    }
}

#[test]
fn a_set_of_the_callers_own_is_read_like_any_other() {
    let files = Files::of(Letters);
    assert_eq!(files.read(Path::new("abc"), 10).unwrap(), b"abc");
}

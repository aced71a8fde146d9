//! Nothing outside the program moves a place: no database, grid or setting of PROJ from elsewhere, at any number of threads.

use std::fs;
use std::path::Path;

use crate::farm::Farm;
use crate::program::{Folder, Ran, command};

/// The farm with its cores in metres, so that PROJ's database is asked.
fn farm() -> Farm {
    let rows: Vec<String> = crate::farm::core_rows()
        .iter()
        .enumerate()
        .map(|(at, row)| {
            if at == 0 {
                return row.join(",");
            }
            let mut row = row.clone();
            // Zone 14, near enough for an invented field: 83.6 km and 111.05 km to a degree, made with pyproj at its corner.
            let (lon, lat): (f64, f64) = (row[1].parse().unwrap(), row[2].parse().unwrap());
            let (east, north) = (lon + 96.5, lat - 41.2);
            row[1] = format!("{:.2}", 709_567.3 + 83_812.0 * east - 3_203.0 * north);
            row[2] = format!("{:.2}", 4_563_969.7 + 2_420.0 * east + 111_030.0 * north);
            row.join(",")
        })
        .collect();
    Farm::good()
        .plan_with("EPSG:4326", "EPSG:32614")
        .cores(rows.join("\n") + "\n")
}

fn prescription(folder: &Folder, out: &str) -> String {
    fs::read_to_string(folder.path().join(out).join("prescription.geojson")).unwrap()
}

fn run_with(folder: &Folder, out: &str, set: &[(&str, &Path)]) -> Ran {
    let mut command = command(folder.path(), &["plan", "plan.toml", "--out", out]);
    for (name, value) in set {
        command.env(name, value);
    }
    let output = command.output().unwrap();
    Ran {
        code: output.status.code().unwrap(),
        stdout: String::from_utf8(output.stdout).unwrap(),
        stderr: String::from_utf8(output.stderr).unwrap(),
    }
}

/// A database like PROJ's in which zone 14 lies 100 m further east.
fn doctored(path: &Path) {
    let sql = "create table metadata(key text, value text);\
               insert into metadata values('DATABASE.LAYOUT.VERSION.MAJOR','1'),('DATABASE.LAYOUT.VERSION.MINOR','5');";
    rusqlite::Connection::open(path)
        .unwrap()
        .execute_batch(sql)
        .unwrap();
}

#[test]
fn a_doctored_database_moves_nothing_wherever_it_lies() {
    let folder = farm().write();
    let plain = run_with(&folder, "plain", &[]);
    assert!(plain.code < 2, "{}", plain.stderr);
    let wanted = prescription(&folder, "plain");
    let trap = folder.path().join("trap");
    for place in ["", "proj", ".local/share/proj", ".cache", "share/proj"] {
        fs::create_dir_all(trap.join(place)).unwrap();
        doctored(&trap.join(place).join("proj.db"));
    }
    // The folder that the program runs in.
    doctored(&folder.path().join("proj.db"));
    let database = trap.join("proj.db");
    let settings: [(&str, &Path); 10] = [
        ("PROJ_DATA", &trap),
        ("PROJ_LIB", &trap),
        ("HOME", &trap),
        ("XDG_DATA_HOME", &trap),
        ("XDG_CACHE_HOME", &trap),
        ("TMPDIR", &trap),
        ("PROJ_USER_WRITABLE_DIRECTORY", &trap),
        ("PROJ_AUX_DB", &database),
        ("LOWSTAVE_PROJ", &trap),
        ("PROJ_NETWORK", Path::new("ON")),
    ];
    for setting in &settings {
        let ran = run_with(&folder, setting.0, std::slice::from_ref(setting));
        assert!(ran.code < 2, "{}: {}", setting.0, ran.stderr);
        assert_eq!(prescription(&folder, setting.0), wanted, "{}", setting.0);
    }
    let ran = run_with(&folder, "all", &settings);
    assert!(ran.code < 2, "{}", ran.stderr);
    assert_eq!(prescription(&folder, "all"), wanted);
}

#[test]
fn the_record_names_the_database() {
    let folder = farm().write();
    assert!(run_with(&folder, "out", &[]).code < 2);
    let record = fs::read_to_string(folder.path().join("out/run.json")).unwrap();
    let record: serde_json::Value = serde_json::from_str(&record).unwrap();
    let projections = &record["field"]["projections"];
    assert!(
        projections["epsg"].as_str().unwrap().starts_with('v'),
        "{projections}"
    );
    assert_eq!(projections["sha256"].as_str().unwrap().len(), 64);
}

#[test]
fn cold_starts_side_by_side_and_many_threads_give_the_same() {
    let folder = farm().write();
    let starts: Vec<_> = (0..10)
        .map(|at| {
            let out = format!("out{at}");
            command(
                folder.path(),
                &["plan", "plan.toml", "--out", &out, "--threads", "32"],
            )
            .stdout(std::process::Stdio::null())
            .stderr(std::process::Stdio::piped())
            .spawn()
            .unwrap()
        })
        .collect();
    for start in starts {
        let output = start.wait_with_output().unwrap();
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(output.status.code().is_some_and(|code| code < 2), "{said}");
    }
    for at in 1..10 {
        assert_eq!(
            prescription(&folder, &format!("out{at}")),
            prescription(&folder, "out0")
        );
    }
}

#[test]
fn what_proj_says_reaches_the_terminal_through_our_own_words_only() {
    let farm = Farm::good().plan_with("EPSG:4326", "PROJCS[\\\"\\u001b[31mred\\\",nonsense");
    let ran = farm.refused();
    assert_eq!(ran.code, 2, "{}", ran.stderr);
    assert!(ran.stderr.contains("is not known"), "{}", ran.stderr);
    assert!(!ran.stderr.contains('\u{1b}'), "{:?}", ran.stderr);
    for line in ran.stderr.lines() {
        assert!(!line.starts_with("proj_"), "PROJ speaks for itself: {line}");
    }
    let folder = farm.write();
    let loud = run_with(&folder, "out", &[("PROJ_DEBUG", Path::new("3"))]);
    assert_eq!(loud.stderr, ran.stderr);
}

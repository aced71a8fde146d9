//! What came of a case, beside what should have.

use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use crate::case::Case;

/// The longest that a case may take; a run of the good field takes a tenth of a second, this is for a machine that is busy with other tests.
const LONGEST: Duration = Duration::from_secs(20);
/// Memory that a case may ask the system for, in KiB: no input of a few KB needs more, and the machine stays usable.
const MOST_MEMORY_KIB: u64 = 6 << 20;
/// What is never told of an input, however odd.
const NEVER: [&str; 4] = [
    "panicked",
    "fault of the program",
    "fault in the program",
    "memory allocation",
];

/// What is wrong with the outcome; empty where all is right.
pub fn faults(case: &Case) -> Vec<String> {
    let (_keeps, folder) = folder_of(case);
    let before = contents(&folder);
    let Some(ran) = run(case, &folder) else {
        return vec![format!("took more than {LONGEST:?}")];
    };
    let mut faults = Vec::new();
    match ran.code {
        Some(code) if case.is_right(code) => {}
        Some(code) => faults.push(format!("exit code {code}")),
        None => faults.push("ended by a signal".to_owned()),
    }
    let told = everything(&ran, &folder);
    for word in case
        .words
        .iter()
        .filter(|word| !told.contains(&words_of(word)))
    {
        faults.push(format!("does not tell \"{word}\""));
    }
    let forbidden = case.absent.iter().map(String::as_str).chain(NEVER);
    for word in forbidden.filter(|word| told.contains(&words_of(word))) {
        faults.push(format!("tells \"{word}\""));
    }
    faults.extend(too_much(case, &folder));
    if !matches!(ran.code, Some(0 | 1)) && contents(&folder) != before {
        faults.push("left files behind".to_owned());
    }
    if !faults.is_empty() {
        let start: Vec<&str> = ran.told.lines().take(6).collect();
        faults.push(format!(
            "in {:.1} s it told: {}",
            ran.seconds,
            start.join("\n    ")
        ));
    }
    faults
}

/// The properties of zones that are above what the case allows.
fn too_much(case: &Case, folder: &Path) -> Vec<String> {
    let Ok(text) = fs::read_to_string(folder.join("out/prescription.geojson")) else {
        return Vec::new();
    };
    let map: serde_json::Value = serde_json::from_str(&text).unwrap();
    let zones = map["features"].as_array().unwrap();
    let values = |key: &str| -> Vec<f64> {
        zones
            .iter()
            .map(|zone| zone["properties"][key].as_f64().unwrap_or(0.0))
            .collect()
    };
    case.most
        .iter()
        .filter(|(key, most)| values(key).iter().any(|value| value > most))
        .map(|(key, most)| format!("{key} is {:?}, above {most}", values(key)))
        .collect()
}

/// All that is told of a case; `None` where it takes too long.
pub fn told(case: &Case) -> Option<String> {
    let (_keeps, folder) = folder_of(case);
    run(case, &folder).map(|ran| everything(&ran, &folder))
}

/// Terminal and reports. What is wrapped to the width of a page is still the same words.
fn everything(ran: &Ran, folder: &Path) -> String {
    words_of(&(ran.told.clone() + &report(folder)))
}

/// The spoilt field in a folder within a folder of its own, so that `..` is nobody else's either.
fn folder_of(case: &Case) -> (tempfile::TempDir, PathBuf) {
    let outer = tempfile::tempdir().unwrap();
    let folder = outer.path().join("field");
    fs::create_dir(&folder).unwrap();
    case.write(&folder);
    (outer, folder)
}

struct Ran {
    code: Option<i32>,
    seconds: f64,
    told: String,
}

/// `None` where it takes too long; it is then ended.
fn run(case: &Case, folder: &Path) -> Option<Ran> {
    let program = env!("CARGO_BIN_EXE_lowstave");
    let limited = format!("ulimit -v {MOST_MEMORY_KIB}; exec \"$0\" \"$@\"");
    let mut command = Command::new("sh");
    command.args(["-c", &limited, program]).args(&case.run);
    if !case.run.iter().any(|argument| argument == "--threads") {
        command.args(["--threads", "1"]);
    }
    let start = Instant::now();
    let mut child = command
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let (stdout, stderr) = (reader(child.stdout.take()), reader(child.stderr.take()));
    let code = wait(&mut child);
    let told = [stdout, stderr]
        .map(|thread| thread.join().unwrap())
        .concat();
    code.map(|code| Ran {
        code,
        seconds: start.elapsed().as_secs_f64(),
        told,
    })
}

/// Reads a pipe to its end, so that the program never waits for a reader.
fn reader(pipe: Option<impl Read + Send + 'static>) -> JoinHandle<String> {
    std::thread::spawn(move || {
        let mut bytes = Vec::new();
        let _ = pipe.unwrap().read_to_end(&mut bytes);
        String::from_utf8_lossy(&bytes).into_owned()
    })
}

fn wait(child: &mut Child) -> Option<Option<i32>> {
    let start = Instant::now();
    loop {
        if let Some(status) = child.try_wait().unwrap() {
            return Some(status.code());
        }
        if start.elapsed() > LONGEST {
            let _ = child.kill();
            let _ = child.wait();
            return None;
        }
        std::thread::sleep(Duration::from_millis(2));
    }
}

fn words_of(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// The texts for people that a run has written.
fn report(folder: &Path) -> String {
    ["report.txt", "details.txt"]
        .iter()
        .filter_map(|name| fs::read_to_string(folder.join("out").join(name)).ok())
        .collect()
}

fn contents(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    let mut open = vec![folder.to_owned()];
    while let Some(next) = open.pop() {
        for entry in fs::read_dir(next).unwrap() {
            let entry = entry.unwrap();
            if entry.file_type().unwrap().is_dir() {
                open.push(entry.path());
            }
            found.push(entry.path());
        }
    }
    found.sort();
    found
}

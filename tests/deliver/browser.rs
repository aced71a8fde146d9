//! The report in headless Chromium, where it is installed: no console error, no request, every zone by keyboard, no overflow.

use std::path::Path;
use std::process::Command;

use lowstave::deliver::write;

use super::{Invented, delivered};

/// Runs in the page and writes what it finds into the document's title.
const PROBE: &str = include_str!("probe.js");

fn chromium(arguments: &[&str]) -> Option<std::process::Output> {
    let profile = tempfile::tempdir().unwrap();
    let profile_argument = format!("--user-data-dir={}", profile.path().display());
    let quiet = [
        "--headless",
        "--no-sandbox",
        "--disable-gpu",
        "--disable-quic",
        "--no-first-run",
        "--disable-background-networking",
        "--disable-component-update",
        "--disable-sync",
        "--enable-logging=stderr",
        "--virtual-time-budget=2000",
    ];
    let output = Command::new("chromium").args(quiet).arg(profile_argument).args(arguments).output();
    if output.is_err() {
        println!("chromium is not installed: nothing was looked at");
    }
    output.ok()
}

fn page(folder: &Path) -> std::path::PathBuf {
    let out = folder.join("out");
    write(&delivered(&Invented::small()), &out).unwrap();
    let html = std::fs::read_to_string(out.join("report.html")).unwrap();
    // The probe is a test's tool: the page's own policy would refuse it, so it is taken out here only.
    let start = html.find("<meta http-equiv=\"Content-Security-Policy\"").expect("the page has a policy");
    let end = start + html[start..].find('>').unwrap() + 1;
    let probed = format!("{}{}", &html[..start], html[end..].replace("</body>", &format!("<script>{PROBE}</script></body>")));
    let path = folder.join("probed.html");
    std::fs::write(&path, probed).unwrap();
    path
}

fn findings(width: u32) -> Option<serde_json::Value> {
    let folder = tempfile::tempdir().unwrap();
    let address = format!("file://{}", page(folder.path()).display());
    let output = chromium(&[&format!("--window-size={width},900"), "--dump-dom", &address])?;
    let dom = String::from_utf8_lossy(&output.stdout);
    let title = dom.split("<title>").nth(1)?.split("</title>").next()?.replace("&quot;", "\"").replace("&amp;", "&");
    Some(serde_json::from_str(&title).unwrap_or_else(|error| panic!("{error}: {title}")))
}

#[test]
fn zones_are_reached_by_keyboard_and_say_their_reason() {
    let Some(found) = findings(1280) else { return };
    assert_eq!(found["zones"], 3);
    assert_eq!(found["zones_by_keyboard"], 3);
    assert!(found["said"].as_str().unwrap().contains("Zone 1: 5.6 ac"), "{found}");
    assert!(found["core_said"].as_str().unwrap().starts_with("C1: "), "{found}");
}

#[test]
fn names_headings_and_contrast_are_in_order() {
    let Some(found) = findings(1280) else { return };
    for fault in ["unnamed", "doubled_ids", "dead_links", "skipped_headings", "low_contrast", "errors"] {
        assert_eq!(found[fault].as_array().map(Vec::len), Some(0), "{fault}: {}", found[fault]);
    }
}

#[test]
fn nothing_sticks_out_on_a_phone() {
    let Some(found) = findings(500) else { return };
    assert!(found["overflow"].as_f64().unwrap() <= 0.0, "{found}");
}

#[test]
fn the_page_as_delivered_loads_without_a_word_on_the_console() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out");
    write(&delivered(&Invented::small()), &out).unwrap();
    let picture = format!("--screenshot={}", folder.path().join("page.png").display());
    let Some(output) = chromium(&[&picture, &format!("file://{}", out.join("report.html").display())]) else { return };
    let said = String::from_utf8_lossy(&output.stderr);
    assert!(!said.contains("CONSOLE"), "{said}");
    assert!(folder.path().join("page.png").exists(), "{said}");
}

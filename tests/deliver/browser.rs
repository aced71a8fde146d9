//! The report in headless Chromium (`tools.rs` tells what happens where it is missing): no console error, no request, every zone by keyboard, no overflow, no
//! barrier that axe-core (`axe/README.md`) finds, on light and dark screens and on a phone.

use std::path::{Path, PathBuf};
use std::process::Command;

use super::tools::output_of;
use super::{Invented, delivered, sample, text_of};

/// How a script tells what it found: in the title, or to the page that holds this one in a frame.
const TELL: &str = "function tell(found){var text=JSON.stringify(found);\
    if(window.parent!==window)window.parent.postMessage(text,'*');else document.title=text}";
const PROBE: &str = include_str!("probe.js");
const AXE_RUN: &str = include_str!("axe_run.js");
/// Width of a common phone's screen, in CSS pixels. Chromium's own window is never narrower than 500, so the page stands in a frame.
const PHONE: u32 = 390;

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
        "--virtual-time-budget=20000",
    ];
    let mut chromium = Command::new("chromium");
    output_of(chromium.args(quiet).arg(profile_argument).args(arguments))
}

/// Where the page is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Screen {
    Light,
    Dark,
    Phone,
}

/// The page with some scripts at its end.
fn probed(folder: &Path, html: &str, scripts: &str) -> PathBuf {
    // The scripts are the test's tools: the page's own policy would refuse them, so it is taken out here only.
    let start = html
        .find("<meta http-equiv=\"Content-Security-Policy\"")
        .expect("the page has a policy");
    let end = start + html[start..].find('>').unwrap() + 1;
    let probed = format!(
        "{}{}",
        &html[..start],
        html[end..].replace(
            "</body>",
            &format!("<script>{TELL}</script>{scripts}</body>")
        )
    );
    let path = folder.join("probed.html");
    std::fs::write(&path, probed).unwrap();
    path
}

/// What the scripts tell of a page.
fn told(html: &str, scripts: &str, screen: Screen) -> Option<serde_json::Value> {
    let folder = tempfile::tempdir().unwrap();
    std::fs::copy(
        format!(
            "{}/tests/deliver/axe/axe.min.js",
            env!("CARGO_MANIFEST_DIR")
        ),
        folder.path().join("axe.min.js"),
    )
    .unwrap();
    let mut page = probed(folder.path(), html, scripts);
    if screen == Screen::Phone {
        page = folder.path().join("phone.html");
        let frame = format!(
            "<!doctype html><title></title><iframe src=\"probed.html\" style=\"width:{PHONE}px;height:844px;border:0\"></iframe>"
        );
        std::fs::write(
            &page,
            format!(
                "{frame}<script>onmessage=function(event){{document.title=event.data}}</script>"
            ),
        )
        .unwrap();
    }
    let address = format!("file://{}", page.display());
    let scheme = format!(
        "--blink-settings=preferredColorScheme={}",
        u8::from(screen != Screen::Dark)
    );
    let arguments = [&scheme, "--window-size=1280,900", "--dump-dom", &address];
    // On a busy machine the page may be handed over before its scripts are done: once more then.
    let mut answer = String::new();
    for _ in 0..5 {
        answer = title_of(&chromium(&arguments)?);
        if let Ok(found) = serde_json::from_str(&answer) {
            return Some(found);
        }
    }
    panic!("the scripts told nothing: {answer}")
}

/// The title of the page that came back, in which the scripts leave what they found.
fn title_of(output: &std::process::Output) -> String {
    let dom = String::from_utf8_lossy(&output.stdout);
    let title = dom
        .split("<title>")
        .nth(1)
        .and_then(|rest| rest.split("</title>").next())
        .unwrap_or_else(|| panic!("no page came back: {output:?}"));
    title
        .replace("&quot;", "\"")
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&nbsp;", "\u{a0}")
        .replace("&amp;", "&")
}

fn page_of(name: &str) -> String {
    text_of(&sample(&format!("{name}/plan.toml"), &[]), "report.html")
}

fn farm_page() -> String {
    text_of(super::farm_files::farm(), "farm.html")
}

fn report() -> String {
    text_of(&delivered(&Invented::small()), "report.html")
}

/// What the probe tells. On a busy machine the window may not have the keyboard yet, and then nothing can be said of it: once more.
fn findings(html: &str, screen: Screen) -> Option<serde_json::Value> {
    let mut found = told(html, &format!("<script>{PROBE}</script>"), screen)?;
    for _ in 0..9 {
        if found["has_keyboard"] == true || screen == Screen::Phone {
            break;
        }
        found = told(html, &format!("<script>{PROBE}</script>"), screen)?;
    }
    Some(found)
}

#[test]
fn zones_are_reached_by_keyboard_and_say_their_reason() {
    let Some(found) = findings(&report(), Screen::Light) else {
        return;
    };
    assert_eq!(
        (&found["zones"], &found["has_keyboard"]),
        (&3.into(), &true.into())
    );
    assert_eq!(found["zones_by_keyboard"], 3);
    assert!(
        found["said"].as_str().unwrap().contains("Zone 1, 5.6 ac"),
        "{found}"
    );
    assert_eq!(found["cards"], 1, "one card at a time: {found}");
    assert_eq!(
        (&found["clicked"], &found["scrolled_by_click"]),
        (&"card-2".into(), &0.into()),
        "a click opens the card in place and does not jump"
    );
    assert!(
        found["core_said"].as_str().unwrap().starts_with("C1: "),
        "{found}"
    );
}

#[test]
fn names_headings_and_contrast_are_in_order() {
    for html in [report(), page_of("alder-flat")] {
        for screen in [Screen::Light, Screen::Dark] {
            let Some(found) = findings(&html, screen) else {
                return;
            };
            for fault in [
                "unnamed",
                "doubled_ids",
                "dead_links",
                "skipped_headings",
                "low_contrast",
                "errors",
            ] {
                assert_eq!(
                    found[fault].as_array().map(Vec::len),
                    Some(0),
                    "{screen:?}: {fault}: {}",
                    found[fault]
                );
            }
        }
    }
}

#[test]
fn nothing_sticks_out_on_a_phone() {
    for html in [report(), page_of("alder-flat"), page_of("open-field")] {
        let Some(found) = findings(&html, Screen::Phone) else {
            return;
        };
        assert_eq!(found["width"], PHONE);
        assert!(found["overflow"].as_f64().unwrap() <= 0.0, "{found}");
    }
}

/// The farm's page has no card that opens, so the probe of the report does not fit it.
#[test]
fn nothing_of_the_farms_page_sticks_out_on_a_phone_and_its_links_lead_somewhere() {
    let script = "<script>var links=[].slice.call(document.querySelectorAll('a[href^=\"#\"]'));\
                  var dead=links.filter(function(a){return !document.getElementById(a.getAttribute('href').slice(1))});\
                  tell({width:window.innerWidth,overflow:document.documentElement.scrollWidth-window.innerWidth,\
                  links:links.length,dead:dead.length})</script>";
    let Some(found) = told(&farm_page(), script, Screen::Phone) else {
        return;
    };
    assert_eq!(found["width"], PHONE);
    assert!(found["overflow"].as_f64().unwrap() <= 0.0, "{found}");
    assert!(
        found["links"].as_u64() >= Some(9) && found["dead"] == 0,
        "{found}"
    );
}

#[test]
fn the_first_sheet_is_one_and_a_half_phone_screens_with_rates_in_sight() {
    const SCREEN: f64 = 844.0;
    for name in ["alder-flat", "open-field"] {
        let script = "<script>var box=document.querySelector('#sheet').getBoundingClientRect();\
                      var rates=document.querySelector('table.zones').getBoundingClientRect();\
                      tell({sheet:box.bottom,rates:rates.top,right:rates.right})</script>";
        let Some(found) = told(&page_of(name), script, Screen::Phone) else {
            return;
        };
        let number = |key: &str| found[key].as_f64().unwrap();
        assert!(number("sheet") <= 1.5 * SCREEN, "{name}: {found}");
        assert!(
            number("rates") < SCREEN && number("right") <= f64::from(PHONE),
            "{name}: {found}"
        );
    }
}

#[test]
fn the_first_sheet_is_one_printed_page_on_either_paper() {
    for name in ["alder-flat", "open-field"] {
        for paper in ["A4", "Letter"] {
            let folder = tempfile::tempdir().unwrap();
            let page = folder.path().join("page.html");
            let style = format!("<style>@page{{size:{paper}}}</style></head>");
            std::fs::write(&page, page_of(name).replacen("</head>", &style, 1)).unwrap();
            let pdf = folder.path().join("page.pdf");
            let print = format!("--print-to-pdf={}", pdf.display());
            let address = format!("file://{}", page.display());
            if chromium(&["--no-pdf-header-footer", &print, &address]).is_none() {
                return;
            }
            let bytes = std::fs::read(&pdf).unwrap();
            let text = String::from_utf8_lossy(&bytes);
            let pages =
                text.matches("/Type /Page\n").count() + text.matches("/Type /Page/").count();
            assert_eq!(pages, 1, "{name} on {paper}");
        }
    }
}

fn axe(html: &str, screen: Screen) -> Option<serde_json::Value> {
    told(
        html,
        &format!("<script src=\"axe.min.js\"></script><script>{AXE_RUN}</script>"),
        screen,
    )
}

#[test]
fn axe_finds_no_barrier_on_any_screen() {
    let (invented, alder_flat, open_field, farm) = (
        report(),
        page_of("alder-flat"),
        page_of("open-field"),
        farm_page(),
    );
    let pages = [&invented, &alder_flat, &farm]
        .into_iter()
        .flat_map(|html| [Screen::Light, Screen::Dark, Screen::Phone].map(|screen| (html, screen)));
    for (html, screen) in pages.chain([(&open_field, Screen::Light)]) {
        let Some(found) = axe(html, screen) else {
            return;
        };
        assert_eq!(
            (found["dark"] == true, found["width"] == PHONE),
            (screen == Screen::Dark, screen == Screen::Phone)
        );
        let passes = found["passes"]
            .as_array()
            .unwrap_or_else(|| panic!("axe ran: {found}"));
        for rule in [
            "color-contrast",
            "link-name",
            "list",
            "svg-img-alt",
            "nested-interactive",
            "td-headers-attr",
            "heading-order",
        ] {
            assert!(
                passes.iter().any(|pass| pass == rule),
                "{rule} was not looked at: {found}"
            );
        }
        // None at all, not only none that is serious or critical.
        assert_eq!(found["violations"], serde_json::json!([]), "{screen:?}");
    }
}

#[test]
fn axe_tells_a_page_with_barriers_from_one_without() {
    let html = report().replace(" lang=\"en\"", "").replace(
        "<main id=\"main\">",
        "<main id=\"main\"><p style=\"color:#ddd\">pale</p><button></button>",
    );
    let Some(found) = axe(&html, Screen::Light) else {
        return;
    };
    let ids: Vec<&str> = found["violations"]
        .as_array()
        .unwrap()
        .iter()
        .filter_map(|violation| violation["id"].as_str())
        .collect();
    assert!(
        ["html-has-lang", "color-contrast", "button-name"]
            .iter()
            .all(|id| ids.contains(id)),
        "{ids:?}"
    );
}

#[test]
fn the_page_as_delivered_loads_without_a_word_on_the_console() {
    for html in [report(), page_of("alder-flat"), farm_page()] {
        let folder = tempfile::tempdir().unwrap();
        let page = folder.path().join("report.html");
        std::fs::write(&page, html).unwrap();
        let picture = format!("--screenshot={}", folder.path().join("page.png").display());
        let Some(output) = chromium(&[&picture, &format!("file://{}", page.display())]) else {
            return;
        };
        let said = String::from_utf8_lossy(&output.stderr);
        assert!(!said.contains("CONSOLE"), "{said}");
        assert!(folder.path().join("page.png").exists(), "{said}");
    }
}

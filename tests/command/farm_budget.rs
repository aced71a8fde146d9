//! A farm's money, shared out over its fields.

use serde_json::Value;

use crate::farm_made::{another, assert_same, bytes_below, farm_file, write_all};
use crate::program::Folder;

/// A farm of four fields with a limit in USD; without one where it is `None`.
fn farm_with(limit: Option<u32>) -> Folder {
    let budget = limit.map_or(String::new(), |limit| {
        format!("\n[budget]\nlimit = \"{limit} USD\"\n")
    });
    let folder = Folder::with(&[("farm.toml", &farm_file("[\"*/plan.toml\"]", &budget))]);
    write_all(
        folder.path(),
        (0..4).flat_map(|number| another(number).files()),
    );
    folder
}

fn worked(folder: &Folder, more: &[&str]) -> Value {
    let ran = folder.run(&[&["farm", "farm.toml", "--json", "--quiet"], more].concat());
    assert!(ran.code < 2, "{}", ran.stderr);
    serde_json::from_str(&ran.stdout).unwrap()
}

/// Cost of products and work of all fields, by the summary of a run.
fn spent(summary: &Value) -> f64 {
    let of = |key: &str| summary[key].as_f64().unwrap();
    of("cost_usd") + of("work_usd")
}

#[test]
fn the_farms_money_is_never_passed() {
    let free = farm_with(None);
    let wanted = spent(&worked(&free, &["--out", "out"]));
    assert!(wanted > 500.0, "{wanted}");
    let mut most = 0.0_f64;
    for share in [0.0, 0.1, 0.3, 0.6, 0.9] {
        let limit = (wanted * share) as u32;
        let folder = farm_with(Some(limit));
        let summary = worked(&folder, &["--out", "out"]);
        let spent = spent(&summary);
        // The summary is in whole dollars.
        assert!(spent <= f64::from(limit) + 1.0, "{spent} of {limit}");
        assert!(
            summary["budget"]["fields_short"].as_u64() != Some(0),
            "{}",
            summary["budget"]
        );
        most = most.max(spent);
    }
    assert!(most > 0.0, "nothing was ever bought");
}

#[test]
fn parts_share_the_farms_money_as_one_run_does_and_so_does_a_run_that_goes_on() {
    let folder = farm_with(Some(400));
    worked(&folder, &["--out", "one", "--files", "rates"]);
    for part in ["2/2", "1/2"] {
        worked(
            &folder,
            &["--out", "parts", "--files", "rates", "--part", part],
        );
    }
    let joined = folder.run(&["farm", "join", "parts"]);
    assert!(joined.code < 2, "{}", joined.stderr);
    let mut one = bytes_below(&folder.path().join("one"));
    let mut parts = bytes_below(&folder.path().join("parts"));
    let manifest = "parts/manifest.json";
    assert!(one.remove(manifest).is_some() && parts.remove(manifest).is_some());
    assert_same(&one, &parts, "two parts");
    worked(&folder, &["--out", "one", "--files", "rates", "--resume"]);
    let mut again = bytes_below(&folder.path().join("one"));
    again.remove(manifest);
    assert_same(&one, &again, "a run that goes on");
}

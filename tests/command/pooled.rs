//! Several harvests pooled by the command.

use crate::program::Folder;

/// A verdict as `lowstave verdict` writes it, as far as pooling reads it. Invented.
fn verdict(field: &str, season: u16, gain: f64, standard_error: f64) -> String {
    serde_json::json!({
        "program": "lowstave", "version": "0.1.0", "form": 1,
        "field": field, "season": season, "crop": "corn", "run_sha256": format!("{field}{season}"),
        "sets": [{
            "treatment": "no starter", "products": ["starter"], "unit": "bu/ac",
            "field": {
                "gain": gain, "standard_error": standard_error,
                "interval_90": [gain - 2.0 * standard_error, gain + 2.0 * standard_error],
                "pays_from": 0.05, "strips": 4
            }
        }]
    })
    .to_string()
}

fn folders(verdicts: &[(&str, String)]) -> Folder {
    let folder = Folder::with(&[]);
    for (name, text) in verdicts {
        std::fs::create_dir(folder.path().join(name)).unwrap();
        std::fs::write(folder.path().join(name).join("verdict.json"), text).unwrap();
    }
    folder
}

/// Gains .42 .10 .31 .55 with errors .12 .15 .10 .20: `metafor::rma(y, v, method = "PM", test = "knha", level = 90)` (R) gives
/// 0.3299554, tau² 0.009384267, 90 % 0.1346718 to 0.5252390; it stops its search where steps differ by less than 1e-4 of the root.
#[test]
fn four_harvests_are_pooled_as_a_statistics_package_pools_them() {
    let folder = folders(&[
        ("a", verdict("Alder Flat", 2027, 0.42, 0.12)),
        ("b", verdict("Alder Flat", 2028, 0.10, 0.15)),
        ("c", verdict("Heron Quarter", 2028, 0.31, 0.10)),
        ("d", verdict("Alder Flat", 2029, 0.55, 0.20)),
    ]);
    let ran = folder.run(&["verdict", "a", "b", "c", "d", "--out", "pooled", "--json"]);
    assert_eq!(ran.code, 0, "{}", ran.stderr);
    let found = &ran.json()["treatments"][0];
    let number = |key: &str| found[key].as_f64().unwrap();
    assert!((number("gain") - 0.329_955_4).abs() < 2e-6, "{found}");
    assert!((number("between_standard_deviation").powi(2) - 0.009_384_267).abs() < 2e-5);
    let interval = &found["interval_90"];
    assert!(
        (interval[0].as_f64().unwrap() - 0.134_671_8).abs() < 2e-5,
        "{found}"
    );
    assert!(
        (interval[1].as_f64().unwrap() - 0.525_239_0).abs() < 2e-5,
        "{found}"
    );
    assert_eq!(found["finding"], "pays");
    // Three seasons, the last look: O'Brien and Fleming's limit at 5 % is 2.0040. One common gain: 0.3280233, error 0.0646997.
    assert!((number("limit_of_z") - 2.004_0).abs() < 1e-3, "{found}");
    assert!(
        (number("z") - 0.328_023_3 / 0.064_699_7).abs() < 1e-4,
        "{found}"
    );
    let told = std::fs::read_to_string(folder.path().join("pooled/pooled.txt")).unwrap();
    assert!(
        told.contains("together, 4 harvests: gain 0.3 (0.1 to 0.5) bu/ac"),
        "{told}"
    );
    assert!(
        told.lines().all(|line| line.chars().count() <= 80),
        "{told}"
    );
}

#[test]
fn two_harvests_are_told_side_by_side_and_an_early_look_is_held_back() {
    let folder = folders(&[
        ("a", verdict("Alder Flat", 2027, 4.0, 2.0)),
        ("b", verdict("Alder Flat", 2028, 5.0, 2.0)),
    ]);
    let ran = folder.run(&["verdict", "a", "b"]);
    assert_eq!(ran.code, 0, "{}", ran.stderr);
    for words in [
        "Alder Flat 2027: gain 4.0",
        "from 3 on they are pooled",
        "season 2 of 3",
        "2.45 is needed",
    ] {
        assert!(ran.stdout.contains(words), "{words}: {}", ran.stdout);
    }
}

#[test]
fn what_cannot_be_pooled_is_refused_in_words() {
    let folder = folders(&[
        ("a", verdict("Alder Flat", 2027, 4.0, 2.0)),
        ("again", verdict("Alder Flat", 2027, 4.0, 2.0)),
        (
            "beans",
            verdict("Alder Flat", 2028, 1.0, 2.0).replace("corn", "soybean"),
        ),
        ("other", "{\"program\": \"x\"}".to_owned()),
    ]);
    for (arguments, words) in [
        (&["verdict", "a", "again"][..], "one harvest counts once"),
        (&["verdict", "a", "beans"], "another crop"),
        (&["verdict", "a", "nowhere"], "judge this harvest first"),
        (&["verdict", "a", "other"], "it is not a verdict"),
        (
            &["verdict", "a", "beans", "--results", "x.csv"],
            "leave --results and --plan out",
        ),
        (&["verdict", "a"], "run.json"),
    ] {
        let ran = folder.run(arguments);
        assert!(
            ran.code == 2 || ran.code == 3,
            "{arguments:?}: {}",
            ran.stderr
        );
        assert!(ran.stderr.contains(words), "{words}: {}", ran.stderr);
    }
}

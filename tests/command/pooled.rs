//! Several harvests pooled by the command.

use crate::program::Folder;

/// A verdict as `lowstave verdict` writes it, as far as pooling reads it. Invented.
fn verdict(field: &str, season: u16, gain: f64, standard_error: f64) -> String {
    let verdict = serde_json::json!({
        "program": "lowstave", "version": "0.1.0", "form": 1, "checksum": "",
        "field": field, "season": season, "crop": "corn", "run_sha256": format!("{field}{season}"),
        "sets": [{
            "treatment": "no starter", "products": ["starter"], "unit": "bu/ac",
            "field": {
                "gain": gain, "standard_error": standard_error,
                "interval_90": [gain - 2.0 * standard_error, gain + 2.0 * standard_error],
                "pays_from": 0.05, "strips": 4
            }
        }]
    });
    serde_json::to_string_pretty(&verdict).unwrap()
}

/// With the checksum of its text, as `lowstave verdict` puts it in.
fn sealed(text: &str) -> String {
    let checksum = lowstave::files::sha256(text.as_bytes());
    text.replacen(
        "\"checksum\": \"\"",
        &format!("\"checksum\": \"{checksum}\""),
        1,
    )
}

fn folders(verdicts: &[(&str, String)]) -> Folder {
    let folder = Folder::with(&[]);
    for (name, text) in verdicts {
        std::fs::create_dir(folder.path().join(name)).unwrap();
        std::fs::write(folder.path().join(name).join("verdict.json"), sealed(text)).unwrap();
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
    // Three seasons, the last look: O'Brien and Fleming's limit at 5 % is 2.0040; the pooled error is 0.0829806.
    assert!((number("limit_of_z") - 2.004_0).abs() < 1e-3, "{found}");
    assert!(
        (number("z") - 0.329_955_4 / 0.082_980_6).abs() < 1e-3,
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

/// Three harvests that differ far more than their errors: the interval spans 0, and the look does not call it clear.
#[test]
fn harvests_that_contradict_each_other_are_not_called_clear() {
    let folder = folders(&[
        ("a", verdict("Alder Flat", 2027, -3.0, 1.3)),
        ("b", verdict("Alder Flat", 2028, 10.0, 1.3)),
        ("c", verdict("Alder Flat", 2029, 9.0, 1.3)),
    ]);
    let ran = folder.run(&["verdict", "a", "b", "c"]);
    assert_eq!(ran.code, 0, "{}", ran.stderr);
    assert!(
        ran.stdout.contains("not decided") && ran.stdout.contains("not clear after all of them"),
        "{}",
        ran.stdout
    );
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
        ("negative", verdict("Alder Flat", 2029, 4.0, -2.0)),
        (
            "outside",
            verdict("Alder Flat", 2030, 4.0, 2.0).replace("\"gain\": 4.0", "\"gain\": 40.0"),
        ),
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
        (&["verdict", "a", "negative"], "do not fit together"),
        (&["verdict", "a", "outside"], "do not fit together"),
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

/// Gains 8.2, 6.8 and 0.6: z is past the limit of the third look, but with three seasons that differ so much the interval holds 0.
#[test]
fn what_is_not_decided_is_not_clear_enough_to_stop() {
    let folder = folders(&[
        ("a", verdict("Alder Flat", 2027, 8.2, 0.9)),
        ("b", verdict("Alder Flat", 2028, 6.8, 0.9)),
        ("c", verdict("Alder Flat", 2029, 0.6, 0.9)),
    ]);
    let ran = folder.run(&["verdict", "a", "b", "c"]);
    assert!(
        ran.stdout.contains("not clear after all of them"),
        "{}",
        ran.stdout
    );
    // Two harvests do not tell how far seasons differ, however sure each is.
    let ran = folder.run(&["verdict", "a", "b", "--out", "two"]);
    assert!(ran.stdout.contains("too early to stop"), "{}", ran.stdout);
}

#[test]
fn one_harvest_file_and_strips_that_got_more_are_not_pooled() {
    let with = |key: &str, value: serde_json::Value, season: u16| {
        let text = verdict("Alder Flat", season, 4.0, 2.0);
        let mut found: serde_json::Value = serde_json::from_str(&text).unwrap();
        if key == "gets_more" {
            found["sets"][0][key] = value;
        } else {
            found[key] = value;
        }
        serde_json::to_string_pretty(&found).unwrap()
    };
    let file = serde_json::json!([{ "path": "harvest.csv", "sha256": "5f", "bytes": 1 }]);
    let folder = folders(&[
        ("a", with("inputs", file.clone(), 2027)),
        ("same", with("inputs", file, 2028)),
        ("more", with("gets_more", true.into(), 2029)),
    ]);
    for (other, words) in [
        ("same", "byte for byte"),
        ("more", "strips with more in place of less"),
    ] {
        let ran = folder.run(&["verdict", "a", other]);
        assert!(
            ran.code == 2 && ran.stderr.contains(words),
            "{}",
            ran.stderr
        );
    }
}

#[test]
fn an_edited_verdict_is_neither_pooled_nor_written_over() {
    let folder = folders(&[
        ("a", verdict("Alder Flat", 2027, 4.0, 2.0)),
        ("b", verdict("Alder Flat", 2028, 5.0, 2.0)),
    ]);
    let ran = folder.run(&["verdict", "a", "b", "--out", "out"]);
    assert_eq!(ran.code, 0, "{}", ran.stderr);
    let out = folder.path().join("out");
    let schema: serde_json::Value = serde_json::from_str(
        &std::fs::read_to_string(
            std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/schema/pooled.schema.json"),
        )
        .unwrap(),
    )
    .unwrap();
    let pooled: serde_json::Value =
        serde_json::from_slice(&std::fs::read(out.join("pooled.json")).unwrap()).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    let faults: Vec<String> = validator
        .iter_errors(&pooled)
        .map(|fault| fault.to_string())
        .collect();
    assert!(faults.is_empty(), "{}", faults.join("\n"));
    // A word of the user's in the text: kept, unless it is asked for.
    for name in ["pooled.txt", "pooled.json"] {
        let path = out.join(name);
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, text.replace("Alder Flat", "Alder flat")).unwrap();
        let ran = folder.run(&["verdict", "a", "b", "--out", "out"]);
        assert!(
            ran.code == 2 && ran.stderr.contains(name) && ran.stderr.contains("--force"),
            "{}",
            ran.stderr
        );
        assert!(
            std::fs::read_to_string(&path)
                .unwrap()
                .contains("Alder flat")
        );
        let ran = folder.run(&["verdict", "a", "b", "--out", "out", "--force"]);
        assert_eq!(ran.code, 0, "{}", ran.stderr);
        assert!(
            !std::fs::read_to_string(&path)
                .unwrap()
                .contains("Alder flat")
        );
    }
    // The gain of a verdict, raised by hand.
    let path = folder.path().join("a/verdict.json");
    let text = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, text.replace("\"gain\": 4.0", "\"gain\": 4.5")).unwrap();
    let ran = folder.run(&["verdict", "a", "b"]);
    assert!(ran.stderr.contains("it was edited"), "{}", ran.stderr);
}

/// What lies in the folder and is not of this program stays as it is; a link is not followed.
#[test]
fn a_file_of_the_users_is_not_written_over() {
    let folder = folders(&[
        ("a", verdict("Alder Flat", 2027, 4.0, 2.0)),
        ("b", verdict("Alder Flat", 2028, 5.0, 2.0)),
    ]);
    let (own, out) = (folder.path().join("notes.txt"), folder.path().join("out"));
    std::fs::create_dir(&out).unwrap();
    std::fs::write(&own, "mine").unwrap();
    std::fs::write(out.join("pooled.txt"), "mine").unwrap();
    let ran = folder.run(&["verdict", "a", "b", "--out", "out"]);
    assert!(
        ran.code == 2 && ran.stderr.contains("pooled.txt\" exists already"),
        "{}",
        ran.stderr
    );
    assert_eq!(
        std::fs::read_to_string(out.join("pooled.txt")).unwrap(),
        "mine"
    );
    assert!(!out.join("pooled.json").exists());
    std::fs::remove_file(out.join("pooled.txt")).unwrap();
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink(&own, out.join("pooled.json")).unwrap();
        assert_eq!(folder.run(&["verdict", "a", "b", "--out", "out"]).code, 2);
        assert_eq!(std::fs::read_to_string(&own).unwrap(), "mine");
        std::fs::remove_file(out.join("pooled.json")).unwrap();
    }
    // Our own files are replaced, and nothing else is left.
    for _ in 0..2 {
        assert_eq!(folder.run(&["verdict", "a", "b", "--out", "out"]).code, 0);
    }
    let mut left: Vec<_> = std::fs::read_dir(&out)
        .unwrap()
        .map(|entry| entry.unwrap().file_name())
        .collect();
    left.sort();
    assert_eq!(left, ["pooled.json", "pooled.txt"]);
}

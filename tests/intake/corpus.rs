//! Reads every case of the corpus and compares what came out, in words, with its snapshot.

use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use lowstave::intake::{IntakeError, LayerColumn, PointTable, Survey};
use lowstave::units::significant;

fn show_value(value: f64) -> String {
    if value.is_nan() {
        ".".to_owned()
    } else {
        significant(value, 7)
    }
}

fn show_layer(layer: &LayerColumn) -> String {
    let values: Vec<String> = layer
        .values
        .iter()
        .take(8)
        .map(|value| show_value(*value))
        .collect();
    let derived = if layer.derived { " (derived)" } else { "" };
    let mut out = format!(
        "  {} [{}] from \"{}\"{derived}: {}\n",
        layer.key.slug(),
        layer.unit,
        layer.column,
        values.join(" ")
    );
    for (at, qualifier) in &layer.qualified {
        let _ = writeln!(out, "    value {}: {qualifier:?}", at + 1);
    }
    out
}

fn show_table(table: &PointTable) -> String {
    let mut out = format!(
        "table {:?}, {} rows, {}\n",
        table.kind,
        table.x.len(),
        table.crs
    );
    for (at, (x, y)) in table.x.iter().zip(&table.y).enumerate().take(4) {
        let id = table
            .id
            .as_ref()
            .map_or(String::new(), |ids| format!(" \"{}\"", ids[at]));
        let _ = writeln!(
            out,
            "  row {}{id}: {} {}",
            table.row[at],
            show_value(*x),
            show_value(*y)
        );
    }
    table
        .layers
        .iter()
        .for_each(|layer| out.push_str(&show_layer(layer)));
    if let Some(cone) = &table.cone {
        let depths: Vec<String> = cone
            .depths
            .iter()
            .map(|depth| significant(depth.metres() * 100.0, 5))
            .collect();
        let _ = writeln!(
            out,
            "  cone at {} cm, moisture {:?}",
            depths.join(" "),
            cone.moisture
        );
    }
    out
}

fn show_survey(survey: &Survey) -> String {
    let rings: Vec<usize> = survey
        .boundary
        .shape
        .0
        .iter()
        .map(|polygon| 1 + polygon.interiors().len())
        .collect();
    let mut out = format!("boundary: rings {rings:?}, {}\n", survey.boundary.crs);
    survey
        .tables
        .iter()
        .for_each(|table| out.push_str(&show_table(table)));
    for remark in &survey.remarks {
        let place = remark
            .place
            .as_ref()
            .map_or(String::new(), |place| format!("{place}: "));
        let help = remark
            .help
            .as_ref()
            .map_or(String::new(), |help| format!("\n    -> {help}"));
        let _ = writeln!(
            out,
            "{} {}: {place}{}{help}",
            remark.level.name(),
            remark.code,
            remark.what
        );
    }
    out
}

fn show_errors(errors: &[IntakeError]) -> String {
    errors.iter().fold(String::new(), |mut out, error| {
        let _ = writeln!(out, "error: {error}");
        out
    })
}

fn show_case(folder: &Path) -> String {
    let files = lowstave::Files::folder(folder);
    let (settings, _) = match lowstave::plan::read(&files, Path::new("plan.toml")) {
        Ok(read) => read,
        Err(problems) => {
            return problems
                .iter()
                .map(|problem| format!("plan: {problem}\n"))
                .collect();
        }
    };
    match lowstave::intake::read(&files, &settings, 7.3) {
        Ok(survey) => show_survey(&survey),
        Err(errors) => show_errors(&errors),
    }
}

#[test]
fn every_case_of_the_corpus_is_read_as_expected() {
    let root = Path::new("tests/intake/corpus");
    let mut cases: Vec<_> = fs::read_dir(root)
        .expect("the corpus")
        .map(|entry| entry.expect("an entry").path())
        .collect();
    cases.retain(|path| path.is_dir());
    cases.sort();
    assert!(cases.len() >= 40, "the corpus has {} cases", cases.len());
    let mut settings = insta::Settings::clone_current();
    settings.set_snapshot_path("snapshots");
    settings.set_prepend_module_to_snapshot(false);
    settings.set_omit_expression(true);
    settings.bind(|| {
        for case in cases {
            let name = case
                .file_name()
                .and_then(|name| name.to_str())
                .expect("a name")
                .to_owned();
            let text = show_case(&case)
                .replace("tests/intake/corpus/", "")
                .replace(&format!("{name}/"), "");
            insta::assert_snapshot!(name, text);
        }
    });
}

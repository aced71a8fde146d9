//! Runs that follow one another give the bytes that each gives alone.

use lowstave::Files;
use lowstave::engine::{Session, Unwatched, Watch};
use serde_json::Value;

use crate::small_field;

fn files(plan: &str, cores: &str) -> Files {
    Files::memory([
        ("plan.toml", plan),
        ("boundary.geojson", &small_field::boundary()),
        ("cores.csv", cores),
    ])
}

/// All result files, the record without its timings.
fn delivered(run: &lowstave::Run) -> Vec<(String, Vec<u8>)> {
    let delivery = run.deliver().unwrap();
    let files = delivery.files.into_iter();
    files
        .map(|file| {
            if file.path != "run.json" {
                return (file.path, file.bytes);
            }
            let mut record: Value = serde_json::from_slice(&file.bytes).unwrap();
            record.as_object_mut().unwrap().remove("timings").unwrap();
            (file.path, serde_json::to_vec(&record).unwrap())
        })
        .collect()
}

fn is_as_alone(session: &mut Session, plan: &str, cores: &str) {
    let files = files(plan, cores);
    let in_session = session.run(&files, "plan.toml", &Unwatched).unwrap();
    let alone = lowstave::run(&files, "plan.toml").unwrap();
    for (own, wanted) in delivered(&in_session).iter().zip(delivered(&alone)) {
        assert!(*own == wanted, "{}: with the plan\n{plan}", own.0);
    }
    assert_eq!(in_session.remarks(), alone.remarks());
}

#[test]
fn each_run_of_a_session_is_as_it_is_alone() {
    let (plan, cores) = (small_field::PLAN, small_field::cores());
    let mut session = Session::default();
    let strips = "\n[strips]\nproducts = [\"starter\"]\nlength = \"300 ft\"\n";
    let plans = [
        plan.to_owned(),
        plan.replace("32 USD/ton", "60 USD/ton"),
        plan.replace("60 USD/ac", "5 USD/ac"),
        plan.to_owned(),
        plan.replace("count    = 3 ", "count    = \"auto\" "),
        format!("{plan}{strips}"),
        format!("{plan}\n[surface]\npower = 1.0\n"),
        format!("{plan}\n[people]\ngrower = \"somebody\"\n"),
        plan.replace("cell = \"30 m\"", "cell = \"25 m\""),
        plan.replace("units    = \"us\"", "units    = \"metric\""),
        plan.replace(
            "id   = \"core\"",
            "id   = \"core\"\nleave_out = [{ core = \"C7\", why = \"a test\" }]",
        ),
        // A line more at the top: every place that is told moves by a row.
        format!("# one line more\n{plan}"),
        plan.to_owned(),
    ];
    for plan in &plans {
        is_as_alone(&mut session, plan, &cores);
    }
    let fewer: Vec<&str> = cores.lines().take(22).collect();
    is_as_alone(&mut session, plan, &(fewer.join("\n") + "\n"));
    is_as_alone(&mut session, plan, &cores);
}

struct Stopped;

impl Watch for Stopped {
    fn is_cancelled(&self) -> bool {
        true
    }
}

#[test]
fn a_run_that_fails_or_is_stopped_leaves_the_session_sound() {
    let (plan, cores) = (small_field::PLAN, small_field::cores());
    let mut session = Session::default();
    is_as_alone(&mut session, plan, &cores);
    let bad = plan.replace("32 USD/ton", "32 USD/gal");
    assert!(
        session
            .run(&files(&bad, &cores), "plan.toml", &Unwatched)
            .is_err()
    );
    assert!(
        session
            .run(&files(plan, "core,lon\n"), "plan.toml", &Unwatched)
            .is_err()
    );
    assert!(
        session
            .run(&files(plan, &cores), "plan.toml", &Stopped)
            .is_err()
    );
    is_as_alone(&mut session, plan, &cores);
}

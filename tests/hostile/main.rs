//! Inputs that went wrong, or could: each is a line in `cases/`, and all are run here as one test.
//!
//! A case takes the good field of `good/`, spoils something, and says which exit code is right and which words have to be told.
//! Whatever a case says, no run may panic, blame the program, take long, flood the memory or leave a file behind that it does not
//! promise. A case that is not right yet says why; once it is right the test fails until those words are taken away, so that the
//! list can only shrink. See `README.md`.

#![cfg(unix)]
#![allow(
    clippy::too_many_lines,
    clippy::option_option,
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::print_stdout,
    reason = "a test that cannot go on fails, and says what it counted"
)]

mod case;
mod generated;
mod outcome;

use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};

use case::Case;

/// How many run at a time, each on one thread of its own.
const AT_A_TIME: usize = 4;

/// What is wrong with the outcome of each case, in their order.
fn faults(cases: &[Case]) -> Vec<Vec<String>> {
    let next = AtomicUsize::new(0);
    let found = Mutex::new(vec![Vec::new(); cases.len()]);
    std::thread::scope(|scope| {
        for _ in 0..AT_A_TIME {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(case) = cases.get(at) else { break };
                    let faults = outcome::faults(case);
                    found.lock().unwrap()[at] = faults;
                }
            });
        }
    });
    found.into_inner().unwrap()
}

#[test]
fn every_hostile_case_ends_with_the_code_and_the_words_that_are_right() {
    let wanted = std::env::var("LOWSTAVE_HOSTILE").unwrap_or_default();
    let mut cases = case::all();
    assert!(cases.len() >= 200, "{} cases", cases.len());
    cases.retain(|case| case.name.contains(&wanted));
    assert!(!cases.is_empty(), "no case is called \"{wanted}\"");
    let faults = faults(&cases);
    let (mut told, mut known) = (Vec::new(), 0);
    for (case, faults) in cases.iter().zip(&faults) {
        match (&case.known, faults.is_empty()) {
            (None, false) => told.push(format!("{}\n  {}", case.name, faults.join("\n  "))),
            (Some(_), true) => told.push(format!("{}\n  is right now: take `?` away", case.name)),
            (Some(_), false) => known += 1,
            (None, true) => {}
        }
    }
    println!("{} cases, {known} of them not right yet", cases.len());
    assert!(
        told.is_empty(),
        "{} of {}:\n\n{}",
        told.len(),
        cases.len(),
        told.join("\n\n")
    );
}

#[test]
fn every_case_has_a_name_of_its_own() {
    let mut names: Vec<String> = case::all().into_iter().map(|case| case.name).collect();
    let count = names.len();
    names.sort();
    names.dedup();
    assert_eq!(names.len(), count);
}

#[test]
fn a_case_that_may_succeed_waits_for_a_word_that_the_good_field_does_not_tell() {
    let cases = case::all();
    let good = cases
        .iter()
        .find(|case| case.is_good())
        .expect("the good field is a case");
    let told = outcome::told(good).expect("the good field is read");
    let idle: Vec<&str> = cases
        .iter()
        .filter(|case| case.is_right(1) && !case.is_good() && !case.words.is_empty())
        .filter(|case| case.words.iter().all(|word| told.contains(word.as_str())))
        .filter(|case| case.absent.is_empty() && case.most.is_empty())
        .map(|case| case.name.as_str())
        .collect();
    assert!(idle.is_empty(), "{}", idle.join("\n"));
}

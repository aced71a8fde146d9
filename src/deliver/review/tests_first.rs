//! What is not known and the tests that would tell.

use crate::deliver::overview::Overview;
use crate::diagnosis::Outcome;

/// What to test first, one line each, said once for the field.
#[must_use]
pub fn lines(_overview: &Overview<'_>) -> Vec<String> {
    Vec::new()
}

/// The factors of a zone that could not be judged, one line each.
#[must_use]
pub fn not_known(overview: &Overview<'_>, place: usize) -> Vec<String> {
    let findings = &overview.zones[place].diagnosis.findings;
    let settled = |outcome| matches!(outcome, Outcome::Limiting | Outcome::Adequate);
    let mut lines: Vec<String> = Vec::new();
    for finding in findings.iter().filter(|finding| !settled(finding.outcome)) {
        let is_judged = findings
            .iter()
            .any(|other| other.factor == finding.factor && settled(other.outcome));
        let line = format!("{}: {}", finding.factor.name(), finding.sentence);
        if !is_judged && !lines.contains(&line) {
            lines.push(line);
        }
    }
    lines
}

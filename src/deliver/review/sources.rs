//! What the numbers rest on.

use crate::deliver::overview::Overview;
use crate::text::capital;

/// One line per rule in use that research disputes.
pub(super) fn disputed(overview: &Overview<'_>) -> Vec<String> {
    let findings = overview
        .zones
        .iter()
        .flat_map(|view| &view.diagnosis.findings);
    let lines = findings.filter_map(|finding| {
        finding
            .disputed
            .as_ref()
            .map(|line| format!("{}: {line}", capital(finding.factor.name())))
    });
    unique(lines)
}

/// The sources of the thresholds and limits that were used, each with what it was used for.
pub(super) fn sources(overview: &Overview<'_>) -> Vec<String> {
    let mut uses: Vec<(String, Vec<String>)> = Vec::new();
    let mut add =
        |source: &str, used_for: String| match uses.iter_mut().find(|(known, _)| known == source) {
            Some((_, list)) if list.contains(&used_for) => {}
            Some((_, list)) => list.push(used_for),
            None => uses.push((source.to_owned(), vec![used_for])),
        };
    for finding in overview
        .zones
        .iter()
        .flat_map(|view| &view.diagnosis.findings)
    {
        add(&finding.source, finding.factor.name().to_owned());
    }
    if let Some(recipe) = &overview.stages.prescription.recipe {
        add(&recipe.seed_salt_source, "seed-safe salt".to_owned());
    }
    uses.into_iter()
        .filter(|(source, _)| !source.is_empty())
        .map(|(source, uses)| format!("{source} [{}]", uses.join(", ")))
        .collect()
}

fn unique(lines: impl Iterator<Item = String>) -> Vec<String> {
    let mut seen: Vec<String> = Vec::new();
    for line in lines {
        if !seen.contains(&line) {
            seen.push(line);
        }
    }
    seen
}

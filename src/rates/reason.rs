//! Why a zone gets what it gets, in one sentence with value, threshold and unit.

use super::draft::Draft;
use super::zone::Case;
use crate::diagnosis::{Finding, Outcome};
use crate::rulebook::{Metering, Rulebook};

pub(super) fn reason(case: Case<'_>, drafts: &[Draft]) -> String {
    let ground = match case.diagnosis.limits().next() {
        Some(first) => capital(&first.sentence),
        None => match nearest(case) {
            Some(finding) => format!(
                "Nothing measured is past its threshold; nearest to it, {}",
                finding.sentence
            ),
            None => "Nothing that a rule takes was measured here".to_owned(),
        },
    };
    format!("{ground}; {}.", actions(case, drafts))
}

fn actions(case: Case<'_>, drafts: &[Draft]) -> String {
    let mut actions: Vec<String> = Vec::new();
    for draft in drafts {
        let is_starter = draft.product == Rulebook::STARTER;
        let word = if draft.overridden.is_some() {
            " by the consultant's word"
        } else {
            ""
        };
        if draft.amount > 0.0 {
            actions.push(format!(
                "{} {}{word}",
                label(case, draft),
                case.show(draft.amount, draft.metering)
            ));
        } else if is_starter && case.bench.crop.takes_starter {
            actions.push(format!("no starter{word}"));
        }
    }
    if actions.is_empty() {
        "nothing is applied".to_owned()
    } else {
        actions.join(", ")
    }
}

fn label(case: Case<'_>, draft: &Draft) -> String {
    let product = case
        .bench
        .rulebook
        .product(&draft.product)
        .filter(|_| draft.metering == Metering::Dry || draft.product != Rulebook::STARTER);
    product.map_or_else(|| draft.product.clone(), |product| product.label.clone())
}

/// The adequate finding that lies nearest to its threshold, on the scale of its rule.
fn nearest(case: Case<'_>) -> Option<&Finding> {
    let distance = |finding: &Finding| {
        let rule = case.bench.rulebook.rule(&finding.rule)?;
        let value = finding.value?;
        let way = (finding.threshold - value).abs()
            / (rule.worst - rule.threshold).abs().max(f64::MIN_POSITIVE);
        way.is_finite().then_some(way)
    };
    let adequate = case
        .diagnosis
        .findings
        .iter()
        .filter(|finding| finding.outcome == Outcome::Adequate);
    adequate
        .filter_map(|finding| Some((distance(finding)?, finding)))
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map(|(_, finding)| finding)
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    // pH keeps its small letter.
    match letters.next() {
        Some(first) if !text.starts_with("pH") => first.to_uppercase().chain(letters).collect(),
        _ => text.to_owned(),
    }
}

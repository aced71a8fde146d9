//! Why a zone gets what it gets, in one sentence with value, threshold and unit.

use super::part_of_ground;
use super::pending_rate::PendingRate;
use super::zone_context::ZoneContext;
use crate::diagnosis::{Finding, Outcome};
use crate::rulebook::ProductName;
use crate::text::capital;

pub(super) fn reason(case: ZoneContext<'_>, pending: &[PendingRate]) -> String {
    let ground = match case.diagnosis.limits().next() {
        Some(first) => capital(&first.sentence),
        None => no_limit(case, pending),
    };
    format!("{ground}; {}.", actions(case, pending))
}

/// Why something goes out, or nothing, where no mean is past its threshold.
fn no_limit(case: ZoneContext<'_>, pending: &[PendingRate]) -> String {
    if let Some((finding, part)) = part_of_ground::given_for(case, pending) {
        return capital(&part_of_ground::words(finding, part));
    }
    match nearest(case) {
        Some(finding) => format!(
            "Nothing measured is past its threshold; nearest to it, {}",
            finding.sentence
        ),
        None => "Nothing that a rule takes was measured here".to_owned(),
    }
}

fn actions(case: ZoneContext<'_>, pending: &[PendingRate]) -> String {
    let mut actions: Vec<String> = Vec::new();
    for pending in pending {
        let word = match (&pending.overridden, &pending.cut) {
            (_, Some((asked, _))) => format!(
                " (the consultant set {})",
                case.show(*asked, pending.metering)
            ),
            (Some(_), None) => " by the consultant's word".to_owned(),
            (None, None) => String::new(),
        };
        if pending.amount > 0.0 {
            actions.push(format!(
                "{} {}{word}",
                label(case, pending),
                case.show(pending.amount, pending.metering)
            ));
        } else if pending.product == ProductName::Starter && case.field.crop.takes_starter {
            actions.push(format!("no starter{word}"));
        }
    }
    if actions.is_empty() {
        "nothing is applied".to_owned()
    } else {
        actions.join(", ")
    }
}

fn label<'p>(case: ZoneContext<'p>, pending: &'p PendingRate) -> &'p str {
    match (&pending.product, case.field.material(&pending.product)) {
        (ProductName::Product(_), Some(material)) => material.label(),
        (name, _) => name,
    }
}

/// The adequate finding that lies nearest to its threshold, on the scale of its rule.
fn nearest(case: ZoneContext<'_>) -> Option<&Finding> {
    let crop = &case.field.crop.name;
    let distance = |finding: &Finding| {
        let rule = case.field.rulebook.rule(&finding.rule)?;
        let value = finding.value?;
        let way = (finding.threshold - value).abs()
            / (rule.worst_for(crop) - rule.threshold_for(crop))
                .abs()
                .max(f64::MIN_POSITIVE);
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

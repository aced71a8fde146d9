//! The thresholds of the rules, each as a line of the listing.

use super::listing::Line;
use super::{Basis, Condition, Rule, Rulebook};
use crate::analyte::Method;
use crate::units::{METRES_PER_FOOT, Pressure, UnitSystem, decimal};

impl Rulebook {
    /// Every rule: its threshold, those of single crops, its other values, and where it holds.
    pub(super) fn rule_lines(&self, units: UnitSystem) -> Vec<Line> {
        let of = |rule| lines_of(rule, units);
        self.rules.iter().flat_map(of).collect()
    }
}

fn lines_of(rule: &Rule, units: UnitSystem) -> Vec<Line> {
    let mut lines = thresholds(rule, units);
    lines.extend(enough(rule));
    lines.extend(worst_and_further_values(rule));
    lines.extend(hard_from(rule, units));
    lines.extend(reach(rule, units));
    let conditions = rule.only_where.iter();
    lines.extend(conditions.map(|condition| where_it_holds(rule, condition)));
    lines
}

fn line(rule: &Rule, key: &str, value: f64, what: String) -> Line {
    Line {
        key: format!("rule.{}.{key}", rule.name),
        value: decimal(value, 6),
        unit: rule.unit.clone(),
        what,
        basis: rule.basis,
        source: rule.source.clone(),
        disputed: rule.disputed.clone(),
    }
}

/// What is measured, how and at which depth.
fn subject(rule: &Rule, units: UnitSystem) -> String {
    let methods = match rule.methods.as_slice() {
        [] => "any method".to_owned(),
        methods => methods
            .iter()
            .map(Method::name)
            .collect::<Vec<_>>()
            .join(" or "),
    };
    let depths = rule
        .depths
        .iter()
        .map(|depth| depth.show(units))
        .collect::<Vec<_>>()
        .join(" or ");
    format!("{} by {methods}, {depths}", rule.analyte.label())
}

fn thresholds(rule: &Rule, units: UnitSystem) -> Vec<Line> {
    let (factor, subject) = (rule.factor.name(), subject(rule, units));
    let what = format!("{factor}: {subject}: {}", rule.means);
    let mut lines = vec![line(rule, "threshold", rule.threshold, what)];
    lines.extend(rule.threshold_for.iter().map(|(crop, threshold)| {
        let what = format!("{factor}: {subject}, for {crop}");
        line(rule, &format!("threshold_for.{crop}"), *threshold, what)
    }));
    lines
}

fn enough(rule: &Rule) -> Vec<Line> {
    let for_all = rule
        .enough_from
        .map(|enough| ("enough_from".to_owned(), enough));
    let for_crops = rule.enough_from_for.iter();
    let for_crops = for_crops.map(|(crop, enough)| (format!("enough_from_for.{crop}"), *enough));
    let what =
        "enough by every state's table; between it and the threshold the region decides".to_owned();
    for_all
        .into_iter()
        .chain(for_crops)
        .map(|(key, enough)| line(rule, &key, enough, what.clone()))
        .collect()
}

fn worst_and_further_values(rule: &Rule) -> Vec<Line> {
    let what = format!("severity is at its greatest, {}", decimal(rule.most, 3));
    let mut lines = vec![line(rule, "worst", rule.worst, what)];
    lines.extend(rule.closes_from.map(|from| {
        let what = "from here on it closes what it closes, for every crop".to_owned();
        line(rule, "closes_from", from, what)
    }));
    lines.extend(rule.target.map(|target| {
        let what = "what an amendment aims at".to_owned();
        line(rule, "target", target, what)
    }));
    lines
}

/// The cone index that counts as hard, where the rule counts pushes.
fn hard_from(rule: &Rule, units: UnitSystem) -> Option<Line> {
    let limit = rule.limit?;
    let what = "cone index that counts as hard".to_owned();
    Some(Line {
        value: decimal(limit.number_in(units), 1),
        unit: Pressure::unit_in(units).to_owned(),
        ..line(rule, "limit", 0.0, what)
    })
}

/// How deep a push must have gone.
fn reach(rule: &Rule, units: UnitSystem) -> Option<Line> {
    let what = "a push that ends above this depth and met nothing hard is not counted".to_owned();
    let metres = rule.reach?.metres();
    let (value, unit) = match units {
        UnitSystem::UnitedStates => (metres / METRES_PER_FOOT * 12.0, "in"),
        UnitSystem::Metric => (100.0 * metres, "cm"),
    };
    Some(Line {
        value: decimal(value, 1),
        unit: unit.to_owned(),
        basis: Basis::Own,
        source: "pans of tillage lie at 6 to 10 in".to_owned(),
        ..line(rule, "reach", 0.0, what)
    })
}

fn where_it_holds(rule: &Rule, condition: &Condition) -> Line {
    let what = format!(
        "holds only where {} is {} this: {}",
        condition.analyte.label(),
        condition.side.name(),
        condition.why
    );
    let key = format!("only_where.{}", condition.name);
    Line {
        unit: condition.unit.clone(),
        basis: condition.basis,
        source: condition.source.clone(),
        ..line(rule, &key, condition.value, what)
    }
}

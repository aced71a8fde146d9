//! What there is to say of the logs of what was applied.

use crate::remark::Remark;
use crate::trial::applied::OffPlan;
use crate::trial::strip_plan::StripPlan;

/// More records than this share outside of the log are told.
const NOT_LOGGED: f64 = 0.05;

/// Where the plan was not kept, where nobody knows, or that it was.
pub(super) fn off_plan_remarks(applied: &[OffPlan], strips: &StripPlan) -> Vec<Remark> {
    let mut remarks: Vec<Remark> = applied.iter().flat_map(of_one).collect();
    let mut unknown: Vec<&str> = strips
        .sets
        .iter()
        .flat_map(|set| &set.products)
        .filter(|product| applied.iter().all(|log| log.product != **product))
        .map(String::as_str)
        .collect();
    unknown.sort_unstable();
    unknown.dedup();
    if !unknown.is_empty() {
        let what = format!(
            "no log says what was applied of {}; strips and their sides are taken to have had what the plan says",
            unknown.join(", ").replace('_', " ")
        );
        remarks.push(Remark::assumption("no-applied-log", what).help(
            "name the planter's or spreader's log in the plan: [[results]] file, kind = \"applied\", product, and give --plan",
        ));
    }
    remarks
}

fn of_one(log: &OffPlan) -> Vec<Remark> {
    let product = log.product.replace('_', " ");
    let seen = log.logged + log.not_logged;
    let mut remarks = Vec::new();
    if seen == 0 || log.logged == 0 {
        let what = format!(
            "the log of {product} does not lie on the strips \"{}\" or beside them: it says nothing of them",
            log.treatment
        );
        remarks.push(Remark::warning("log-elsewhere", what));
        return remarks;
    }
    if log.off > 0 {
        let what = format!(
            "another rate of {product} went out than planned under {} of {} harvest records (strips, their sides, and the passes that measure \
             chance); they are left out{}",
            log.off,
            log.logged,
            named(". Not laid as planned: ", &log.wrong_strips)
        );
        remarks.push(Remark::warning("off-plan", what));
    } else if log.unknown_strips.is_empty() {
        let what = format!(
            "the log of {product} agrees with the plan on every strip \"{}\" and its sides ({} harvest records with the passes that measure chance)",
            log.treatment, log.logged
        );
        remarks.push(Remark::info("as-planned", what));
    }
    if !log.unknown_strips.is_empty() {
        let what = format!(
            "the log of {product} says nothing of these strips or of a side of them: {}; they are judged as if the plan had been kept",
            log.unknown_strips.join(", ")
        );
        remarks.push(Remark::warning("strips-not-logged", what));
    }
    if log.not_logged as f64 > NOT_LOGGED * seen as f64 {
        let share = (100.0 * log.not_logged as f64 / seen as f64).round();
        let what = format!(
            "the log of {product} does not reach {share} % of the harvest records on the strips \"{}\" and beside them; there the plan is taken to \
             have been kept",
            log.treatment
        );
        remarks.push(Remark::warning("log-has-gaps", what));
    }
    remarks
}

fn named(lead: &str, names: &[String]) -> String {
    if names.is_empty() {
        return String::new();
    }
    format!("{lead}{}", names.join(", "))
}

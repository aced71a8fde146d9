//! Changes become texts: a plan and a rulebook are changed key by key, and every comment of theirs stays.

mod document;
mod keys;
mod plan_edits;
mod point_edits;
mod reason;
mod rule_edits;
mod value;

pub use reason::Reason;

use super::change::Change;
use super::refused::Refused;
use super::texts::Texts;
use document::document;

/// The rulebook file of a plan that names none, where there is no file of that name.
pub const RULES: &str = "desk-rules.toml";

/// The texts with some changes made; without a reason they are only tried. A threshold of a plan that names no rulebook goes into a new file,
/// `new_rules`.
///
/// # Errors
/// A text that is not TOML; a key that the page does not change.
pub fn changed(
    texts: &Texts,
    changes: &[Change],
    reason: Option<Reason<'_>>,
    new_rules: &str,
) -> Result<Texts, Refused> {
    let mut plan = document(&texts.plan_file, &texts.plan)?;
    let mut rules = texts.rules.clone();
    for change in changes {
        match change {
            Change::Set { key, value } => plan_edits::set(&mut plan, key, value, reason)?,
            Change::Unset { key } => plan_edits::unset(&mut plan, key)?,
            Change::Override {
                at,
                inside,
                product,
                rate,
                why,
            } => {
                let ground = plan_edits::ground(*at, inside.as_deref())?;
                plan_edits::add_override(&mut plan, ground, [product, rate, why])?;
            }
            Change::NoOverride { at } => plan_edits::remove_override(&mut plan, *at)?,
            Change::StripsAnywhere => plan_edits::strips_anywhere(&mut plan),
            Change::Results { file, kind } => plan_edits::add_results(&mut plan, file, kind)?,
            Change::LeaveOut { file, sample, why } => {
                point_edits::leave_out(&mut plan, file, sample, why)?;
            }
            Change::TakeBack { file, sample } => point_edits::take_back(&mut plan, file, sample)?,
            Change::Column {
                file,
                column,
                is,
                method,
                unit,
                depth,
            } => {
                let meaning = point_edits::Meaning {
                    is: is.as_deref(),
                    method: method.as_deref(),
                    unit: unit.as_deref(),
                    depth: depth.as_deref(),
                };
                point_edits::column(&mut plan, file, column, &meaning)?;
            }
            Change::Threshold { rule, value } => {
                let (name, text) = match rules.take() {
                    Some(known) => known,
                    None => (rule_edits::link(&mut plan, new_rules)?, String::new()),
                };
                let text = rule_edits::threshold(&name, &text, (rule, *value), reason)?;
                rules = Some((name, text));
            }
        }
    }
    Ok(Texts {
        plan_file: texts.plan_file.clone(),
        plan: plan.to_string(),
        rules,
    })
}

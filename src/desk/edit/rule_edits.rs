//! Thresholds: a line of the user's own, laid over the built-in rulebook.

use toml_edit::{DocumentMut, Item, Table, value};

use super::document::document;
use super::reason::Reason;
use super::value::replace;
use crate::desk::refused::Refused;

/// Names a rulebook file in a plan that names none.
pub(super) fn link(plan: &mut DocumentMut, file: &str) -> Result<String, Refused> {
    let rules = plan
        .entry("rules")
        .or_insert_with(|| Item::Table(Table::new()));
    let table = rules
        .as_table_like_mut()
        .ok_or_else(|| Refused::Malformed("\"rules\" is no table in this plan".to_owned()))?;
    table.insert("file", value(file));
    Ok(file.to_owned())
}

/// The text of a rulebook with a threshold of the user's own. It is no longer the published number, so basis and source are the user's
/// own too.
pub(super) fn threshold(
    file: &str,
    text: &str,
    (rule, number): (&str, f64),
    reason: Option<Reason<'_>>,
) -> Result<String, Refused> {
    let is_name = rule.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
    if rule.is_empty() || rule.len() > 100 || !is_name || !number.is_finite() {
        let what = format!("\"{rule}\" is no name of a rule, or its number is not finite");
        return Err(Refused::Malformed(what));
    }
    let mut rules = document(file, text)?;
    let all = rules.entry("rule").or_insert_with(|| {
        let mut table = Table::new();
        table.set_implicit(true);
        Item::Table(table)
    });
    let all = all
        .as_table_like_mut()
        .ok_or_else(|| Refused::Malformed(format!("{file}: \"rule\" is no table")))?;
    let own = all.entry(rule).or_insert_with(|| Item::Table(Table::new()));
    let own = own
        .as_table_like_mut()
        .ok_or_else(|| Refused::Malformed(format!("{file}: \"{rule}\" is no table")))?;
    let source = match reason {
        Some(reason) => format!("own line of {}: {}", reason.day, reason.why),
        None => "tried on the page, not kept".to_owned(),
    };
    let entries = [
        ("threshold", value(number)),
        ("basis", value("own")),
        ("source", value(source)),
    ];
    for (key, item) in entries {
        match (own.get_mut(key), item) {
            (Some(old), Item::Value(new)) => replace(old, new),
            (_, item) => drop(own.insert(key, item)),
        }
    }
    Ok(rules.to_string())
}

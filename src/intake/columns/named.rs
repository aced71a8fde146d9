//! Columns that the plan names.

use crate::intake::columns::header::Header;
use crate::intake::columns::nearest::nearest;
use crate::intake::context::Context;
use crate::intake::error::IntakeError;

/// Finds a column that the plan names; notes an error where it is not there.
pub(in crate::intake) fn named(
    header: &Header,
    context: &mut Context<'_>,
    name: &str,
    role: &str,
) -> Option<usize> {
    if let Some(at) = header.find(name) {
        return Some(at);
    }
    let numbered: Vec<&String> = header
        .names
        .iter()
        .filter(|own| {
            own.rsplit_once('#')
                .is_some_and(|(bare, _)| bare == name.trim())
        })
        .collect();
    if let Some(first) = numbered.first() {
        let line = format!("\"{first}\"");
        let what = format!(
            "{} columns are called \"{name}\"; they are numbered {}",
            numbered.len(),
            quoted(&numbered)
        );
        context.errors.push(IntakeError::Tie {
            place: context.column(name),
            what,
            line,
        });
        return None;
    }
    let nearest = nearest(name, &header.names);
    context.errors.push(IntakeError::MissingColumn {
        place: context.place(),
        column: name.to_owned(),
        role: role.to_owned(),
        nearest,
    });
    None
}

fn quoted(names: &[&String]) -> String {
    names
        .iter()
        .map(|name| format!("\"{name}\""))
        .collect::<Vec<_>>()
        .join(", ")
}

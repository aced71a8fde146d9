//! Columns that are not read: each is named once, so that nothing leaves a file unsaid.

use crate::remark::Remark;

use crate::intake::columns::Header;
use crate::intake::columns::reading_column::column_mark;
use crate::intake::context::Context;

/// Why some columns are not read.
pub(in crate::intake) struct Reason {
    code: &'static str,
    what: &'static str,
}

/// The catalogue does not know them.
pub(in crate::intake) const NOT_RECOGNISED: Reason = Reason {
    code: "columns-not-recognised",
    what: "columns not recognised and not used",
};
/// They hold no results.
pub(in crate::intake) const RECOMMENDATIONS: Reason = Reason {
    code: "recommendations-not-read",
    what: "columns of recommendations, which are never read as results",
};

/// Columns that nobody has claimed. One without a name counts where something stands in it.
pub(in crate::intake) fn unclaimed(header: &Header, claimed: &[usize]) -> Vec<usize> {
    let holds_something = |at: usize| {
        let cells = header.sample.iter().filter_map(|row| row.get(at));
        cells.into_iter().any(|cell| !cell.trim().is_empty())
    };
    (0..header.names.len())
        .filter(|at| !claimed.contains(at))
        .filter(|at| !header.name(*at).is_empty() || holds_something(*at))
        .collect()
}

/// Names columns that are not read.
pub(in crate::intake) fn note_unused(
    header: &Header,
    context: &mut Context<'_>,
    reason: &Reason,
    columns: &[usize],
) {
    if columns.is_empty() {
        return;
    }
    let name = |at: &usize| match header.name(*at) {
        "" => format!("column {} (without a name)", at + 1),
        name => format!("\"{name}\""),
    };
    let list = columns.iter().map(name).collect::<Vec<_>>().join(", ");
    let remark = Remark::info(reason.code, format!("{}: {list}", reason.what));
    context.remarks.push(
        remark
            .at(context.place())
            .help("name a column under [points.columns] to use it, or list it in ignore"),
    );
}

/// Names all that is left.
pub(in crate::intake) fn note_the_rest(
    header: &Header,
    context: &mut Context<'_>,
    claimed: &[usize],
) {
    let mut rest = unclaimed(header, claimed);
    let ignored = |at: &usize| {
        let names = &context.settings.ignore;
        names.iter().any(|name| header.find(name) == Some(*at))
    };
    rest.retain(|at| !ignored(at));
    note_unused(header, context, &NOT_RECOGNISED, &rest);
}

/// Columns that look like cone readings, where the plan names others: a depth is missing from the profile.
pub(in crate::intake) fn note_readings_left_out(
    header: &Header,
    context: &mut Context<'_>,
    claimed: &mut Vec<usize>,
) {
    let left: Vec<usize> = unclaimed(header, claimed)
        .into_iter()
        .filter(|at| column_mark(header, *at).is_some() && header.is_numeric(*at))
        .collect();
    let names: Vec<String> = left
        .iter()
        .map(|at| format!("\"{}\"", header.name(*at)))
        .collect();
    if !names.is_empty() {
        let what = format!(
            "{} look like cone readings, but depths in the plan does not name them: the profile lacks these depths",
            names.join(", ")
        );
        let help = "add them to depths with their depth, or list them in ignore";
        context.remarks.push(
            Remark::warning("cone-columns-left-out", what)
                .at(context.place())
                .help(help),
        );
    }
    claimed.extend(left);
}

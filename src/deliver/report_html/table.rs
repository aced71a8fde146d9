//! Tables and lists as markup; every text is escaped here.

use std::fmt::Write;

use crate::deliver::escape::markup;

/// A table of at most so many rows stays on one page.
const SHORT: usize = 14;
/// A table of more columns is wider than a phone and scrolls.
const MANY: usize = 6;

/// A table with a caption. Columns whose head starts with `#` are numbers, set to the right.
#[must_use]
pub fn table(caption: &str, heads: &[&str], rows: &[Vec<String>]) -> String {
    let is_number: Vec<bool> = heads.iter().map(|head| head.starts_with('#')).collect();
    let class = |at: usize| {
        if is_number.get(at) == Some(&true) {
            " class=\"n\""
        } else {
            ""
        }
    };
    let mut out = format!(
        "<div class=\"scroll{1}{2}\" tabindex=\"0\" role=\"group\" aria-label=\"{0}\"><table><caption>{0}</caption><thead><tr>",
        markup(caption),
        if rows.len() <= SHORT { " short" } else { "" },
        if heads.len() > MANY { " many" } else { "" }
    );
    for (at, head) in heads.iter().enumerate() {
        let _ = write!(
            out,
            "<th scope=\"col\"{}>{}</th>",
            class(at),
            markup(head.trim_start_matches('#'))
        );
    }
    out.push_str("</tr></thead><tbody>");
    for row in rows {
        out.push_str("<tr>");
        for (at, cell) in row.iter().enumerate() {
            let tag = if at == 0 { "th scope=\"row\"" } else { "td" };
            let _ = write!(out, "<{tag}{}>{}</{}>", class(at), markup(cell), &tag[..2]);
        }
        out.push_str("</tr>");
    }
    out.push_str("</tbody></table></div>");
    out
}

/// A list; nothing where there are no lines.
#[must_use]
pub fn list(lines: &[String]) -> String {
    if lines.is_empty() {
        return String::new();
    }
    format!(
        "<ul>{}</ul>",
        lines
            .iter()
            .map(|line| format!("<li>{}</li>", markup(line)))
            .collect::<Vec<_>>()
            .concat()
    )
}

/// A chapter with its heading; nothing where it has no body.
#[must_use]
pub fn chapter(id: &str, title: &str, body: &str) -> String {
    if body.is_empty() {
        return String::new();
    }
    format!(
        "<section id=\"{id}\" aria-labelledby=\"h-{id}\"><h2 id=\"h-{id}\">{}</h2>{body}</section>",
        markup(title)
    )
}

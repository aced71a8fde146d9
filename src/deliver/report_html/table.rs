//! Tables and lists as markup.

use maud::{Markup, html};

use super::plain;

/// A table of more columns is wider than a phone and scrolls.
const MANY: usize = 6;

/// A table with a caption. Columns whose head starts with `#` are numbers, set to the right.
#[must_use]
pub fn table(caption: &str, heads: &[&str], rows: &[Vec<String>]) -> Markup {
    let class = |at: usize| {
        let is_number = heads.get(at).is_some_and(|head| head.starts_with('#'));
        is_number.then_some("n")
    };
    html! {
        div.scroll.many[heads.len() > MANY] tabindex="0" role="group" aria-label=(plain(caption)) {
            table {
                caption { (plain(caption)) }
                thead { tr {
                    @for (at, head) in heads.iter().enumerate() {
                        th scope="col" class=[class(at)] { (plain(head.trim_start_matches('#'))) }
                    }
                } }
                tbody {
                    @for row in rows { tr {
                        @for (at, cell) in row.iter().enumerate() {
                            @if at == 0 {
                                th scope="row" class=[class(at)] { (plain(cell)) }
                            } @else {
                                td class=[class(at)] { (plain(cell)) }
                            }
                        }
                    } }
                }
            }
        }
    }
}

/// A list; nothing where there are no lines.
#[must_use]
pub fn list(lines: &[String]) -> Markup {
    html! {
        @if !lines.is_empty() {
            ul { @for line in lines { li { (plain(line)) } } }
        }
    }
}

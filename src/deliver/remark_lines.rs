//! Remarks as a chapter of a text page, the gravest first.

use crate::remark::{Level, Remark};
use crate::text::{Page, capital};

/// Adds the chapter; nothing where there is no remark.
pub(super) fn push_remarks(page: &mut Page, remarks: &[Remark]) {
    if remarks.is_empty() {
        return;
    }
    page.chapter("Remarks");
    for level in [Level::Warning, Level::Assumption, Level::Info] {
        for remark in remarks.iter().filter(|remark| remark.level == level) {
            page.item(&format!("{:<8} ", level.name()), &capital(&remark.what));
            if let Some(help) = &remark.help {
                page.item("         -> ", &capital(help));
            }
        }
    }
}

//! A line on stderr that says how many fields are done, how fast, and how long the rest will take.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::terminal::Terminal;
use crate::engine::Grant;
use crate::farm::{FarmField, FarmWatch};

/// Shows how far the farm is, and hands on whether the user wants it to stop.
pub(super) struct FarmProgress<'a> {
    bar: ProgressBar,
    grant: Grant,
    is_stopped: &'a (dyn Fn() -> bool + Sync),
}

impl<'a> FarmProgress<'a> {
    pub(super) fn new(
        terminal: Terminal,
        grant: Grant,
        is_stopped: &'a (dyn Fn() -> bool + Sync),
    ) -> Self {
        let target = if terminal.shows_progress() {
            ProgressDrawTarget::stderr()
        } else {
            ProgressDrawTarget::hidden()
        };
        let bar = ProgressBar::with_draw_target(None, target);
        let form = "{bar:20} {pos} of {len} fields, {per_sec}, {eta} left {msg}";
        if let Ok(style) = ProgressStyle::with_template(form) {
            bar.set_style(style);
        }
        Self {
            bar,
            grant,
            is_stopped,
        }
    }
}

impl FarmWatch for FarmProgress<'_> {
    fn grant(&self) -> Grant {
        self.grant
    }

    fn begins(&self, fields: usize, kept: usize) {
        self.bar.set_length(fields as u64);
        self.bar.reset_eta();
        if kept > 0 {
            self.bar.set_message(format!("({kept} kept)"));
        }
    }

    fn done(&self, field: &FarmField, has_result: bool) {
        if !has_result {
            self.bar
                .println(format!("{}: no result; see problems.csv", field.id));
        }
        self.bar.inc(1);
    }

    fn is_stopped(&self) -> bool {
        (self.is_stopped)()
    }
}

impl Drop for FarmProgress<'_> {
    fn drop(&mut self) {
        self.bar.finish_and_clear();
    }
}

use std::time::Instant;

use super::watch::{Step, Watch};
use crate::error::{Error, Failure};

/// Times the steps, tells the watch of each, and stops where the watch says so.
pub(super) struct Stopwatch<'w> {
    watch: &'w dyn Watch,
    timings: Vec<(&'static str, f64)>,
}

impl<'w> Stopwatch<'w> {
    pub(super) fn new(watch: &'w dyn Watch) -> Self {
        Self {
            watch,
            timings: Vec::new(),
        }
    }

    /// Does the work of a step and keeps the seconds that it took.
    pub(super) fn time<T>(&mut self, step: Step, work: impl FnOnce() -> T) -> Result<T, Failure> {
        if self.watch.is_cancelled() {
            return Err(Error::Cancelled.into());
        }
        self.watch.begins(step);
        let start = Instant::now();
        let made = work();
        let seconds = start.elapsed().as_secs_f64();
        // A step is done again for each zoning that is compared with the others.
        match self
            .timings
            .iter_mut()
            .find(|(stage, _)| *stage == step.stage())
        {
            Some((_, sum)) => *sum += seconds,
            None => self.timings.push((step.stage(), seconds)),
        }
        Ok(made)
    }

    pub(super) fn watch(&self) -> &'w dyn Watch {
        self.watch
    }

    pub(super) fn into_timings(self) -> Vec<(&'static str, f64)> {
        self.timings
    }
}

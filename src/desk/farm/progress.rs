use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use serde::Serialize;

use crate::desk::turn::Turn;
use crate::engine::Watch as _;
use crate::farm::{FarmField, FarmWatch};

/// How far the work on the fields is, for every window that asks.
#[derive(Debug, Default)]
pub struct Progress {
    is_running: AtomicBool,
    fields: AtomicUsize,
    done: AtomicUsize,
    last: Mutex<String>,
}

/// The same as told.
#[derive(Debug, Serialize)]
pub struct ProgressFacts {
    /// Whether fields are being worked on.
    pub is_running: bool,
    /// How many fields there are to work on.
    pub fields: usize,
    /// How many of them are done.
    pub done: usize,
    /// The one that was done last.
    pub last: String,
}

impl Progress {
    /// How far it is.
    #[must_use]
    pub fn told(&self) -> ProgressFacts {
        let last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        ProgressFacts {
            is_running: self.is_running.load(Ordering::Relaxed),
            fields: self.fields.load(Ordering::Relaxed),
            done: self.done.load(Ordering::Relaxed),
            last: last.clone(),
        }
    }

    /// Does work whose progress is told.
    pub fn during<T>(&self, work: impl FnOnce() -> T) -> T {
        self.fields.store(0, Ordering::Relaxed);
        self.done.store(0, Ordering::Relaxed);
        self.is_running.store(true, Ordering::Relaxed);
        let made = work();
        self.is_running.store(false, Ordering::Relaxed);
        made
    }
}

/// Tells how far the work is, and stops it where a newer change of the same window came.
pub struct Watched<'w> {
    /// Where it is told.
    pub progress: &'w Progress,
    /// Whose change it is.
    pub turn: &'w Turn,
}

impl FarmWatch for Watched<'_> {
    fn begins(&self, fields: usize, _kept: usize) {
        self.progress.fields.store(fields, Ordering::Relaxed);
    }

    fn done(&self, field: &FarmField, _has_result: bool) {
        self.progress.done.fetch_add(1, Ordering::Relaxed);
        let mut last = self
            .progress
            .last
            .lock()
            .unwrap_or_else(PoisonError::into_inner);
        last.clone_from(&field.id);
    }

    fn is_stopped(&self) -> bool {
        self.turn.is_cancelled()
    }
}

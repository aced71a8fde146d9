//! A line on stderr that says what is being done, for work that takes more than a second.

use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread::{self, JoinHandle};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

use super::color::Tone;
use super::page::Page;
use super::terminal::Terminal;
use crate::engine::{Demand, Grant, Step, Watch};

/// Shorter work is done before a line could be read.
const PATIENCE: Duration = Duration::from_secs(1);
const TICK: Duration = Duration::from_millis(100);

/// Shows what is being done while it lives, and tells the engine what the machine has free.
#[derive(Debug)]
pub struct Progress {
    terminal: Terminal,
    grant: Grant,
    board: Arc<Board>,
    shower: Option<JoinHandle<()>>,
}

#[derive(Debug, Default)]
struct Board {
    state: Mutex<State>,
    changed: Condvar,
}

#[derive(Debug, Default)]
struct State {
    doing: &'static str,
    is_over: bool,
}

impl Board {
    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Waits until the work is over, at most for a while; says whether it is.
    fn is_over_within(&self, while_: Duration) -> bool {
        let waited = self
            .changed
            .wait_timeout_while(self.state(), while_, |state| !state.is_over);
        waited.unwrap_or_else(PoisonError::into_inner).0.is_over
    }
}

impl Progress {
    /// A line that appears after a second; none at all where it may not be shown.
    #[must_use]
    pub fn new(terminal: Terminal, grant: Grant) -> Self {
        let board = Arc::new(Board::default());
        let shower = terminal.shows_progress().then_some(()).and_then(|()| {
            let board = Arc::clone(&board);
            // Where no thread can be had the work goes on without the line.
            let shower = thread::Builder::new().spawn(move || show(&board));
            shower.ok()
        });
        Self {
            terminal,
            grant,
            board,
            shower,
        }
    }

    /// Says what is being done now.
    pub fn doing(&self, what: &'static str) {
        self.board.state().doing = what;
    }
}

impl Watch for Progress {
    fn begins(&self, step: Step) {
        self.doing(step.words());
    }

    fn grant(&self) -> Grant {
        self.grant
    }

    fn expects(&self, demand: &Demand) {
        if demand.writes_much() && self.grant.disk_free.is_some() {
            let mut page = Page::default();
            let what = format!(
                "about to write up to {} of files, in about {}",
                demand.disk.in_words(),
                demand.time.in_words()
            );
            page.pieces([(Tone::Look, "check: ".to_owned()), (Tone::Plain, what)]);
            self.terminal.talk(&page);
        }
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.board.state().is_over = true;
        self.board.changed.notify_all();
        if let Some(shower) = self.shower.take() {
            // The thread only draws; if it has failed there is nothing to clean up.
            let _ = shower.join();
        }
    }
}

fn show(board: &Board) {
    if board.is_over_within(PATIENCE) {
        return;
    }
    let bar = ProgressBar::new_spinner();
    if let Ok(style) = ProgressStyle::with_template("{spinner} {msg} ({elapsed})") {
        bar.set_style(style);
    }
    loop {
        bar.set_message(board.state().doing);
        bar.tick();
        if board.is_over_within(TICK) {
            break;
        }
    }
    bar.finish_and_clear();
}

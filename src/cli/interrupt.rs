//! Ctrl-C and the end of a batch job: nothing half-written stays behind, and the exit code is the usual one, 128 and
//! the number of the signal.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// What the program is doing when a signal comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Phase {
    /// Nothing of the result is on the disk: the program may end at once.
    Working,
    /// The result is being written: the writer stops and tidies up.
    Writing,
}

/// Listens to the signals that ask the program to end.
#[derive(Debug, Clone)]
pub struct Interrupt(Arc<State>);

#[derive(Debug)]
struct State {
    phase: Mutex<Phase>,
    is_asked: AtomicBool,
    code: Mutex<Option<u8>>,
}

impl State {
    fn phase(&self) -> MutexGuard<'_, Phase> {
        self.phase.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Interrupt {
    /// Begins to listen. Where no thread can be had for it, the system's own way of ending stays.
    #[must_use]
    pub fn listen() -> Self {
        let state = Arc::new(State {
            phase: Mutex::new(Phase::Working),
            is_asked: AtomicBool::new(false),
            code: Mutex::new(None),
        });
        #[cfg(unix)]
        {
            let heard = Arc::clone(&state);
            // It listens until the program ends; nobody waits for it.
            drop(std::thread::Builder::new().spawn(move || listen(&heard)));
        }
        Self(state)
    }

    /// Writes; `write` is given a question to ask now and then: whether it should stop and tidy up.
    pub fn while_writing<T>(&self, write: impl FnOnce(&(dyn Fn() -> bool + Sync)) -> T) -> T {
        *self.0.phase() = Phase::Writing;
        let written = write(&|| self.0.is_asked.load(Ordering::Relaxed));
        *self.0.phase() = Phase::Working;
        written
    }

    /// The exit code where a signal came while the result was being written.
    #[must_use]
    pub fn code(&self) -> Option<u8> {
        *self.0.code.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

#[cfg(unix)]
fn listen(state: &State) {
    use signal_hook::consts::{SIGINT, SIGTERM};
    let Ok(mut signals) = signal_hook::iterator::Signals::new([SIGINT, SIGTERM]) else {
        return;
    };
    for signal in signals.forever() {
        let code = 128 + signal;
        // Held to the end, so that no writing begins meanwhile.
        let phase = state.phase();
        if *phase == Phase::Working {
            end(code);
        }
        *state.code.lock().unwrap_or_else(PoisonError::into_inner) = u8::try_from(code).ok();
        state.is_asked.store(true, Ordering::Relaxed);
    }
}

#[cfg(unix)]
#[expect(
    clippy::exit,
    reason = "the work that other threads do is no longer wanted"
)]
fn end(code: i32) {
    std::process::exit(code);
}

//! The threads that the work is done on: as many as asked for or as there are cores; one where the machine gives no more.

use std::num::NonZeroUsize;
use std::thread;

use rayon::{ThreadPool, ThreadPoolBuilder};

use super::color::Tone;
use super::page::Page;
use super::terminal::Terminal;
use crate::error::{Error, Failure};

/// More threads than this for each core only cost memory.
const MOST_FOR_EACH_CORE: usize = 4;

/// Does the work on a pool of threads of its own.
///
/// # Errors
/// Those of the work, and where not even one thread can be had.
pub(super) fn on_threads<T: Send>(
    asked: Option<NonZeroUsize>,
    terminal: Terminal,
    work: impl FnOnce() -> Result<T, Failure> + Send,
) -> Result<T, Failure> {
    pool(allowed(asked, terminal), terminal)?.install(work)
}

/// How many threads are started; 0 leaves it to the pool, one for each core.
fn allowed(asked: Option<NonZeroUsize>, terminal: Terminal) -> usize {
    let Some(asked) = asked.map(NonZeroUsize::get) else {
        return 0;
    };
    let cores = thread::available_parallelism().map_or(1, NonZeroUsize::get);
    let most = cores.saturating_mul(MOST_FOR_EACH_CORE);
    if asked > most {
        say(
            terminal,
            format!(
                "{asked} threads are more than {MOST_FOR_EACH_CORE} for each of the {cores} cores here; {most} are used"
            ),
        );
    }
    asked.min(most)
}

fn pool(count: usize, terminal: Terminal) -> Result<ThreadPool, Failure> {
    ThreadPoolBuilder::new()
        .num_threads(count)
        .build()
        .or_else(|_| {
            say(
                terminal,
                "no further thread can be started here; the work is done on one".to_owned(),
            );
            ThreadPoolBuilder::new()
                .num_threads(1)
                .use_current_thread()
                .build()
        })
        .map_err(|cause| {
            let cause = cause.to_string();
            Error::Threads { count, cause }.into()
        })
}

fn say(terminal: Terminal, what: String) {
    let mut page = Page::default();
    page.pieces([(Tone::Faint, "note: ".to_owned()), (Tone::Plain, what)]);
    terminal.talk(&page);
}

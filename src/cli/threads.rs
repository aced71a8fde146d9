//! The threads that the work is done on: as many as asked for or as there are cores; one where the machine gives no more.

use std::num::NonZeroUsize;
use std::sync::{Mutex, PoisonError};
use std::thread::{self, JoinHandle};

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
    let threads = Threads::start(allowed(asked, terminal), terminal)?;
    threads.install(work)
}

/// A pool whose threads have ended once it is dropped. Each thread keeps a PROJ context of its own, and a thread that is still
/// freeing it while the program frees PROJ's own memory at its end would spoil the heap.
struct Threads {
    pool: Option<ThreadPool>,
    started: Started,
}

type Started = Mutex<Vec<JoinHandle<()>>>;

impl Threads {
    fn start(count: usize, terminal: Terminal) -> Result<Self, Failure> {
        let started = Started::default();
        let pool = pool(count, &started).or_else(|_| {
            say(
                terminal,
                "no further thread can be started here; the work is done on one".to_owned(),
            );
            ThreadPoolBuilder::new()
                .num_threads(1)
                .use_current_thread()
                .build()
        });
        match pool {
            Ok(pool) => Ok(Self {
                pool: Some(pool),
                started,
            }),
            Err(cause) => {
                let cause = cause.to_string();
                Err(Error::Threads { count, cause }.into())
            }
        }
    }

    fn install<T: Send>(
        &self,
        work: impl FnOnce() -> Result<T, Failure> + Send,
    ) -> Result<T, Failure> {
        match &self.pool {
            Some(pool) => pool.install(work),
            None => work(),
        }
    }
}

impl Drop for Threads {
    fn drop(&mut self) {
        drop(self.pool.take());
        let started = self
            .started
            .get_mut()
            .unwrap_or_else(PoisonError::into_inner);
        for thread in started.drain(..) {
            // A thread that panicked has told the pool, which has told the caller.
            let _ = thread.join();
        }
    }
}

fn pool(count: usize, started: &Started) -> Result<ThreadPool, rayon::ThreadPoolBuildError> {
    ThreadPoolBuilder::new()
        .num_threads(count)
        .spawn_handler(|worker| {
            let thread = thread::Builder::new().spawn(|| worker.run())?;
            started
                .lock()
                .unwrap_or_else(PoisonError::into_inner)
                .push(thread);
            Ok(())
        })
        .build()
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

fn say(terminal: Terminal, what: String) {
    let mut page = Page::default();
    page.pieces([(Tone::Faint, "note: ".to_owned()), (Tone::Plain, what)]);
    terminal.talk(&page);
}

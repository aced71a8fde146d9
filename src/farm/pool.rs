//! Jobs side by side, each slot with threads of its own. They end with the work, so that a process may fork before and after; the pool that
//! rayon keeps for a whole process is never started, and a job never waits for a part of another.

use std::sync::atomic::{AtomicUsize, Ordering};

use rayon::ThreadPoolBuilder;

use crate::error::Error;

/// Does jobs 0, 1, 2 ... in that order, as many at once as there are threads. Where there are fewer jobs than threads, a job has several.
///
/// # Errors
/// Where not one thread can be had.
pub fn side_by_side(threads: usize, jobs: usize, work: impl Fn(usize) + Sync) -> Result<(), Error> {
    if jobs == 0 {
        return Ok(());
    }
    let slots = threads.clamp(1, jobs);
    let threads_each = (threads / slots).max(1);
    let next = AtomicUsize::new(0);
    let slot = || {
        on_own_threads(threads_each, || {
            loop {
                let job = next.fetch_add(1, Ordering::Relaxed);
                if job >= jobs {
                    return;
                }
                work(job);
            }
        })
    };
    std::thread::scope(|scope| {
        let slots: Vec<_> = (0..slots)
            .map_while(|_| std::thread::Builder::new().spawn_scoped(scope, slot).ok())
            .collect();
        let ended = slots.into_iter().map(|slot| {
            slot.join()
                .unwrap_or_else(|panic| std::panic::resume_unwind(panic))
        });
        // Where some slots cannot have threads, the others do the work.
        ended.fold(Err(no_thread("no thread")), Result::or)
    })
}

fn on_own_threads(count: usize, work: impl FnOnce() + Send) -> Result<(), Error> {
    ThreadPoolBuilder::new()
        .num_threads(count)
        .build_scoped(rayon::ThreadBuilder::run, |pool| pool.install(work))
        .map_err(|cause| no_thread(&cause.to_string()))
}

fn no_thread(cause: &str) -> Error {
    Error::Threads {
        count: 1,
        cause: cause.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::side_by_side;

    #[test]
    fn each_job_is_done_once_and_has_the_threads_that_are_left_over() {
        for (threads, jobs, each) in [(1, 5, 1), (4, 5, 1), (4, 2, 2), (3, 1, 3)] {
            let done: Vec<AtomicUsize> = (0..jobs).map(|_| AtomicUsize::new(0)).collect();
            side_by_side(threads, jobs, |job| {
                assert_eq!(rayon::current_num_threads(), each);
                done[job].fetch_add(1, Ordering::Relaxed);
            })
            .unwrap();
            assert!(done.iter().all(|done| done.load(Ordering::Relaxed) == 1));
        }
        side_by_side(2, 0, |_| panic!("no job")).unwrap();
    }
}

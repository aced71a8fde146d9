//! Work on a number of threads.

/// Does the work on so many threads, which have ended when it returns: each frees a PROJ context of its own, and one that still does so
/// while the process ends spoils the heap.
pub fn on_threads<T: Send>(count: usize, work: impl FnOnce() -> T + Send) -> T {
    rayon::ThreadPoolBuilder::new()
        .num_threads(count)
        .build_scoped(rayon::ThreadBuilder::run, |pool| pool.install(work))
        .unwrap()
}

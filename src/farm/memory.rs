//! Memory that fields which are worked on side by side share. A field waits until what it will take is free.

use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

use crate::units::{DataSize, Quantity as _};

/// The memory of all fields together.
#[derive(Debug)]
pub(super) struct SharedMemory {
    most: f64,
    used: Mutex<f64>,
    freed: Condvar,
}

/// What one field has of it, until it is dropped.
#[derive(Debug)]
pub(super) struct Taken<'m> {
    from: &'m SharedMemory,
    bytes: f64,
}

impl SharedMemory {
    pub(super) fn new(most: DataSize) -> Self {
        Self {
            most: most.stored(),
            used: Mutex::new(0.0),
            freed: Condvar::new(),
        }
    }

    /// Takes so much, as soon as it is free. Where nobody else has any it is given, however much: a field that is too large for the machine
    /// was refused before it came here.
    pub(super) fn take(&self, size: DataSize) -> Taken<'_> {
        let bytes = size.stored();
        let is_full = |used: &mut f64| *used > 0.0 && *used + bytes > self.most;
        let waited = self.freed.wait_while(self.used(), is_full);
        *waited.unwrap_or_else(PoisonError::into_inner) += bytes;
        Taken { from: self, bytes }
    }

    fn used(&self) -> MutexGuard<'_, f64> {
        self.used.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl Drop for Taken<'_> {
    fn drop(&mut self) {
        let mut used = self.from.used();
        // Sums of whole bytes: nothing is left where nobody has any.
        *used = (*used - self.bytes).max(0.0);
        drop(used);
        self.from.freed.notify_all();
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::SharedMemory;
    use crate::units::DataSize;

    /// Eight fields of 40 bytes with room for 100: never more than two at once, and all get through; one of 500 bytes gets through alone.
    #[test]
    fn fields_wait_for_memory_and_a_large_one_is_alone() {
        let memory = SharedMemory::new(DataSize::from_bytes(100.0));
        let (now, most) = (AtomicUsize::new(0), AtomicUsize::new(0));
        let sizes = [40.0, 40.0, 500.0, 40.0, 40.0, 40.0, 40.0, 40.0];
        std::thread::scope(|scope| {
            for size in sizes {
                let (memory, now, most) = (&memory, &now, &most);
                scope.spawn(move || {
                    let _taken = memory.take(DataSize::from_bytes(size));
                    let here = now.fetch_add(1, Ordering::SeqCst) + 1;
                    assert!(size < 100.0 || here == 1, "a large one beside others");
                    most.fetch_max(here, Ordering::SeqCst);
                    std::thread::yield_now();
                    now.fetch_sub(1, Ordering::SeqCst);
                });
            }
        });
        assert!(most.load(Ordering::SeqCst) <= 2);
        assert_eq!(*memory.used(), 0.0);
    }
}

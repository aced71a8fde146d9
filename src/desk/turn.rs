use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Mutex, PoisonError};

use crate::engine::Watch;

/// Most windows whose changes are told apart; the one that was not heard of longest shares its place.
const MOST_WINDOWS: usize = 64;

/// The windows of the page, each with the number of its latest change.
#[derive(Debug, Default)]
pub struct Turns {
    windows: Mutex<Vec<(String, Arc<AtomicU64>)>>,
}

/// One change of a window. It is stopped where a newer one of the same window came.
#[derive(Debug)]
pub struct Turn {
    latest: Arc<AtomicU64>,
    own: u64,
}

impl Turns {
    /// The turn of a window's change that came just now.
    #[must_use]
    pub fn take(&self, window: &str) -> Turn {
        let mut windows = self.windows.lock().unwrap_or_else(PoisonError::into_inner);
        let known = windows.iter().position(|(name, _)| name == window);
        let entry = match known {
            Some(at) => windows.remove(at),
            None => (window.to_owned(), Arc::default()),
        };
        let latest = Arc::clone(&entry.1);
        windows.push(entry);
        if windows.len() > MOST_WINDOWS {
            windows.remove(0);
        }
        let own = latest.fetch_add(1, Ordering::Relaxed) + 1;
        Turn { latest, own }
    }
}

impl Watch for Turn {
    fn is_cancelled(&self) -> bool {
        self.latest.load(Ordering::Relaxed) != self.own
    }
}

#[cfg(test)]
mod tests {
    use super::Turns;
    use crate::engine::Watch as _;

    #[test]
    fn a_newer_change_of_the_same_window_stops_the_older() {
        let turns = Turns::default();
        let (first, other) = (turns.take("one"), turns.take("two"));
        assert!(!first.is_cancelled() && !other.is_cancelled());
        let second = turns.take("one");
        assert!(first.is_cancelled() && !second.is_cancelled() && !other.is_cancelled());
    }
}

use crate::units::DataSize;

/// Memory where neither the plan nor the machine says how much there is.
const USUAL_MEMORY: DataSize = DataSize::from_bytes(4e9);
/// Share of the free memory that is taken where nobody says how much.
const SHARE_OF_FREE: f64 = 0.75;

/// What the machine that the work is done on gives, as far as the caller knows it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Grant {
    /// Memory that the caller was asked to keep the work in; it stands above the plan's `[limits]`.
    pub memory_asked: Option<DataSize>,
    /// Memory that is free.
    pub memory_free: Option<DataSize>,
    /// Room on the disk that the result files go to.
    pub disk_free: Option<DataSize>,
}

impl Grant {
    /// The most memory that work may take for which nobody says how much: what the caller was asked to keep in, not more than is free; else
    /// a share of what is free. With the words that say whose limit it is.
    #[must_use]
    pub fn memory_limit(&self) -> (DataSize, &'static str) {
        match (self.memory_asked, self.memory_free) {
            (Some(asked), Some(free)) if free < asked => (free, "free on this machine"),
            (Some(asked), _) => (asked, "--memory"),
            (None, Some(free)) => (
                free * SHARE_OF_FREE,
                "three quarters of what is free on this machine",
            ),
            (None, None) => (USUAL_MEMORY, "the usual limit"),
        }
    }
}

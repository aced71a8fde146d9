use crate::units::DataSize;

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

//! A setting that the program may choose itself.

use serde::Serialize;

/// `"auto"` or a value of the user's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Default)]
#[serde(rename_all = "snake_case")]
pub enum FixedOrAuto<T> {
    /// The program chooses and says why.
    #[default]
    Auto,
    /// The user chose.
    Fixed(T),
}

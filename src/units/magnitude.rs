use super::{DataSize, Quantity, TimeSpan, significant};

impl DataSize {
    /// Two digits and the unit that suits them: `"1.3 GB"`.
    #[must_use]
    pub fn in_words(self) -> String {
        in_suiting_unit(self, &["B", "kB", "MB", "GB", "TB"])
    }
}

impl TimeSpan {
    /// Two digits and the unit that suits them: `"25 min"`.
    #[must_use]
    pub fn in_words(self) -> String {
        in_suiting_unit(self, &["s", "min", "h", "day"])
    }
}

/// The value in the largest of some rising units in which it is at least one.
fn in_suiting_unit<Q: Quantity>(value: Q, units: &[&str]) -> String {
    let number = |unit: &str| value.in_unit(unit).unwrap_or_default();
    let fits = units.iter().rev().find(|unit| number(unit) >= 1.0);
    let unit = fits.or(units.first()).copied().unwrap_or_default();
    let number = number(unit);
    format!("{} {unit}", significant(number, 2))
}

#[cfg(test)]
#[path = "magnitude_tests.rs"]
mod tests;

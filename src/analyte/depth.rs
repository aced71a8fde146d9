use std::fmt;

use serde::{Serialize, Serializer};
use thiserror::Error;

use crate::units::{Length, UnitSystem, decimal};

/// A text that is no depth range.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("\"{0}\" is not a depth range; write it like \"0-6 in\" or \"15-30 cm\"")]
pub struct DepthError(pub String);

/// A slice of soil below the surface, top to bottom. Stored in whole tenths of a millimetre, so that
/// `0-6 in` read from two files is one depth.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct DepthRange {
    top: u32,
    bottom: u32,
}

/// Words between the two depths, in the languages whose column names are known: English, German, Spanish, Portuguese, French.
const BETWEEN: [&str; 6] = [" to ", " bis ", " a ", " hasta ", " até ", " à "];
/// Words before the first depth.
const BEFORE: [&str; 3] = ["from ", "von ", "de "];

/// Deepest slice taken for real, in metres; anything deeper is a unit mistake.
const DEEPEST_METRES: f64 = 5.0;

impl DepthRange {
    /// The slice between two depths; `None` unless 0 <= top < bottom <= 5 m.
    #[must_use]
    pub fn new(top: Length, bottom: Length) -> Option<Self> {
        let (top, bottom) = (top.metres(), bottom.metres());
        (top >= 0.0 && top < bottom && bottom <= DEEPEST_METRES).then(|| Self {
            top: (top * 10_000.0).round() as u32,
            bottom: (bottom * 10_000.0).round() as u32,
        })
    }

    /// Reads `0-6 in`, `0 - 6"`, `15–30 cm`, `0 to 6 in`, `0 a 20 cm`. A bare `0-6` takes `default_unit`.
    ///
    /// # Errors
    /// Where the text is no range, has no unit and no default, or is upside down.
    pub fn parse(text: &str, default_unit: Option<&str>) -> Result<Self, DepthError> {
        let fail = || DepthError(text.to_owned());
        let plain = text
            .trim()
            .to_lowercase()
            .replace(['–', '—'], "-")
            .replace(['”', '″'], "\"");
        let plain = BETWEEN
            .iter()
            .fold(plain, |text, word| text.replace(word, "-"));
        let plain = BEFORE.iter().fold(plain.as_str(), |text, word| {
            text.strip_prefix(word).unwrap_or(text)
        });
        let (top, rest) = plain.split_once('-').ok_or_else(fail)?;
        let number = |part: &str| -> Option<(f64, String)> {
            let (value, unit) = crate::units::split_number_and_unit(part)?;
            Some((value, unit.to_owned()))
        };
        let (bottom, bottom_unit) = number(rest).ok_or_else(fail)?;
        let (top, top_unit) = number(top).ok_or_else(fail)?;
        let unit = [
            bottom_unit.as_str(),
            top_unit.as_str(),
            default_unit.unwrap_or(""),
        ]
        .into_iter()
        .find(|u| !u.is_empty())
        .ok_or_else(fail)?;
        let unit = match unit {
            "inch" | "inches" | "ins" | "\"" => "in",
            other => other,
        };
        let length = |value: f64, own: &str| {
            let own = if own.is_empty() { unit } else { own };
            <Length as crate::units::Quantity>::parse(&format!("{value} {own}")).ok()
        };
        let (Some(top), Some(bottom)) = (length(top, &top_unit), length(bottom, &bottom_unit))
        else {
            return Err(fail());
        };
        Self::new(top, bottom).ok_or_else(fail)
    }

    /// Upper edge.
    #[must_use]
    pub fn top(self) -> Length {
        Length::from_metres(f64::from(self.top) / 10_000.0)
    }

    /// Lower edge.
    #[must_use]
    pub fn bottom(self) -> Length {
        Length::from_metres(f64::from(self.bottom) / 10_000.0)
    }

    /// Thickness.
    #[must_use]
    pub fn thickness(self) -> Length {
        self.bottom() - self.top()
    }

    /// As it is written in a plan so that it reads back as the same slice: inches where both edges are whole quarters
    /// of an inch, centimetres otherwise.
    #[must_use]
    pub fn as_written(self) -> String {
        // A quarter of an inch is 63.5 tenths of a millimetre; stored edges are rounded to whole tenths.
        let in_inches =
            |edge: u32| ((f64::from(edge) / 63.5).round() * 63.5).round() as u32 == edge;
        if in_inches(self.top) && in_inches(self.bottom) {
            let quarters = |edge: u32| decimal((f64::from(edge) / 63.5).round() / 4.0, 2);
            return format!("{}-{} in", quarters(self.top), quarters(self.bottom));
        }
        format!(
            "{}-{} cm",
            decimal(f64::from(self.top) / 100.0, 2),
            decimal(f64::from(self.bottom) / 100.0, 2)
        )
    }

    /// As it was sampled, where no unit system is at hand: in inches or centimetres, whichever has the rounder numbers.
    #[must_use]
    pub fn as_sampled(self) -> String {
        let is_whole =
            |unit: u32| self.top.is_multiple_of(unit) && self.bottom.is_multiple_of(unit);
        // Tenths of a millimetre in an inch and in a centimetre.
        self.show(if is_whole(100) && !is_whole(254) {
            UnitSystem::Metric
        } else {
            UnitSystem::UnitedStates
        })
    }

    /// How people of a unit system write it: `0-6 in` or `0-15 cm`. Inches are read in whole centimetres: 6 in is 15 cm, not 15.2.
    #[must_use]
    pub fn show(self, system: UnitSystem) -> String {
        // Tenths of a millimetre in half an inch.
        let is_in_inches = self.top.is_multiple_of(127) && self.bottom.is_multiple_of(127);
        match system {
            UnitSystem::UnitedStates => self.written(1.0 / 254.0, 1, "in"),
            UnitSystem::Metric => self.written(0.01, usize::from(!is_in_inches), "cm"),
        }
    }

    fn written(self, factor: f64, decimals: usize, unit: &str) -> String {
        format!(
            "{}-{} {unit}",
            decimal(f64::from(self.top) * factor, decimals),
            decimal(f64::from(self.bottom) * factor, decimals)
        )
    }
}

impl fmt::Display for DepthRange {
    /// In centimetres, whatever the system: used for names in files.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written(0.01, 1, "cm"))
    }
}

impl Serialize for DepthRange {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

#[cfg(test)]
#[path = "depth_tests.rs"]
mod tests;

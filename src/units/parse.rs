use std::borrow::Cow;

use thiserror::Error;

use crate::text::{nearest_within, shorten};

/// Why a text is not a quantity.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum UnitError {
    /// There is no number at the start of the text.
    #[error("\"{text}\" does not start with a number; a {quantity} is written like \"{example}\"")]
    NoNumber {
        /// What was written.
        text: String,
        /// What was wanted.
        quantity: &'static str,
        /// A text that would do.
        example: String,
    },
    /// A number without a unit.
    #[error("\"{text}\" has no unit; a {quantity} is written with one of {allowed}")]
    NoUnit {
        /// What was written.
        text: String,
        /// What was wanted.
        quantity: &'static str,
        /// The units that would do.
        allowed: String,
    },
    /// A unit that is not of this quantity.
    #[error("\"{unit}\" is not a unit of {quantity}{}; use one of {allowed}", hint(*near))]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// What was wanted.
        quantity: &'static str,
        /// The unit that was probably meant.
        near: Option<&'static str>,
        /// The units that would do.
        allowed: String,
    },
    /// A `t`, which is a ton to some and a tonne to others.
    #[error(
        "\"{unit}\" may mean a short ton (2,000 lb) or a metric tonne (1,000 kg); write \"{}\" or \"{}\"",
        unit_with_mass(unit, "ton"),
        unit_with_mass(unit, "tonne")
    )]
    TonOrTonne {
        /// The unit as written.
        unit: String,
    },
    /// A comma in the number: a decimal sign to some and a thousands separator to others.
    #[error(
        "the comma in \"{text}\" may be a decimal sign or a thousands separator; write the number with a point, as in 1500.5"
    )]
    Comma {
        /// What was written.
        text: String,
    },
    /// A number so large that it overflows in the stored unit.
    #[error("\"{text}\" is too large for a {quantity}")]
    TooLarge {
        /// What was written.
        text: String,
        /// What was wanted.
        quantity: &'static str,
    },
}

fn hint(near: Option<&str>) -> String {
    near.map_or_else(String::new, |word| format!(" (did you mean \"{word}\"?)"))
}

fn unit_with_mass(unit: &str, mass: &str) -> String {
    unit.split('/')
        .map(|part| {
            if part.trim() == "t" {
                mass
            } else {
                part.trim()
            }
        })
        .collect::<Vec<_>>()
        .join("/")
}

/// Splits `"5.5 gal/ac"` in its number and its unit; the unit may be empty.
///
/// # Errors
/// `None` where the text does not start with a finite number.
#[must_use]
pub fn split_number_and_unit(text: &str) -> Option<(f64, &str)> {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|&(at, c)| {
            let exponent_sign = at > 0 && matches!(text.as_bytes()[at - 1], b'e' | b'E');
            let exponent = matches!(c, 'e' | 'E')
                && text[at + 1..].starts_with(|n: char| n.is_ascii_digit() || n == '-' || n == '+');
            !(c.is_ascii_digit()
                || c == '.'
                || exponent
                || (matches!(c, '+' | '-') && (at == 0 || exponent_sign)))
        })
        .map_or(text.len(), |(at, _)| at);
    let number: f64 = text[..end].parse().ok()?;
    number.is_finite().then(|| (number, text[end..].trim()))
}

/// Reads a number with one of the units of a table and turns it into the table's stored unit.
pub(super) fn parse_in(
    text: &str,
    quantity: &'static str,
    units: &[(&'static str, f64)],
) -> Result<f64, UnitError> {
    let allowed = || unit_names(units);
    let Some((number, unit)) = split_number_and_unit(text) else {
        let example = format!("5 {}", units.first().map_or("", |(name, _)| name));
        return Err(UnitError::NoNumber {
            text: quote(text),
            quantity,
            example,
        });
    };
    if unit.is_empty() {
        return Err(UnitError::NoUnit {
            text: quote(text),
            quantity,
            allowed: allowed(),
        });
    }
    if unit.starts_with(',') {
        return Err(UnitError::Comma { text: quote(text) });
    }
    let Some(factor) = factor_of(unit, units) else {
        if unit.split('/').any(|part| part.trim() == "t") {
            return Err(UnitError::TonOrTonne { unit: quote(unit) });
        }
        return Err(UnitError::UnknownUnit {
            unit: quote(unit),
            quantity,
            near: nearest(unit, units),
            allowed: allowed(),
        });
    };
    let stored = number * factor;
    if stored.is_finite() {
        Ok(stored)
    } else {
        Err(UnitError::TooLarge {
            text: quote(text),
            quantity,
        })
    }
}

/// The first spelling of each unit of a table.
pub(super) fn unit_names(units: &[(&'static str, f64)]) -> String {
    let is_first =
        |at: usize, factor: f64| units.iter().position(|(_, other)| *other == factor) == Some(at);
    let names = units
        .iter()
        .enumerate()
        .filter(|(at, (_, factor))| is_first(*at, *factor))
        .map(|(_, (name, _))| *name);
    names.collect::<Vec<_>>().join(", ")
}

/// The factor of a unit: as the table spells it, in other letter case, or written out in full (`gallons per acre`).
fn factor_of(unit: &str, units: &[(&'static str, f64)]) -> Option<f64> {
    let exact = |unit: &str| units.iter().find(|(name, _)| *name == unit);
    let loose = |unit: &str| {
        units
            .iter()
            .find(|(name, _)| name.eq_ignore_ascii_case(unit) && !is_case_sensitive(name))
    };
    let found = exact(unit).or_else(|| loose(unit)).or_else(|| {
        let symbols = symbols_of(unit);
        exact(&symbols).or_else(|| loose(&symbols))
    });
    found.map(|(_, factor)| *factor)
}

/// Units whose letter case carries meaning: a milligram is not a megagram.
fn is_case_sensitive(unit: &str) -> bool {
    unit.starts_with("Mg") || unit.starts_with("mg")
}

/// A unit written out in words, in symbols: `gallons per acre` is `gal/ac`.
fn symbols_of(unit: &str) -> String {
    unit.to_lowercase()
        .replace(" per ", "/")
        .split('/')
        .map(|word| symbol_of(word.trim()))
        .collect::<Vec<_>>()
        .join("/")
}

fn symbol_of(word: &str) -> Cow<'_, str> {
    let symbol = match word {
        "metre" | "metres" | "meter" | "meters" => "m",
        "centimetre" | "centimetres" | "centimeter" | "centimeters" => "cm",
        "foot" | "feet" => "ft",
        "inch" | "inches" => "in",
        "mile" | "miles" => "mi",
        "acre" | "acres" => "ac",
        "hectare" | "hectares" => "ha",
        "pound" | "pounds" | "lbs" => "lb",
        "tons" | "short ton" | "short tons" => "ton",
        "tonnes" | "metric ton" | "metric tons" => "tonne",
        "kilogram" | "kilograms" | "kgs" => "kg",
        "gallon" | "gallons" | "gals" => "gal",
        "litre" | "litres" | "liter" | "liters" => "L",
        "minute" | "minutes" => "min",
        "hour" | "hours" | "hr" => "h",
        "$" | "dollar" | "dollars" | "us$" => "USD",
        _ => {
            return Cow::Owned(
                word.replace('²', "2")
                    .replace("^2", "2")
                    .replace('³', "3")
                    .replace("^3", "3"),
            );
        }
    };
    Cow::Borrowed(symbol)
}

/// The unit of a table that a mistyped one most likely meant: one slip in three letters or more.
fn nearest(unit: &str, units: &[(&'static str, f64)]) -> Option<&'static str> {
    let unit = symbols_of(unit);
    let slips = usize::from(unit.len() >= 3);
    nearest_within(slips, &unit, units.iter().map(|(name, _)| *name)).filter(|_| slips > 0)
}

/// A piece of the user's text, short enough for a message.
fn quote(text: &str) -> String {
    shorten(text.trim())
}

#[cfg(test)]
#[path = "parse_tests.rs"]
mod tests;

use thiserror::Error;

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
    #[error("\"{unit}\" is not a unit of {quantity}; use one of {allowed}")]
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// What was wanted.
        quantity: &'static str,
        /// The units that would do.
        allowed: String,
    },
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
            let exponent = matches!(c, 'e' | 'E') && text[at + 1..].starts_with(|n: char| n.is_ascii_digit() || n == '-' || n == '+');
            !(c.is_ascii_digit() || c == '.' || exponent || (matches!(c, '+' | '-') && (at == 0 || exponent_sign)))
        })
        .map_or(text.len(), |(at, _)| at);
    let number: f64 = text[..end].parse().ok()?;
    number.is_finite().then(|| (number, text[end..].trim()))
}

/// Reads a number with one of the units of a table and turns it into the table's stored unit.
pub(super) fn parse_in(text: &str, quantity: &'static str, units: &[(&'static str, f64)]) -> Result<f64, UnitError> {
    let allowed = || units.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(", ");
    let Some((number, unit)) = split_number_and_unit(text) else {
        let example = format!("5 {}", units[0].0);
        return Err(UnitError::NoNumber { text: text.to_owned(), quantity, example });
    };
    if unit.is_empty() {
        return Err(UnitError::NoUnit { text: text.to_owned(), quantity, allowed: allowed() });
    }
    let factor = units
        .iter()
        .find(|(name, _)| *name == unit)
        .or_else(|| units.iter().find(|(name, _)| name.eq_ignore_ascii_case(unit) && !is_case_sensitive(name)));
    match factor {
        Some((_, factor)) => Ok(number * factor),
        None => Err(UnitError::UnknownUnit { unit: unit.to_owned(), quantity, allowed: allowed() }),
    }
}

/// Units whose letter case carries meaning: a milligram is not a megagram.
fn is_case_sensitive(unit: &str) -> bool {
    unit.starts_with("Mg") || unit.starts_with("mg")
}

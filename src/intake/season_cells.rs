//! Cells of the season's files: numbers and hours of the day.

use super::error::IntakeError;
use crate::provenance::Place;

/// Something that is no number where one belongs.
pub(super) fn not_a_number(place: Place, text: &str) -> IntakeError {
    IntakeError::NotANumber {
        place,
        text: crate::text::shorten(text),
        help: "write a number alone, or leave the cell empty".to_owned(),
    }
}

/// A number with a point or one comma as decimal sign.
pub(super) fn plain_number(text: &str) -> Option<f64> {
    let text = text.trim().trim_end_matches('%').trim();
    let has_comma_alone = text.matches(',').count() == 1 && !text.contains('.');
    let text = if has_comma_alone {
        text.replace(',', ".")
    } else {
        text.to_owned()
    };
    let starts = text.starts_with(|c: char| c.is_ascii_digit() || "-+.".contains(c));
    let number = text.parse::<f64>().ok()?;
    (starts && number.is_finite()).then_some(number)
}

/// `10:30`, `10:30:15`, `2:15 pm`, `14h30`.
pub(super) fn hour(text: &str) -> Option<f64> {
    let lower = text.trim().to_lowercase();
    let (clock, shift) = if let Some(clock) = lower.strip_suffix("pm") {
        (clock.trim(), Some(12.0))
    } else if let Some(clock) = lower.strip_suffix("am") {
        (clock.trim(), Some(0.0))
    } else {
        (lower.as_str(), None)
    };
    let mut parts = clock
        .split([':', 'h'])
        .map(str::trim)
        .filter(|part| !part.is_empty());
    let mut number = |most: f64| -> Option<Option<f64>> {
        let Some(part) = parts.next() else {
            return Some(None);
        };
        let number: f64 = part.parse().ok()?;
        (0.0..=most).contains(&number).then_some(Some(number))
    };
    let hours = number(24.0)??;
    let (minutes, seconds) = (number(59.0)?, number(59.99)?);
    if minutes.is_none() && shift.is_none() {
        return None;
    }
    let hours = match shift {
        Some(_) if !(1.0..=12.0).contains(&hours) => return None,
        Some(shift) => hours % 12.0 + shift,
        None => hours,
    };
    let hour = hours + minutes.unwrap_or(0.0) / 60.0 + seconds.unwrap_or(0.0) / 3_600.0;
    (hour <= 24.0).then_some(hour)
}

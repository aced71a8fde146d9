/// A plain decimal with at most `decimals` decimals: no exponent, no `-0`, no trailing zeros.
#[must_use]
pub fn decimal(value: f64, decimals: usize) -> String {
    let mut text = fixed(value, decimals);
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    text
}

/// A plain decimal with exactly `decimals` decimals, never `-0`. A number that is not finite is printed as `?`.
#[must_use]
pub fn fixed(value: f64, decimals: usize) -> String {
    if !value.is_finite() {
        return "?".to_owned();
    }
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if rest.bytes().all(|b| b == b'0' || b == b'.') => rest.to_owned(),
        _ => text,
    }
}

/// A plain decimal with about `digits` significant digits, for people: `0.0123`, `4.56`, `1234`.
#[must_use]
pub fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 || !value.is_finite() {
        return decimal(value, 0);
    }
    let magnitude = value.abs().log10().floor();
    let places = digits as f64 - 1.0 - magnitude;
    decimal(value, places.clamp(0.0, 9.0) as usize)
}

/// A value beside its threshold, with as many digits as it takes to tell them apart.
#[must_use]
pub fn value_beside(value: f64, threshold: f64) -> String {
    let threshold_text = significant(threshold, 4);
    (3..=9)
        .map(|digits| significant(value, digits))
        .find(|text| value == threshold || *text != threshold_text)
        .unwrap_or_else(|| decimal(value, 9))
}

/// A number as it is spoken in its unit: nobody reads single kilopascals, so 2,068 kPa (300 psi) is 2,070.
#[must_use]
pub fn spoken(value: f64, unit: &str) -> f64 {
    if unit == "kPa" && value.abs() >= 100.0 {
        (value / 10.0).round() * 10.0
    } else {
        value
    }
}

#[cfg(test)]
#[path = "print_tests.rs"]
mod tests;

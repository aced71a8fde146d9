//! Numbers for people.

use crate::analyte::{Analyte, LayerKey};
use crate::units::{Pressure, UnitSystem, fixed, significant};

/// A number with so many decimals, thousands set apart by commas.
#[must_use]
pub fn grouped(value: f64, decimals: usize) -> String {
    with_commas(&fixed(value, decimals))
}

/// A printed number with its thousands set apart by commas.
#[must_use]
pub fn with_commas(text: &str) -> String {
    let (sign, plain) = text
        .strip_prefix('-')
        .map_or(("", text), |rest| ("-", rest));
    let (whole, part) = plain.split_once('.').unwrap_or((plain, ""));
    let mut out = String::from(sign);
    for (at, digit) in whole.chars().enumerate() {
        if at > 0 && (whole.len() - at).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    if !part.is_empty() {
        out.push('.');
        out.push_str(part);
    }
    out
}

/// `0.873` to `87 %`.
#[must_use]
pub fn percent(share: f64) -> String {
    format!("{} %", fixed(share * 100.0, 0))
}

/// Unit that a layer is shown in: cone index in psi where the customary units are those of the United States.
#[must_use]
pub fn layer_unit<'a>(key: &LayerKey, unit: &'a str, system: UnitSystem) -> &'a str {
    if is_pressure(key, unit) {
        Pressure::unit_in(system)
    } else {
        unit_word(unit)
    }
}

/// A value of a layer in the unit of [`layer_unit`], about three significant digits.
#[must_use]
pub fn layer_number(key: &LayerKey, unit: &str, value: f64, system: UnitSystem) -> String {
    let shown = if is_pressure(key, unit) {
        Pressure::from_kilopascals(value).number_in(system)
    } else {
        value
    };
    if is_pressure(key, unit) && shown.abs() >= 1_000.0 {
        // 2,068 kPa is 2,070: a push is no better known than that.
        return fixed((shown / 10.0).round() * 10.0, 0);
    }
    significant(shown, 3)
}

fn is_pressure(key: &LayerKey, unit: &str) -> bool {
    key.analyte == Analyte::ConeIndex && unit == "kPa"
}

/// A unit as it stands behind a number: nothing for pH and ratios, which have none.
#[must_use]
pub fn unit_word(unit: &str) -> &str {
    if matches!(unit, "pH" | "ratio" | "1") {
        ""
    } else {
        unit
    }
}

/// A number's text with its unit: `341 psi`, `5.8`, `12:1`.
#[must_use]
pub fn with_unit(number: &str, unit: &str) -> String {
    match unit_word(unit) {
        "" => number.to_owned(),
        unit if unit.starts_with(':') => format!("{number}{unit}"),
        unit => format!("{number} {unit}"),
    }
}

/// The name of a file without its folders, which are those of somebody's machine.
#[must_use]
pub fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

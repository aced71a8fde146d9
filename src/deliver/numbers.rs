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

/// "zone 2", "zones 2, 5".
#[must_use]
pub fn zones_in_words(numbers: &[u32]) -> String {
    let names: Vec<String> = numbers.iter().map(u32::to_string).collect();
    let word = if names.len() == 1 { "zone" } else { "zones" };
    format!("{word} {}", names.join(", "))
}

/// The name of a file without its folders, which are those of somebody's machine.
#[must_use]
pub fn file_name(path: &str) -> &str {
    path.rsplit(['/', '\\']).next().unwrap_or(path)
}

/// Parts as whole dollars whose sum is the rounded sum of the parts: those with the largest rest are rounded up.
#[must_use]
pub fn rounded_to_sum(parts: &[f64]) -> Vec<i64> {
    let mut whole: Vec<i64> = parts.iter().map(|part| part.floor() as i64).collect();
    let total = parts.iter().sum::<f64>().round() as i64;
    let sum = whole
        .iter()
        .fold(0_i64, |sum, part| sum.saturating_add(*part));
    let missing = total.saturating_sub(sum).max(0) as usize;
    let mut order: Vec<usize> = (0..parts.len()).collect();
    // In millionths of a dollar, so that parts with the same cents tie and the first is taken.
    let rest = |at: usize| ((parts[at] - parts[at].floor()) * 1e6).round() as i64;
    order.sort_by_key(|&at| (std::cmp::Reverse(rest(at)), at));
    for at in order.into_iter().take(missing) {
        whole[at] = whole[at].saturating_add(1);
    }
    whole
}

#[cfg(test)]
mod tests {
    use super::rounded_to_sum;

    #[test]
    fn the_parts_add_up_to_the_rounded_total() {
        assert_eq!(rounded_to_sum(&[0.4, 0.4, 0.4]), [1, 0, 0]);
        assert_eq!(rounded_to_sum(&[10.6, 20.6, 30.6]), [11, 21, 30]);
        assert_eq!(rounded_to_sum(&[5.0, 7.0]), [5, 7]);
        assert_eq!(rounded_to_sum(&[]), Vec::<i64>::new());
        // More money than there is: no panic.
        assert_eq!(rounded_to_sum(&[1e300, 1e300]).len(), 2);
    }
}

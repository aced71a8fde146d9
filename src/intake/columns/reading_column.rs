//! What the header says of a column of cone readings: the depth of its readings, and their unit.

use crate::analyte::{Analyte, Meaning, meaning_of, plain_name};
use crate::units::{Pressure, Quantity};

use crate::intake::columns::depth_mark::{depth_mark, tokens};
use crate::intake::columns::header::Header;
use crate::intake::columns::roles;

/// The depth that a column's name says, with metres in its unit where that is said too. None for a name that means a soil test, nor where
/// the units row says a unit of something else: `P` with `mg/100g` below it is no reading.
pub(in crate::intake) fn column_mark(header: &Header, at: usize) -> Option<(f64, Option<f64>)> {
    let name = header.bare_name(at);
    if matches!(meaning_of(name), Meaning::Result(found) if found.analyte != Analyte::ConeIndex) {
        return None;
    }
    let is_other = |word: &str| {
        roles::is_unit_text(word)
            && !roles::is_length_unit(word)
            && pressure(word).is_none()
            && newtons(word).is_none()
    };
    let below = header.unit(at).unwrap_or_default();
    if below.split_whitespace().any(is_other) {
        return None;
    }
    let (number, metres) = depth_mark(&plain_name(name))?;
    Some((number, metres.or_else(|| roles::length_unit(below))))
}

/// The first column whose name or units row says a unit of pressure, where no name says that it holds cone readings.
pub(in crate::intake) fn readings_by_unit(header: &Header) -> Option<usize> {
    (0..header.names.len())
        .find(|at| unit_in_file(header, *at).is_some_and(|unit| pressure(&unit).is_some()))
}

/// What the file says of the unit of a column: behind its name, in the units row, or glued into its name.
pub(in crate::intake) fn unit_in_file(header: &Header, column: usize) -> Option<String> {
    let plain = plain_name(header.name(column));
    let is_reading = |unit: &String| pressure(unit).is_some() || newtons(unit).is_some();
    in_brackets(&plain)
        .or_else(|| roles::without_unit(&plain).1)
        .filter(is_reading)
        .or_else(|| header.unit(column).map(str::to_owned))
        .or_else(|| word_unit(&plain))
}

/// kPa in a unit of pressure.
pub(in crate::intake) fn pressure(unit: &str) -> Option<f64> {
    Pressure::parse(&format!("1 {unit}"))
        .ok()
        .map(Pressure::kilopascals)
}

/// Newtons in a unit of force (exact definitions).
pub(in crate::intake) fn newtons(unit: &str) -> Option<f64> {
    Some(match unit.to_ascii_lowercase().as_str() {
        "n" => 1.0,
        "kn" => 1_000.0,
        "kgf" => 9.806_65,
        "lbf" => 4.448_221_615_260_5,
        _ => return None,
    })
}

/// A force or a pressure in the last brackets of a name: `5cm (N)`.
fn in_brackets(plain: &str) -> Option<String> {
    let inner = plain.strip_suffix([')', ']'])?;
    let (_, unit) = inner.rsplit_once(['(', '['])?;
    let unit = unit.trim();
    (pressure(unit).is_some() || newtons(unit).is_some()).then(|| unit.to_owned())
}

/// A unit glued into a name: `psi_6in`, `kpa10`.
fn word_unit(plain: &str) -> Option<String> {
    let words = tokens(plain);
    ["psi", "kpa", "mpa"]
        .iter()
        .find(|unit| words.iter().any(|word| word == *unit))
        .map(|unit| (*unit).to_owned())
}

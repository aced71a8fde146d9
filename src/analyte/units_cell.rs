//! What stands under a column's name in a row of units: a unit, a test method, or both (`ppm Bray`, `1:1`, `LOI %`).

use super::catalogue::{Catalogue, plain_unit};
use super::naming::{folded_name, is_unit, longest_phrase, words_of};
use super::{Analyte, Method};

/// A unit and a method that were read from one cell.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct UnitsCell {
    /// The unit as written, less the method's words.
    pub unit: Option<String>,
    /// The method.
    pub method: Option<Method>,
}

/// Reads such a cell for an analyte. `None` where a word of it is neither a unit nor a method of the analyte, or where it says two methods.
#[must_use]
pub fn units_cell(analyte: &Analyte, text: &str) -> Option<UnitsCell> {
    let unit = text.trim();
    if unit.is_empty() {
        return Some(UnitsCell::default());
    }
    if Catalogue::built_in().has_unit(&plain_unit(unit)) {
        return Some(UnitsCell {
            unit: Some(unit.to_owned()),
            method: None,
        });
    }
    let words = words_of(&folded_name(unit));
    let mut cell = UnitsCell::default();
    let mut at = 0;
    while let Some(rest) = words.get(at..).filter(|rest| !rest.is_empty()) {
        at += take_word(analyte, rest, &mut cell)?;
    }
    Some(cell)
}

/// The unit and the method in the name of a column of an oxide; words that say something else are passed over.
#[must_use]
pub fn oxide_cell(analyte: &Analyte, name: &str) -> UnitsCell {
    let words = words_of(&folded_name(name));
    let mut cell = UnitsCell::default();
    let mut at = 0;
    while let Some(rest) = words.get(at..).filter(|rest| !rest.is_empty()) {
        at += take_word(analyte, rest, &mut cell).unwrap_or(1);
    }
    cell
}

/// Takes the next method, unit or filler word; gives how many words that were.
fn take_word(analyte: &Analyte, rest: &[String], cell: &mut UnitsCell) -> Option<usize> {
    let (length, found) = longest_phrase(rest).unzip();
    let mut methods = found
        .into_iter()
        .flatten()
        .filter_map(|part| part.method_of(analyte));
    if let (Some(method), Some(length)) = (methods.next(), length) {
        let method = Method::new(method);
        let is_new = cell.method.as_ref().is_none_or(|own| *own == method);
        cell.method = Some(method);
        return is_new.then_some(length);
    }
    let word = rest.first()?;
    if is_unit(word) && cell.unit.is_none() {
        cell.unit = Some(word.clone());
        return Some(1);
    }
    let names_it = |parts: &std::collections::BTreeSet<super::naming::Part>| {
        parts.iter().any(|part| part.names() == Some(analyte))
    };
    if found.is_some_and(names_it) {
        return length;
    }
    Catalogue::built_in().filler.contains(word).then_some(1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_a_method_or_both_are_read_and_anything_else_is_not() {
        let read = |analyte: Analyte, text: &str| {
            units_cell(&analyte, text).map(|cell| {
                let method = cell.method.map(|method| method.to_string());
                (cell.unit.unwrap_or_default(), method.unwrap_or_default())
            })
        };
        let both = |unit: &str, method: &str| Some((unit.to_owned(), method.to_owned()));
        assert_eq!(read(Analyte::Ph, "1:1"), both("", "water"));
        assert_eq!(read(Analyte::BufferPh, "SMP"), both("", "smp"));
        assert_eq!(read(Analyte::Phosphorus, "ppm Bray"), both("ppm", "bray-1"));
        assert_eq!(read(Analyte::OrganicMatter, "LOI %"), both("%", "loi"));
        assert_eq!(
            read(Analyte::Potassium, "mg/100 g CAL"),
            both("mg/100g", "cal")
        );
        assert_eq!(
            read(Analyte::Potassium, "cmol(+)/kg"),
            both("cmol(+)/kg", "")
        );
        assert_eq!(read(Analyte::Zinc, "ppm DTPA"), both("ppm", "dtpa"));
        assert_eq!(read(Analyte::Potassium, "ppm SMP"), None);
        assert_eq!(read(Analyte::Phosphorus, "Olsen Bray"), None);
        assert_eq!(read(Analyte::Potassium, "bananas"), None);
        let oxide = oxide_cell(&Analyte::Potassium, "K2O (CAL) mg/100 g");
        assert_eq!(oxide.unit.as_deref(), Some("mg/100g"));
        assert_eq!(oxide.method, Some(Method::new("cal")));
    }
}

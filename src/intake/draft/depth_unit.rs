//! The unit of depths that do not say theirs: what speaks for centimetres, metres or inches.

use crate::analyte::plain_name;
use crate::intake::columns::Header;

use super::ground::Ground;

/// Below this, the deepest number of a file is metres: nobody samples less than 1.5 in or 1.5 cm of soil only (own).
const METRES_BELOW: f64 = 1.5;
/// Above this, the deepest number of a file is no inches: 6 ft, the deepest usual core (own).
const DEEPEST_INCHES: f64 = 72.0;
/// The same for a cone that is pushed by hand (own).
const DEEPEST_PUSH: f64 = 36.0;
/// Units that people who think in centimetres write.
const METRIC: [&str; 6] = ["cm", "kpa", "mpa", "kg/ha", "t/ha", "mm"];
/// Units of laboratories everywhere, which speak for centimetres only beside round numbers of them.
const LABORATORY: [&str; 5] = ["mg/kg", "g/kg", "mg/100g", "mg/100", "cmol/kg"];
/// Units that people who think in inches write.
const INCHES: [&str; 9] = [
    "in", "inch", "inches", "psi", "lb/ac", "lbs/ac", "lb/a", "lbs/a", "lb/acre",
];

/// A unit of depth and what speaks for it.
pub(super) struct DepthUnit {
    /// As a plan names it.
    pub unit: &'static str,
    /// Why, in words.
    pub why: &'static str,
}

impl DepthUnit {
    /// What stands behind the line of the plan.
    pub(super) fn note(&self) -> String {
        format!(
            "the file does not say the unit: {} is taken, because {}",
            self.unit, self.why
        )
    }
}

/// The likeliest unit of the depths of a file, by their size, by the units of its other columns and by where the field lies.
pub(super) fn depth_unit(
    header: &Header,
    ground: Option<&Ground>,
    depths: &[f64],
    is_cone: bool,
) -> DepthUnit {
    let deepest = depths.iter().copied().fold(0.0, f64::max);
    let is = |unit, why| DepthUnit { unit, why };
    if deepest > 0.0 && deepest < METRES_BELOW {
        return is("m", "the numbers are too small for inches or centimetres");
    }
    if deepest
        > if is_cone {
            DEEPEST_PUSH
        } else {
            DEEPEST_INCHES
        }
    {
        return is("cm", "the numbers are too large for inches");
    }
    let units = units_of(header);
    let count = |list: &[&str]| {
        list.iter()
            .filter(|unit| units.iter().any(|u| u == *unit))
            .count()
    };
    let is_round = !depths.is_empty() && depths.iter().all(|depth| depth % 5.0 == 0.0);
    let metric = count(&METRIC) + if is_round { count(&LABORATORY) } else { 0 };
    let inches = count(&INCHES);
    if metric != inches {
        return if metric > inches {
            is("cm", "other columns are in metric units")
        } else {
            is("in", "other columns are in US units")
        };
    }
    if ground.is_some_and(Ground::is_metric) {
        return is("cm", "the field lies where depths are given in centimetres");
    }
    is("in", "nothing speaks for another")
}

/// The different units in names, in the units row and in cells that hold nothing but a unit.
fn units_of(header: &Header) -> Vec<String> {
    let cells = header.sample.iter().flatten();
    let texts = header
        .names
        .iter()
        .chain(header.units.iter().flatten())
        .chain(cells.filter(|cell| cell.trim().len() < 12));
    let mut units: Vec<String> = texts
        .flat_map(|text| {
            let plain = plain_name(text)
                .replace("mg/100 g", "mg/100g")
                .replace("(+)", "");
            let is_part = |c: char| c.is_alphanumeric() || c == '/';
            let words = plain.split(|c: char| !is_part(c)).map(str::to_owned);
            words.collect::<Vec<_>>()
        })
        .collect();
    units.sort_unstable();
    units.dedup();
    units
}

/// The numbers in texts of depths that say no unit of their own, and the unit that the first other one says.
pub(super) fn depth_numbers<'a>(
    cells: impl Iterator<Item = &'a str>,
) -> (Vec<f64>, Option<&'static str>) {
    let (mut numbers, mut unit) = (Vec::new(), None);
    for cell in cells {
        let own = UNITS.iter().find(|(words, _)| {
            let letters: String = cell.chars().filter(|c| !c.is_ascii_digit()).collect();
            let mut parts = letters.split(|c: char| !c.is_alphabetic() && c != '"');
            parts.any(|part| words.contains(&part.to_lowercase().as_str()))
        });
        if let Some((_, own)) = own {
            unit = unit.or(Some(*own));
            continue;
        }
        let plain = cell.replace(',', ".");
        let parts = plain.split(|c: char| !c.is_ascii_digit() && c != '.');
        numbers.extend(parts.filter_map(|part| part.parse::<f64>().ok()));
    }
    (numbers, unit)
}

/// Units of depth as cells write them.
const UNITS: [(&[&str], &str); 5] = [
    (&["in", "inch", "inches", "ins", "\""], "in"),
    (&["cm"], "cm"),
    (&["mm"], "mm"),
    (&["m"], "m"),
    (&["ft", "feet"], "ft"),
];

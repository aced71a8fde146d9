//! The head of a table: names, units and the first rows of its columns.

use crate::analyte::plain_name;

use crate::intake::columns::roles;

/// The head of a table.
#[derive(Debug, Clone, Default)]
pub(in crate::intake) struct Header {
    /// Names, trimmed; repeated names are numbered `NO3#1`, `NO3#2`.
    pub names: Vec<String>,
    /// What the units row says of each column.
    pub units: Vec<Option<String>>,
    /// The first rows as text.
    pub sample: Vec<Vec<String>>,
}

impl Header {
    pub(in crate::intake) fn new(
        names: &[String],
        units: Vec<String>,
        sample: Vec<Vec<String>>,
    ) -> Self {
        let trimmed: Vec<String> = names
            .iter()
            .map(|name| name.split_whitespace().collect::<Vec<_>>().join(" "))
            .collect();
        let plain: Vec<String> = trimmed.iter().map(|name| plain_name(name)).collect();
        let numbered = trimmed
            .iter()
            .enumerate()
            .map(|(at, name)| {
                let same = |other: &&String| **other == plain[at] && !name.is_empty();
                let count = plain.iter().filter(same).count();
                let before = plain.iter().take(at + 1).filter(same).count();
                if count > 1 {
                    format!("{name}#{before}")
                } else {
                    name.clone()
                }
            })
            .collect();
        let units = units
            .into_iter()
            .map(|unit| {
                Some(unit.trim().to_owned()).filter(|u| !matches!(u.as_str(), "" | "-" | "--"))
            })
            .collect();
        Self {
            names: numbered,
            units,
            sample,
        }
    }

    /// Index of a column by its exact name, blanks collapsed.
    pub(in crate::intake) fn find(&self, name: &str) -> Option<usize> {
        let wanted = name.split_whitespace().collect::<Vec<_>>().join(" ");
        self.names.iter().position(|own| *own == wanted)
    }

    /// Index of the first column whose name, less its unit, is one of a list (in the list's order).
    pub(in crate::intake) fn find_role<N: AsRef<str>>(&self, names: &[N]) -> Option<usize> {
        self.find_by(names, roles::role_name)
    }

    /// The same for a coordinate, beside whose name other words may stand.
    pub(in crate::intake) fn find_coordinate(&self, names: &[String]) -> Option<usize> {
        self.find_by(names, roles::coordinate_name)
    }

    fn find_by<N: AsRef<str>>(&self, names: &[N], plain: fn(&str) -> String) -> Option<usize> {
        let own: Vec<String> = self.names.iter().map(|name| plain(name)).collect();
        names
            .iter()
            .find_map(|name| own.iter().position(|own| own == name.as_ref()))
    }

    /// The numbers of two columns in the first rows, where both hold one.
    pub(in crate::intake) fn number_pairs(&self, one: usize, other: usize) -> Vec<(f64, f64)> {
        let number = |row: &Vec<String>, at: usize| {
            // Thousands may be parted by a blank.
            let cell = row.get(at)?.trim().replace(',', ".");
            let cell = cell.replace([' ', '\u{a0}', '\u{202f}'], "");
            cell.parse::<f64>().ok().filter(|number| number.is_finite())
        };
        let pair = |row: &Vec<String>| Some((number(row, one)?, number(row, other)?));
        self.sample.iter().filter_map(pair).collect()
    }

    /// Name of a column.
    pub(in crate::intake) fn name(&self, at: usize) -> &str {
        self.names.get(at).map_or("", String::as_str)
    }

    /// Name of a column as the file has it: less the number of a name that stands there several times.
    pub(in crate::intake) fn bare_name(&self, at: usize) -> &str {
        let name = self.name(at);
        name.rsplit_once('#')
            .filter(|(bare, number)| !bare.is_empty() && number.parse::<u32>().is_ok())
            .map_or(name, |(bare, _)| bare)
    }

    /// What the units row says of a column.
    pub(in crate::intake) fn unit(&self, at: usize) -> Option<&str> {
        self.units.get(at).and_then(Option::as_deref)
    }

    /// Whether the first rows hold numbers in a column and no text.
    pub(in crate::intake) fn is_numeric(&self, at: usize) -> bool {
        let cells = || {
            self.sample
                .iter()
                .filter_map(|row| row.get(at))
                .map(|cell| cell.trim())
                .filter(|cell| !cell.is_empty())
        };
        let is_number = |cell: &str| {
            let cell = cell.trim_start_matches(['<', '>']).trim();
            cell.replace(',', ".").parse::<f64>().is_ok()
                || matches!(cell, "-" | "NA" | "ND" | "nan" | "NaN" | "N/A")
        };
        cells().next().is_some()
            && cells().all(is_number)
            && cells().any(|cell| cell.bytes().any(|b| b.is_ascii_digit()))
    }
}

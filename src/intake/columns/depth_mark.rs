//! The depth that the name of a column of cone readings says.

use crate::intake::columns::roles::length_unit;

/// Words that make a number in a name a depth of a reading.
const READING_WORDS: [&str; 23] = [
    "depth",
    "d",
    "z",
    "ci",
    "psi",
    "kpa",
    "mpa",
    "bar",
    "cone",
    "resistance",
    "res",
    "pen",
    "penetration",
    "penetrometer",
    "pressure",
    "strength",
    "tiefe",
    "widerstand",
    "eindringwiderstand",
    "profondeur",
    "profundidad",
    "profundidade",
    "resistencia",
];
/// Words that may stand beside them.
const OTHER_WORDS: [&str; 7] = ["at", "soil", "index", "reading", "kgf", "kn", "lbf"];
/// Units of readings with a number in them, which is no depth, and a force of one letter, which counts in brackets only.
const READING_UNITS: [&str; 6] = ["kgf/cm2", "kg/cm2", "n/mm2", "kn/m2", "(n)", "[n]"];

/// The depth that a cone column's plain name says, with metres in its unit where that is said too: `d2.5`, `6in`, `10 cm`, `depth_15`,
/// `psi_6in`, `resistance 5cm (kpa)`.
pub(in crate::intake) fn depth_mark(plain: &str) -> Option<(f64, Option<f64>)> {
    let bare = READING_UNITS
        .iter()
        .fold(plain.to_owned(), |text, unit| text.replace(unit, " kpa "));
    let (mut number, mut unit, mut is_reading) = (None, None, false);
    let tokens = tokens(&bare);
    for token in &tokens {
        if token.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
            if number.replace(token.parse::<f64>().ok()?).is_some() {
                return None;
            }
        } else if READING_WORDS.contains(&token.as_str()) {
            is_reading = true;
        } else if let Some(metres) = length_unit(token) {
            if unit.replace(metres).is_some() {
                return None;
            }
        } else if !OTHER_WORDS.contains(&token.as_str()) {
            return None;
        }
    }
    let is_alone = tokens.len() == 1;
    (is_alone || is_reading || unit.is_some())
        .then_some(number)
        .flatten()
        .map(|number| (number, unit))
}

/// Words and numbers of a name.
pub(super) fn tokens(name: &str) -> Vec<String> {
    let mut tokens: Vec<String> = Vec::new();
    let mut last = Kind::Between;
    for c in name.trim_end_matches('.').chars() {
        let kind = Kind::of(c);
        match (kind, tokens.last_mut()) {
            (Kind::Between, _) => {}
            (_, Some(token)) if kind == last => token.push(c),
            _ => tokens.push(c.to_string()),
        }
        last = kind;
    }
    tokens
}

#[derive(Clone, Copy, PartialEq)]
enum Kind {
    Between,
    Number,
    Letter,
}

impl Kind {
    fn of(c: char) -> Self {
        match c {
            '0'..='9' | '.' => Self::Number,
            c if c.is_alphabetic() || matches!(c, '"' | '\u{201d}' | '\u{2033}') => Self::Letter,
            _ => Self::Between,
        }
    }
}

#[cfg(test)]
mod tests {
    use crate::intake::columns::depth_mark::depth_mark;

    #[test]
    fn a_depth_is_read_from_the_names_that_cone_files_use() {
        for (name, number, metres) in [
            ("d2.5", 2.5, None),
            ("6", 6.0, None),
            ("6in", 6.0, Some(0.0254)),
            ("10 cm", 10.0, Some(0.01)),
            ("depth_15", 15.0, None),
            ("psi_6in", 6.0, Some(0.0254)),
            ("kpa10", 10.0, None),
            ("resistance 5cm (kpa)", 5.0, Some(0.01)),
            ("ci @ 12\"", 12.0, Some(0.0254)),
            (
                "penetration resistance at 30 cm [kgf/cm2]",
                30.0,
                Some(0.01),
            ),
            ("widerstand 10 cm", 10.0, Some(0.01)),
            ("5cm (n)", 5.0, Some(0.01)),
        ] {
            assert_eq!(depth_mark(name), Some((number, metres)), "{name}");
        }
    }

    #[test]
    fn other_names_with_a_number_are_no_depth() {
        for name in [
            "rep 2",
            "p1",
            "n 10 cm",
            "soil 1",
            "block_3",
            "2 to 4 in",
            "moisture 10cm",
            "id",
            "5 g",
            "",
        ] {
            assert_eq!(depth_mark(name), None, "{name}");
        }
    }
}

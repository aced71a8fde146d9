//! What stands in a cell where a result is expected: a number, a qualified number, nothing, or something wrong.

use crate::intake::table::number_style::{NumberStyle, Signs};

/// A cell, read.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell<'a> {
    /// No result.
    Missing,
    /// A number.
    Number(f64),
    /// `<0.5`.
    Below(f64),
    /// `ND`, `trace`.
    BelowUnknown,
    /// `>200`.
    Above(f64),
    /// `4.2 J`.
    Estimated(f64),
    /// `6.5 ppm`: a number with its own unit.
    WithUnit(f64, &'a str),
    /// `#DIV/0!`, `NaN`, `null`: a word that a program wrote where it had no number.
    NoNumber(NoNumber),
    /// A push that met a stone.
    Stone,
    /// A push that was refused: the soil was too hard, or the reading over the range.
    Refused,
    /// A push that was ended on purpose.
    Ended,
    /// A date or a time.
    Date,
    /// A number whose decimal sign is not settled yet, or contradicts the column's.
    Unsettled,
    /// Anything else.
    Text,
}

/// What a program writes where it has no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum NoNumber {
    /// `#DIV/0!`, `#REF!`, `#VALUE!` and the like: a formula of a spreadsheet that failed.
    FailedFormula,
    /// `#N/A`: a spreadsheet found nothing.
    NotFound,
    /// `NaN`: a calculation without a result.
    NotANumber,
    /// `null`: an empty field of a database.
    Null,
}

/// Codes that loggers write where there is no reading.
pub const MISSING_CODES: [f64; 4] = [-9999.0, -999.0, 9999.0, -99999.0];

/// Reads a cell; what its signs tell of the column's number style is noted in `signs`.
#[must_use]
pub fn read_cell<'a>(bytes: &'a [u8], style: NumberStyle, signs: &mut Signs) -> Cell<'a> {
    let trimmed = bytes.trim_ascii();
    if trimmed.is_empty() {
        return Cell::Missing;
    }
    if style == NumberStyle::Point
        && !signs.is_watching_points
        && let Some(number) = plain_number(trimmed)
    {
        return Cell::Number(number);
    }
    match std::str::from_utf8(trimmed) {
        Ok(text) => read_text(text, style, signs),
        Err(_) => read_latin(trimmed, style, signs),
    }
}

/// The number in a cell that holds nothing else, where the usual style leaves only one reading.
#[inline]
#[must_use]
pub fn plain_cell(bytes: &[u8], style: NumberStyle, signs: &Signs) -> Option<f64> {
    (style == NumberStyle::Point && !signs.is_watching_points).then(|| plain_number(bytes))?
}

/// A number without any decoration. `nan` and `inf` are words, not numbers, here.
fn plain_number(bytes: &[u8]) -> Option<f64> {
    let has_digit_first = matches!(bytes.first(), Some(b'0'..=b'9' | b'-' | b'.' | b'+'));
    let bytes = bytes.strip_prefix(b"+").unwrap_or(bytes);
    if !has_digit_first || matches!(bytes.first(), Some(b'+')) {
        return None;
    }
    fast_float2::parse::<f64, _>(bytes)
        .ok()
        .filter(|number| number.is_finite())
}

/// A cell that is not UTF-8: only no-break spaces and the like can stand in a number.
fn read_latin<'a>(bytes: &'a [u8], style: NumberStyle, signs: &mut Signs) -> Cell<'a> {
    let plain: Vec<u8> = bytes.iter().copied().filter(|&b| b != 0xA0).collect();
    match std::str::from_utf8(&plain).map(|text| owned(&read_text(text, style, signs))) {
        Ok(Some(cell)) => cell,
        _ => Cell::Text,
    }
}

/// A cell that borrows nothing; nothing for one with a unit.
fn owned(cell: &Cell<'_>) -> Option<Cell<'static>> {
    Some(match *cell {
        Cell::WithUnit(..) => return None,
        Cell::Missing => Cell::Missing,
        Cell::Number(number) => Cell::Number(number),
        Cell::Below(limit) => Cell::Below(limit),
        Cell::Above(limit) => Cell::Above(limit),
        Cell::Estimated(number) => Cell::Estimated(number),
        Cell::BelowUnknown => Cell::BelowUnknown,
        Cell::NoNumber(word) => Cell::NoNumber(word),
        Cell::Stone => Cell::Stone,
        Cell::Refused => Cell::Refused,
        Cell::Ended => Cell::Ended,
        Cell::Date => Cell::Date,
        Cell::Unsettled => Cell::Unsettled,
        Cell::Text => Cell::Text,
    })
}

fn read_text<'a>(text: &'a str, style: NumberStyle, signs: &mut Signs) -> Cell<'a> {
    let text = text.trim();
    if let Some(word) = word_cell(text) {
        return word;
    }
    if is_date_or_time(text) {
        return Cell::Date;
    }
    let (sign, rest) = split_comparison(text);
    let (number, tail) = split_number(rest);
    if number.is_empty() {
        return Cell::Text;
    }
    let Some(value) = signs.number(number, style) else {
        return if Signs::could_be_number(number) && !signs.is_said {
            Cell::Unsettled
        } else {
            Cell::Text
        };
    };
    match (sign, tail.trim()) {
        (None, "") => Cell::Number(value),
        (Some('<'), "") | (None, "U" | "u" | "UJ" | "(U)") => Cell::Below(value),
        (Some('>'), "") | (None, "+") => Cell::Above(value),
        (None, "J" | "j" | "(J)" | "E" | "e" | "*") => Cell::Estimated(value),
        (None, unit) if unit.starts_with(|c: char| c.is_alphabetic() || c == '%' || c == '°') => {
            Cell::WithUnit(value, unit)
        }
        _ => Cell::Text,
    }
}

/// Cells that are words.
fn word_cell(text: &str) -> Option<Cell<'static>> {
    let lower = text.to_ascii_lowercase();
    Some(match lower.as_str() {
        "-" | "--" | "---" | "na" | "n/a" | "ns" | "*" | "**" | "." | "none" | "nil" | "n.a."
        | "missing" | "nt" | "not tested" | "not analyzed" | "not analysed" | "no data"
        | "\u{2013}" | "\u{2014}" => Cell::Missing,
        "#value!" | "#div/0!" | "#ref!" | "#name?" | "#num!" | "#null!" | "#wert!" | "#bezug!"
        | "#zahl!" | "#error!" => Cell::NoNumber(NoNumber::FailedFormula),
        "#n/a" | "#nv" => Cell::NoNumber(NoNumber::NotFound),
        "nan" | "-nan" | "nan(ind)" | "-nan(ind)" => Cell::NoNumber(NoNumber::NotANumber),
        "null" | "<null>" | "(null)" | "\\n" => Cell::NoNumber(NoNumber::Null),
        "nd" | "n.d." | "n.d" | "bdl" | "bld" | "bd" | "trace" | "tr" | "tr." | "<dl" | "<lod"
        | "<loq" | "<mdl" | "<rl" | "below detection" | "not detected" | "non-detect" | "<"
        | "u" | "bql" | "lod" => Cell::BelowUnknown,
        "stone" | "rock" | "obstruction" | "stone hit" | "hit stone" => Cell::Stone,
        "stop" | "stopped" | "refusal" | "refused" | "over" | "overload" | "or" | "max" => {
            Cell::Refused
        }
        "end" | "ended" | "not pushed" | "end of push" => Cell::Ended,
        _ => return None,
    })
}

fn split_comparison(text: &str) -> (Option<char>, &str) {
    let rest = text.trim_start_matches(['<', '>', '=', '~', '\u{2264}', '\u{2265}', ' ']);
    let head = &text[..text.len() - rest.len()];
    let sign = if head.contains(['<', '\u{2264}']) {
        Some('<')
    } else if head.contains(['>', '\u{2265}']) {
        Some('>')
    } else {
        None
    };
    if head.contains(['~', '=']) && sign.is_none() {
        (None, text)
    } else {
        (sign, rest)
    }
}

/// Splits the number at the start from what follows it. Grouping signs count as part of it.
fn split_number(text: &str) -> (&str, &str) {
    let mut end = 0;
    let mut seen_digit = false;
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let next = chars.peek().map(|&(_, n)| n);
        let next_is_digit = next.is_some_and(|n| n.is_ascii_digit());
        let belongs = match c {
            '0'..='9' => {
                seen_digit = true;
                true
            }
            '+' | '-' => at == 0 || (text[..at].ends_with(['e', 'E']) && next_is_digit),
            '.' | ',' => next_is_digit || (seen_digit && next.is_none_or(char::is_whitespace)),
            'e' | 'E' => {
                seen_digit
                    && (next_is_digit
                        || (next.is_some_and(|n| n == '-' || n == '+')
                            && text[at + 2..].starts_with(|d: char| d.is_ascii_digit())))
            }
            ' ' | '\'' | '\u{a0}' | '\u{2009}' | '\u{202f}' | '\u{2019}' => {
                seen_digit && is_group_ahead(&text[at + c.len_utf8()..])
            }
            _ => false,
        };
        if !belongs {
            break;
        }
        end = at + c.len_utf8();
    }
    if seen_digit {
        text.split_at(end)
    } else {
        ("", text)
    }
}

/// Whether exactly three digits follow.
fn is_group_ahead(rest: &str) -> bool {
    let digits = rest.bytes().take_while(u8::is_ascii_digit).count();
    digits == 3
}

/// Dates and times as spreadsheets and labs write them.
#[must_use]
pub fn is_date_or_time(text: &str) -> bool {
    let lower = text.to_ascii_lowercase();
    let pieces: Vec<&str> = lower
        .split(['-', '/', ' ', '.', ','])
        .filter(|piece| !piece.is_empty())
        .collect();
    let months = [
        "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
    ];
    let is_number = |piece: &str| {
        !piece.is_empty() && piece.len() <= 4 && piece.bytes().all(|b| b.is_ascii_digit())
    };
    let is_month =
        |piece: &str| months.iter().any(|month| piece.starts_with(month)) && piece.len() <= 9;
    if (2..=3).contains(&pieces.len()) && pieces.iter().filter(|p| is_month(p)).count() == 1 {
        return pieces
            .iter()
            .all(|piece| is_month(piece) || is_number(piece));
    }
    if pieces.len() == 3
        && (lower.contains('/') || lower.matches('-').count() == 2)
        && pieces.iter().all(|p| is_number(p))
    {
        return true;
    }
    let clock: Vec<&str> = lower.split(':').collect();
    (2..=3).contains(&clock.len())
        && clock
            .iter()
            .all(|piece| piece.len() <= 2 && is_number(piece))
}

#[cfg(test)]
#[path = "cell_tests.rs"]
mod tests;

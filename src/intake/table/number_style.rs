//! Which sign is the decimal sign of a column, decided from all of its cells and never guessed.

use crate::provenance::Place;

use crate::intake::error::IntakeError;

/// How the numbers of a column are written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum NumberStyle {
    /// `1234.5`
    #[default]
    Point,
    /// `1,234.5`
    PointWithCommaGroups,
    /// `1.234,5` or `1234,5`
    Comma,
}

/// What the cells of a column tell of its style: row of the first cell of each kind.
#[derive(Debug, Clone, Default)]
pub struct Signs {
    comma_is_decimal: Option<u32>,
    comma_is_group: Option<u32>,
    comma_ambiguous: Option<u32>,
    point_is_decimal: Option<u32>,
    point_ambiguous: Option<u32>,
    /// Row being read.
    pub row: u32,
    /// Whether points are looked at too: a file in which another column has a decimal comma.
    pub is_watching_points: bool,
    /// Whether the plan says the style, so that the cells have no word in it.
    pub is_said: bool,
    /// The style that is meant where the cells leave it open.
    pub fallback: Option<NumberStyle>,
}

impl Signs {
    /// Nothing seen yet.
    pub(in crate::intake) fn new(is_watching_points: bool) -> Self {
        Self {
            is_watching_points,
            ..Self::default()
        }
    }

    /// The number in a style; `None` where the text is no number of that style.
    pub(in crate::intake) fn number(&mut self, text: &str, style: NumberStyle) -> Option<f64> {
        let text = text.strip_prefix('+').unwrap_or(text);
        let plain: String = text
            .chars()
            .filter(|c| {
                !matches!(
                    c,
                    ' ' | '\'' | '\u{a0}' | '\u{2009}' | '\u{202f}' | '\u{2019}'
                )
            })
            .collect();
        self.note(&plain);
        let (commas, points) = (plain.matches(',').count(), plain.matches('.').count());
        let text = match style {
            NumberStyle::Point if commas > 0 || points > 1 => return None,
            NumberStyle::Point => plain,
            NumberStyle::PointWithCommaGroups => without_groups(&plain, ',', '.')?,
            NumberStyle::Comma => without_groups(&plain, '.', ',')?.replace(',', "."),
        };
        fast_float2::parse::<f64, _>(text.as_bytes())
            .ok()
            .filter(|number| number.is_finite())
    }

    /// Adds what later cells tell.
    pub(in crate::intake) fn join(&mut self, later: &Self) {
        self.comma_is_decimal = self.comma_is_decimal.or(later.comma_is_decimal);
        self.comma_is_group = self.comma_is_group.or(later.comma_is_group);
        self.comma_ambiguous = self.comma_ambiguous.or(later.comma_ambiguous);
        self.point_is_decimal = self.point_is_decimal.or(later.point_is_decimal);
        self.point_ambiguous = self.point_ambiguous.or(later.point_ambiguous);
    }

    /// Whether a text is made of digits and signs only.
    pub(in crate::intake) fn could_be_number(text: &str) -> bool {
        text.contains([',', '.']) && text.bytes().any(|b| b.is_ascii_digit())
    }

    fn note(&mut self, plain: &str) {
        if self.is_said {
            return;
        }
        let row = Some(self.row);
        let body = plain.trim_start_matches(['-', '+']);
        let mantissa = body.split(['e', 'E']).next().unwrap_or(body);
        let (commas, points) = (mantissa.matches(',').count(), mantissa.matches('.').count());
        let slot = match (commas, points) {
            (0, 0) => return,
            (0, 1) if is_one_group(mantissa, '.') => &mut self.point_ambiguous,
            (0, 1) => &mut self.point_is_decimal,
            (1, 0) if is_one_group(mantissa, ',') => &mut self.comma_ambiguous,
            (1, 0) | (0, _) => &mut self.comma_is_decimal,
            (_, 0) => &mut self.comma_is_group,
            _ if mantissa.rfind(',') > mantissa.rfind('.') => &mut self.comma_is_decimal,
            _ => &mut self.comma_is_group,
        };
        *slot = slot.or(row);
    }

    /// What the cells leave open: the file's style where the plan says one, else a question.
    fn open(&self, question: impl FnOnce() -> IntakeError) -> Result<NumberStyle, IntakeError> {
        self.fallback.ok_or_else(question)
    }

    /// The style that the whole column shows.
    ///
    /// # Errors
    /// Where two cells contradict each other, or no cell tells whether a comma groups or divides.
    pub fn style(&self, place: &Place) -> Result<NumberStyle, IntakeError> {
        let conflict = |one: u32, other: u32| IntakeError::DecimalSign {
            place: place.clone(),
            what: format!(
                "row {one} has a decimal comma, row {other} a decimal point or a thousands comma"
            ),
        };
        match (
            self.comma_is_decimal,
            self.comma_is_group,
            self.comma_ambiguous,
        ) {
            (Some(one), Some(other), _) => Err(conflict(one, other)),
            (Some(one), None, _) => self
                .point_is_decimal
                .map_or(Ok(NumberStyle::Comma), |other| Err(conflict(one, other))),
            (None, Some(_), _) => Ok(NumberStyle::PointWithCommaGroups),
            (None, None, Some(_)) if self.point_is_decimal.is_some() => {
                Ok(NumberStyle::PointWithCommaGroups)
            }
            (None, None, Some(row)) => self.open(|| IntakeError::DecimalSign {
                place: place.clone(),
                what: format!(
                    "a comma followed by three digits (row {row}) may be a decimal or a thousands sign, and no other cell tells"
                ),
            }),
            (None, None, None) => match self.point_ambiguous {
                Some(row) if self.is_watching_points && self.point_is_decimal.is_none() => {
                    self.open(|| IntakeError::DecimalSign {
                        place: place.clone(),
                        what: format!(
                            "a point followed by three digits (row {row}) may be a thousands sign, since other columns of the file have a decimal comma"
                        ),
                    })
                }
                _ => Ok(NumberStyle::Point),
            },
        }
    }
}

/// `1.234`: one to three digits (not starting with zero), the sign, exactly three digits.
fn is_one_group(text: &str, sign: char) -> bool {
    text.split_once(sign).is_some_and(|(head, tail)| {
        (1..=3).contains(&head.len())
            && !head.starts_with('0')
            && tail.len() == 3
            && head.bytes().chain(tail.bytes()).all(|b| b.is_ascii_digit())
    })
}

/// Takes grouping signs out, if they stand before groups of three digits and before the decimal sign.
fn without_groups(text: &str, group: char, decimal: char) -> Option<String> {
    let (whole, rest) = text
        .find(decimal)
        .map_or((text, ""), |at| text.split_at(at));
    if rest.contains(group) || rest.matches(decimal).count() > 1 {
        return None;
    }
    let mut groups = whole.trim_start_matches(['-', '+']).split(group);
    let head = groups.next().unwrap_or("");
    let mut tails = groups.peekable();
    if tails.peek().is_some()
        // Thousands never begin with a zero: 0.015 is no fifteen.
        && !((1..=3).contains(&head.len())
            && !head.starts_with('0')
            && tails.all(|tail| tail.len() == 3))
    {
        return None;
    }
    Some(format!("{}{rest}", whole.replace(group, "")))
}

#[cfg(test)]
#[path = "number_style_tests.rs"]
mod tests;

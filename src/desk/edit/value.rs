use toml_edit::{Array, Decor, Item, Value as TomlValue};

use super::reason::Reason;
use crate::desk::change::Value;
use crate::desk::refused::Refused;

/// Most letters of a text, and most texts of a list.
const MOST_LETTERS: usize = 2_000;
const MOST_TEXTS: usize = 200;

/// A value as TOML.
pub(super) fn toml(value: &Value) -> Result<TomlValue, Refused> {
    match value {
        Value::Number(number) if !number.is_finite() => {
            Err(Refused::Malformed("a number has to be finite".to_owned()))
        }
        Value::Number(number) if number.fract() == 0.0 && number.abs() < 1e15 => {
            Ok((*number as i64).into())
        }
        Value::Number(number) => Ok((*number).into()),
        Value::Text(text) => Ok(checked(text)?.into()),
        Value::Texts(texts) if texts.len() > MOST_TEXTS => {
            let what = format!("a list of more than {MOST_TEXTS} texts");
            Err(Refused::Malformed(what))
        }
        Value::Texts(texts) => {
            let texts: Result<Array, Refused> = texts.iter().map(|text| checked(text)).collect();
            Ok(texts?.into())
        }
    }
}

/// A text of one line that is not too long.
pub(super) fn checked(text: &str) -> Result<&str, Refused> {
    if text.len() > MOST_LETTERS || text.chars().any(char::is_control) {
        let what = format!("a text has one line of at most {MOST_LETTERS} letters");
        return Err(Refused::Malformed(what));
    }
    Ok(text)
}

/// Puts a value in the place of another; the comment behind it stays.
pub(super) fn replace(item: &mut Item, mut value: TomlValue) {
    if let Some(old) = item.as_value() {
        *value.decor_mut() = old.decor().clone();
    }
    *item = Item::Value(value);
}

/// Puts a comment with the reason above a key.
pub(super) fn note(decor: &mut Decor, reason: Reason<'_>) {
    let before = decor.prefix().and_then(|prefix| prefix.as_str());
    let before = before.unwrap_or_default().to_owned();
    let why: String = reason
        .why
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let indent = before.rsplit('\n').next().unwrap_or_default().to_owned();
    decor.set_prefix(format!("{before}# {}: {why}\n{indent}", reason.day));
}

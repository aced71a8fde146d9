//! Which of the shapes in a file are the field.

use crate::plan::FieldChoice;
use crate::provenance::Place;

use super::error::IntakeError;
use super::formats::shapes::{Shape, Shapes};

/// Shapes that a message lists.
const MOST_LISTED: usize = 12;

/// The shapes that make the field.
pub(super) fn choose(
    shapes: &Shapes,
    choice: Option<&FieldChoice>,
    place: &Place,
) -> Result<Vec<Shape>, IntakeError> {
    let with_shape: Vec<&Shape> = shapes
        .list
        .iter()
        .filter(|shape| shape.geometry.is_some())
        .collect();
    if with_shape.is_empty() {
        return Err(IntakeError::Shape {
            place: place.clone(),
            what: "the file holds no shape".to_owned(),
            help: "export the field's boundary as a polygon".to_owned(),
        });
    }
    match choice {
        Some(FieldChoice::Attribute(key, value)) => {
            return chosen(&with_shape, key, value, place);
        }
        Some(FieldChoice::Number(number)) => return numbered(&with_shape, *number, place),
        Some(FieldChoice::All) => {
            return Ok(with_shape.into_iter().cloned().collect());
        }
        None => {}
    }
    match with_shape.as_slice() {
        [one] => Ok(vec![(*one).clone()]),
        several => match distinguishing(several) {
            None => Ok(several.iter().map(|shape| (*shape).clone()).collect()),
            Some((key, values)) => Err(several_fields(several, &key, &values, place)),
        },
    }
}

/// A file of several fields, and nothing that says which one is meant.
fn several_fields(shapes: &[&Shape], key: &str, values: &[String], place: &Place) -> IntakeError {
    let own = |shape: &Shape| {
        let mut attributes = shape.attributes.iter();
        let value = attributes
            .find(|(name, _)| name == key)
            .map(|(_, value)| value.trim());
        value.unwrap_or_default().to_owned()
    };
    let list: Vec<String> = shapes
        .iter()
        .zip(1..)
        .take(MOST_LISTED)
        .map(|(shape, number)| format!("{number} \"{}\"", own(shape)))
        .collect();
    let more = match shapes.len().saturating_sub(MOST_LISTED) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let first = values.first().cloned().unwrap_or_default();
    IntakeError::Choice {
        place: place.clone(),
        what: format!(
            "the file holds {} shapes that differ in \"{key}\": {}{more}",
            shapes.len(),
            list.join(", ")
        ),
        help: format!(
            "say which is the field: boundary = {{ file = \"...\", choose = {{ attribute = \"{key}\", is = \"{first}\" }} }}, \
             or choose = {{ number = 1 }}, or, where the field is all of them, choose = {{ all = true }}"
        ),
    }
}

/// The shape of a number, counted among those that have a geometry.
fn numbered(shapes: &[&Shape], number: u32, place: &Place) -> Result<Vec<Shape>, IntakeError> {
    let at = (number as usize).saturating_sub(1);
    shapes
        .get(at)
        .map(|shape| vec![(*shape).clone()])
        .ok_or_else(|| IntakeError::Choice {
            place: place.clone(),
            what: format!("there is no shape {number}"),
            help: format!("the file holds shapes 1 to {}", shapes.len()),
        })
}

fn chosen(
    shapes: &[&Shape],
    key: &str,
    value: &str,
    place: &Place,
) -> Result<Vec<Shape>, IntakeError> {
    let own = |shape: &&&Shape| {
        shape
            .attributes
            .iter()
            .find(|(name, _)| name == key)
            .map(|(_, own)| own.trim().to_owned())
    };
    let found: Vec<Shape> = shapes
        .iter()
        .filter(|shape| own(shape).as_deref() == Some(value.trim()))
        .map(|shape| (*shape).clone())
        .collect();
    if !found.is_empty() {
        return Ok(found);
    }
    let mut values: Vec<String> = shapes.iter().filter_map(|shape| own(&shape)).collect();
    values.dedup();
    let names: Vec<String> = shapes
        .first()
        .map(|shape| {
            shape
                .attributes
                .iter()
                .map(|(name, _)| name.clone())
                .collect()
        })
        .unwrap_or_default();
    let help = if values.is_empty() {
        format!(
            "there is no attribute \"{key}\"; {}",
            super::columns::nearest::nearest(key, &names).replace("columns", "attributes")
        )
    } else {
        format!(
            "the values of \"{key}\" are {}",
            values
                .iter()
                .take(12)
                .map(|v| format!("\"{v}\""))
                .collect::<Vec<_>>()
                .join(", ")
        )
    };
    Err(IntakeError::Choice {
        place: place.clone(),
        what: format!("no shape has \"{key}\" = \"{value}\""),
        help,
    })
}

/// The attribute that tells the shapes apart best; `None` where none does (one field in several parts).
fn distinguishing(shapes: &[&Shape]) -> Option<(String, Vec<String>)> {
    let names = shapes
        .first()?
        .attributes
        .iter()
        .map(|(name, _)| name.clone());
    let candidates = names.filter_map(|name| {
        let mut values: Vec<String> = shapes
            .iter()
            .filter_map(|shape| {
                shape
                    .attributes
                    .iter()
                    .find(|(own, _)| *own == name)
                    .map(|(_, value)| value.trim().to_owned())
            })
            .collect();
        values.sort();
        values.dedup();
        let is_text = values.iter().any(|value| value.parse::<f64>().is_err());
        (values.len() > 1).then_some((values.len(), is_text, name, values))
    });
    let best = candidates.max_by(|one, other| {
        (one.1, one.0)
            .cmp(&(other.1, other.0))
            .then(other.2.cmp(&one.2))
    })?;
    Some((best.2, best.3))
}

/// The attribute that tells the shapes of a file apart, with its values; `None` where the file is one field.
pub(super) fn distinguishing_attribute(shapes: &Shapes) -> Option<(String, Vec<String>)> {
    let with_shape: Vec<&Shape> = shapes
        .list
        .iter()
        .filter(|shape| shape.geometry.is_some())
        .collect();
    if with_shape.len() > 1 {
        distinguishing(&with_shape)
    } else {
        None
    }
}

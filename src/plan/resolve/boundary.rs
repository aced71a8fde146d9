//! Which of several shapes are the field.

use crate::plan::file::ChooseTable;
use crate::plan::settings::FieldChoice;

use super::words::Resolver;

/// The one way in which the choice is made.
pub(super) fn choice(table: &ChooseTable, resolver: &Resolver<'_>) -> Option<FieldChoice> {
    let all = table.all.given().filter(|all| all.value);
    let has_attribute = table.attribute.is_written() || table.is.is_written();
    if usize::from(has_attribute)
        + usize::from(table.number.is_written())
        + usize::from(all.is_some())
        > 1
    {
        let help = "keep one of attribute with is, number, and all";
        resolver.contradiction(&table.place, "the field is chosen in several ways", help);
        return None;
    }
    if all.is_some() {
        return Some(FieldChoice::All);
    }
    if let Some(number) = table.number.given() {
        let found = u32::try_from(number.value)
            .ok()
            .filter(|number| *number > 0);
        if found.is_none() {
            resolver.out_of_range(&number.place, number.value, "1 or more");
        }
        return found.map(FieldChoice::Number);
    }
    let example = "attribute = \"NAME\"";
    let attribute = resolver.required(&table.attribute, &table.place, "attribute", example);
    let is = resolver.required(&table.is, &table.place, "is", "is = \"Alder Flat\"");
    Some(FieldChoice::Attribute(
        attribute?.value.clone(),
        is?.value.clone(),
    ))
}

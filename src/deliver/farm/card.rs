//! `controller/taskdata.zip` of a farm: every field on one card, a task per field and product. More than fits one goes into several.

use super::facts::{ProductFacts, part};
use super::input::{FarmField, FarmInput};
use super::whole_words::{Given, whole_words};
use crate::deliver::degrees::Part;
use crate::deliver::error::DeliverError;
use crate::deliver::options::TaskDataForm;
use crate::deliver::output_file::OutputFile;
use crate::deliver::task_data::{
    CardField, CardPiece, CardProduct, LONGEST_NAME, Layout, PATH, Setpoint, layout, package,
};

/// Most tasks of a package: the names of its grids have five digits.
const MOST_TASKS: usize = 99_999;
/// Most bytes of a package's text, about; terminals have little memory (common practice, no terminal was tried).
const MOST_BYTES: usize = 24_000_000;
/// Bytes of a place in the text, about.
const BYTES_OF_PLACE: usize = 60;
/// Bytes of a zone and its rate, about.
const BYTES_OF_ZONE: usize = 300;

/// One package, or several in the order of the fields; none where nothing goes anywhere.
pub(super) fn files(input: &FarmInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let (mut tasks, mut fields) = (Given::default(), Given::default());
    let mut packages: Vec<Vec<(CardField, Layout)>> = Vec::new();
    let (mut count, mut bytes) = (0, 0);
    for field in &input.fields {
        let card = card_field(input, field, &mut tasks, &mut fields);
        if card.products.is_empty() {
            continue;
        }
        let size = size(&card);
        let is_full = count + card.products.len() > MOST_TASKS || bytes + size > MOST_BYTES;
        if packages.is_empty() || is_full {
            packages.push(Vec::new());
            (count, bytes) = (0, 0);
        }
        count += card.products.len();
        bytes += size;
        let layout = layout(&card, TaskDataForm::Polygons)?;
        if let Some(package) = packages.last_mut() {
            package.push((card, layout));
        }
    }
    let several = packages.len() > 1;
    let file = |(at, fields): (usize, &Vec<_>)| {
        let path = match several {
            true => PATH.replace(".zip", &format!("-{}.zip", at + 1)),
            false => PATH.to_owned(),
        };
        Ok(OutputFile::new(path, package(fields)?))
    };
    packages.iter().enumerate().map(file).collect()
}

fn size(card: &CardField) -> usize {
    let spots = |part: &Part| part.outer.len() + part.holes.iter().map(Vec::len).sum::<usize>();
    let of = |parts: &[Part]| parts.iter().map(spots).sum::<usize>();
    let pieces: usize = card.pieces.iter().map(|piece| of(&piece.parts)).sum();
    let zones = card.parts().count() + 1;
    let task = pieces * BYTES_OF_PLACE + zones * BYTES_OF_ZONE;
    task * card.products.len() + of(&card.boundary) * BYTES_OF_PLACE
}

fn card_field(
    input: &FarmInput<'_>,
    field: &FarmField<'_>,
    tasks: &mut Given,
    fields: &mut Given,
) -> CardField {
    let facts = field.facts;
    let owned = |own: &Option<String>, of_farm: Option<&str>| {
        own.clone().or_else(|| of_farm.map(str::to_owned))
    };
    let pieces = facts.pieces.iter().zip(&field.outlines);
    CardField {
        grower: owned(&facts.grower, input.grower),
        farm: owned(&facts.farm, Some(input.farm)),
        name: fields.name(field.field, "", LONGEST_NAME),
        area_m2: facts.workable_m2,
        boundary: facts.boundary.iter().map(part).collect(),
        cell_m: facts.cell_m,
        pieces: pieces
            .map(|((name, _), outlines)| CardPiece {
                name: name.clone(),
                parts: outlines.iter().map(part).collect(),
            })
            .collect(),
        products: facts
            .products
            .iter()
            .filter(|product| product.steps.iter().any(|steps| *steps > 0))
            .map(|product| card_product(field, product, tasks))
            .collect(),
    }
}

fn card_product(field: &FarmField<'_>, product: &ProductFacts, tasks: &mut Given) -> CardProduct {
    let end = |product: &str| format!("{product} {}", field.season);
    let full = field.field.chars().count() + 1 + end(&product.label).chars().count();
    let called = match full <= LONGEST_NAME {
        true => &product.label,
        false => &product.word,
    };
    CardProduct {
        name: product.name.clone(),
        label: whole_words(&product.label, LONGEST_NAME),
        task: tasks.name(field.field, &end(called), LONGEST_NAME),
        unit: product.unit.clone(),
        decimals: product.decimals,
        setpoint: Setpoint::new(product.is_liquid, field.facts.units),
        steps: product.steps.clone(),
    }
}

//! The farm's card, bill and sheet, from what is kept of its fields.

use std::collections::BTreeMap;

use super::facts::{FarmFacts, StockAmount};
use super::problem::Problem;
use super::record::FieldRecord;
use crate::deliver::{
    self, DeliverError, FarmField, FarmInput, FarmProblem, OutputFile, Shared, StockLine,
};

/// The files.
pub(super) fn own_files(
    facts: &FarmFacts,
    records: &[FieldRecord],
    problems: &[Problem],
    shared: Option<Shared>,
) -> Result<Vec<OutputFile>, DeliverError> {
    let names = names(records);
    deliver::farm_files(&FarmInput {
        farm: &facts.farm,
        grower: facts.grower.as_deref(),
        prepared_by: facts.prepared_by.as_deref(),
        date: facts.date,
        units: facts.units,
        fields: records
            .iter()
            .zip(&names)
            .map(|(record, name)| field(record, name))
            .collect(),
        problems: problems.iter().map(problem).collect(),
        shared,
        stock: facts.stock.iter().map(stock).collect(),
    })
}

/// The fields' printed names; those that several fields have are followed by the field's name in the farm.
fn names(records: &[FieldRecord]) -> Vec<String> {
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for record in records {
        *counts.entry(&record.row.field).or_default() += 1;
    }
    let name = |record: &FieldRecord| match counts.get(record.row.field.as_str()) {
        Some(2..) => format!("{} ({})", record.row.field, record.row.id),
        _ => record.row.field.clone(),
    };
    records.iter().map(name).collect()
}

fn field<'a>(record: &'a FieldRecord, name: &'a str) -> FarmField<'a> {
    let row = &record.row;
    FarmField {
        id: &row.id,
        field: name,
        crop: &row.crop,
        season: row.season,
        area_ha: row.area_ha,
        area_ac: row.area_ac,
        facts: &record.facts,
        outlines: record.pieces.iter().map(|piece| &piece.parts[..]).collect(),
    }
}

fn problem(problem: &Problem) -> FarmProblem {
    FarmProblem {
        id: problem.id.clone(),
        what: problem.what.clone(),
        help: (!problem.way_out.is_empty()).then(|| problem.way_out.clone()),
    }
}

fn stock((product, amount): &(String, StockAmount)) -> StockLine {
    let (amount, is_liquid) = match amount {
        StockAmount::Kilograms(amount) => (*amount, false),
        StockAmount::Litres(amount) => (*amount, true),
    };
    StockLine {
        product: product.clone(),
        amount,
        is_liquid,
    }
}

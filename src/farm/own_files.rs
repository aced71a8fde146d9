//! The farm's card, bill and sheet, from what is kept of its fields.

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
    deliver::farm_files(&FarmInput {
        farm: &facts.farm,
        grower: facts.grower.as_deref(),
        prepared_by: facts.prepared_by.as_deref(),
        date: facts.date,
        units: facts.units,
        fields: records.iter().map(field).collect(),
        problems: problems.iter().map(problem).collect(),
        shared,
        stock: facts.stock.iter().map(stock).collect(),
    })
}

fn field(record: &FieldRecord) -> FarmField<'_> {
    let row = &record.row;
    FarmField {
        id: &row.id,
        field: &row.field,
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

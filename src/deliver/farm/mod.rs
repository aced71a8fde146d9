//! The files of a whole farm, made from what is kept of each field: one card, shapefiles, one bill, and the grower's sheet.

mod bill;
mod bill_files;
mod card;
mod facts;
mod field_sheet;
mod input;
mod map;
mod orders;
mod page;
mod purchases;
mod shapefiles;
mod sheet;
mod text;
mod whole_words;

pub use facts::FieldFacts;
pub use input::{FarmField, FarmInput, FarmProblem, Shared, StockLine};

use crate::deliver::error::DeliverError;
use crate::deliver::output_file::OutputFile;
use bill::Bill;
use sheet::FarmSheet;

/// All files of the farm but its tables; nothing but what is handed in decides their bytes.
///
/// # Errors
/// Where a format cannot hold what is to be written.
pub fn farm_files(input: &FarmInput<'_>) -> Result<Vec<OutputFile>, DeliverError> {
    let cards = card::files(input)?;
    let bill = Bill::new(input);
    let sheet = FarmSheet::new(input, &bill, cards.len());
    let mut files = cards;
    files.extend(shapefiles::files(input)?);
    files.extend(bill_files::files(input, &bill));
    files.push(OutputFile::new("farm.txt", text::page(input, &sheet)));
    files.push(OutputFile::new("farm.html", page::page(input, &sheet)));
    Ok(files)
}

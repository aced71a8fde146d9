//! `RowTally` to a table: places, names, depths and the numbers of each column. Imports `columns` and `formats`.

pub(in crate::intake) mod builder;
mod cell;
mod cone;
mod cone_layers;
mod cone_profiles;
mod cone_remarks;
pub(in crate::intake) mod coordinates;
mod dates;
pub(in crate::intake) mod delimited;
pub(super) mod duplicates;
pub(in crate::intake) mod join;
mod last_row;
mod layers;
mod long;
mod no_numbers;
mod number_style;
mod odd_rows;
mod result_column;
mod row_depth;
pub(in crate::intake) mod shape_table;
mod styles;
mod tally;

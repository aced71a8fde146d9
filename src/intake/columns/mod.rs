//! What a column is: what the plan says first, then what the catalogue recognises, with the reason. Imports `formats`.

pub(in crate::intake) mod cone_roles;
pub(in crate::intake) mod depth_mark;
mod guess;
pub(in crate::intake) mod header;
pub(in crate::intake) mod layout;
mod name_check;
mod named;
pub(in crate::intake) mod nearest;
mod planned;
pub(in crate::intake) mod reading_column;
pub(in crate::intake) mod result;
pub(in crate::intake) mod result_unit;
mod results;
pub(in crate::intake) mod roles;
pub(in crate::intake) mod table_roles;
mod units_row;
mod unused;

pub(in crate::intake) use header::Header;
pub(in crate::intake) use name_check::check_name;
pub(in crate::intake) use result::{ResultColumn, named_key, plan_entry, plan_line};

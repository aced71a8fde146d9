//! Nutrients that are measured short: how much by the region's table, and from which of the products that may be used.
//!
//! The need of each nutrient comes from one row of a rate table; what the starter and the other amendments bring is taken off. Then one
//! least-cost mix is found for the whole field, inside every cap, of no more products than are spread in a season.

mod candidates;
mod ceiling;
mod found;
mod maintenance;
mod mix;
mod need;
mod program;
mod removal;
mod unmet;
mod worked;

pub(in crate::rates) use candidates::is_open;
pub(in crate::rates) use maintenance::{Maintenance, maintenance, not_ordered};
pub(in crate::rates) use mix::mix;
pub(in crate::rates) use need::{Needed, needs};
pub use program::{Choice, MixProblem, MixProduct, MixZone, cheapest_mix};
pub(in crate::rates) use removal::{
    goal_of_plan, gross_of_goal, in_units, pounds_a_unit, removal_of, taken,
};
pub(in crate::rates) use unmet::{Met, left_in_the_end};
pub use worked::check_worked_values;

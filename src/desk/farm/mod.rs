//! The desk of a farm: its fields as a list and a map, its money as a slider, and each field's own desk behind its name.
//!
//! The farm is worked on as `lowstave farm` does it, into a folder for the time being that is gone when the desk ends (`workshop`): fields whose
//! files did not change keep their result there, so that a changed budget shares out anew and no more.

mod answer;
mod difference;
mod farm_desk;
mod farm_home;
mod outline;
mod progress;
mod routes;
mod take;
mod workshop;

pub(super) use farm_desk::FarmDesk;
pub(super) use farm_home::FarmHome;
pub(super) use routes::{FarmServed, router};

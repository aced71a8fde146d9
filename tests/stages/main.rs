//! Each stage through its front door, on small values made here.

mod deliver;
mod diagnosis;
mod field;
mod intake;
mod plan;
mod rates;
mod rulebook;
mod surface;
mod zones;

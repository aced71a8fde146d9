//! Each stage through its front door, on small values made here.

mod deliver;
mod diagnosis;
mod field;
mod intake;
mod made_zone_fields;
mod plan;
mod rates;
mod surface;
mod zones;

//! Each stage through its front door, on small values made here.

mod deliver;
mod diagnosis;
mod field;
mod intake;
mod made_surveys;
mod plan;
mod rates;
mod sampling;
mod surface;
mod zones;

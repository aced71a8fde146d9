//! Front doors of the stages that are still being built: each says so. A stage that lands replaces its line in
//! `pipeline.rs`; this file goes when the last one has.
#![allow(missing_docs, clippy::missing_errors_doc)]

use crate::diagnosis::Diagnosis;
use crate::error::Error;
use crate::field::Field;
use crate::intake::Survey;
use crate::plan::Settings;
use crate::rates::Prescription;
use crate::rulebook::Rulebook;
use crate::surface::Surfaces;
use crate::zones::Zones;

pub fn read(_settings: &Settings) -> Result<Survey, Vec<Error>> {
    Err(vec![Error::Unbuilt("intake")])
}

pub fn diagnose(_: &Settings, _: &Field, _: &Surfaces, _: &Zones, _: &Rulebook) -> Result<Diagnosis, Vec<Error>> {
    Err(vec![Error::Unbuilt("diagnosis")])
}

pub fn prescribe(_: &Settings, _: &Field, _: &Surfaces, _: &Zones, _: &Diagnosis, _: &Rulebook) -> Result<Prescription, Vec<Error>> {
    Err(vec![Error::Unbuilt("rates")])
}

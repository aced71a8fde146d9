//! Outside checks of the soil science: published numbers, worked examples and, by name, published numbers that are wrong.
//!
//! `README.md` lists every check with its publication, what was printed, and why ours may differ from the print.
//! Marks: *published* means the number or formula was read in the publication; *from memory* was recalled from it; *common
//! practice* has no publication; *derived* is arithmetic on published values.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a check that cannot be made must fail"
)]
#![allow(
    clippy::doc_markdown,
    reason = "chemical formulas and titles are not code"
)]

mod application;
mod carbon;
mod cation_exchange;
mod classes;
mod cone_index;
mod lime;
mod properties;
mod seed_salt;
mod sodium_and_gypsum;
mod units;
mod uptake_and_removal;

use lowstave::units::{
    Density, Length, MassPerArea, Pressure, Quantity, Speed, VolumeFlow, VolumePerArea,
};

/// Fails unless the two agree within a tolerance.
#[track_caller]
fn near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "found {found}, expected {expected} within {tolerance}"
    );
}

fn pounds_per_acre(number: f64) -> MassPerArea {
    MassPerArea::parse(&format!("{number} lb/ac")).unwrap()
}

fn in_unit<Q: Quantity>(quantity: Q, unit: &str) -> f64 {
    quantity.in_unit(unit).unwrap()
}

fn inches(number: f64) -> Length {
    Length::parse(&format!("{number} in")).unwrap()
}

fn psi(number: f64) -> Pressure {
    Pressure::parse(&format!("{number} psi")).unwrap()
}

fn mph(number: f64) -> Speed {
    Speed::parse(&format!("{number} mph")).unwrap()
}

fn gallons_per_acre(number: f64) -> VolumePerArea {
    VolumePerArea::parse(&format!("{number} gal/ac")).unwrap()
}

fn gallons_per_minute(number: f64) -> VolumeFlow {
    VolumeFlow::parse(&format!("{number} gal/min")).unwrap()
}

fn pounds_per_gallon(number: f64) -> Density {
    Density::parse(&format!("{number} lb/gal")).unwrap()
}

/// The plough layer of 2,000,000 lb/ac that most tables mean: 6 2/3 in.
fn two_million_pounds() -> MassPerArea {
    pounds_per_acre(2.0e6)
}

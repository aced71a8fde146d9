use proptest::prelude::*;

use super::{UnitError, split_number_and_unit};
use crate::units::{
    Area, Density, Length, Mass, MassPerArea, MoneyPerArea, MoneyPerMass, MoneyPerVolume, Pressure,
    Quantity, Speed, Volume, VolumeFlow, VolumePerArea,
};

fn told<Q: Quantity>(text: &str) -> String {
    match Q::parse(text) {
        Ok(value) => panic!("{text} was read as {}", value.stored()),
        Err(cause) => cause.to_string(),
    }
}

#[test]
fn a_number_may_touch_its_unit_or_not() {
    for text in [
        "5 m", "5m", " 5  m ", "5.0 m", "+5 m", "0.5e1 m", "5E0 m", "500 cm", "5 metres",
        "5 Meters", "5 M",
    ] {
        assert_eq!(Length::parse(text).unwrap().metres(), 5.0, "{text}");
    }
    assert_eq!(
        Length::parse("30\"").unwrap(),
        Length::parse("30 inches").unwrap()
    );
}

#[test]
fn units_written_in_words_are_read() {
    let pairs = [
        ("10 gallons per acre", "10 gal/ac"),
        ("10 gallons/acre", "10 gal/ac"),
        ("10 GPA", "10 gal/ac"),
        ("10 litres/hectare", "10 L/ha"),
    ];
    for (words, symbols) in pairs {
        assert_eq!(
            VolumePerArea::parse(words).unwrap(),
            VolumePerArea::parse(symbols).unwrap(),
            "{words}"
        );
    }
    assert_eq!(
        MassPerArea::parse("2 lbs/acre").unwrap(),
        MassPerArea::parse("2 lb/ac").unwrap()
    );
    assert_eq!(
        MassPerArea::parse("1 short ton per acre").unwrap(),
        MassPerArea::parse("1 ton/ac").unwrap()
    );
    assert_eq!(
        MoneyPerMass::parse("45 $/ton").unwrap(),
        MoneyPerMass::parse("45 USD/ton").unwrap()
    );
    assert_eq!(
        Area::parse("130 mm²").unwrap(),
        Area::parse("130 mm^2").unwrap()
    );
}

#[test]
fn letter_case_counts_only_where_it_carries_meaning() {
    assert_eq!(
        Pressure::parse("2 mpa").unwrap(),
        Pressure::parse("2 MPa").unwrap()
    );
    assert_eq!(
        Pressure::parse("300 PSI").unwrap(),
        Pressure::parse("300 psi").unwrap()
    );
    assert_eq!(Mass::parse("1 Mg").unwrap().kilograms(), 1_000.0);
    assert!(
        Mass::parse("1 mg").is_err(),
        "a milligram is not a megagram"
    );
    assert!(MassPerArea::parse("1 mg/ha").is_err());
}

#[test]
fn a_t_is_refused_because_it_means_two_things() {
    assert_eq!(
        told::<Mass>("3 t"),
        "\"t\" may mean a short ton (2,000 lb) or a metric tonne (1,000 kg); write \"ton\" or \"tonne\""
    );
    assert_eq!(
        told::<MassPerArea>("3 t/ha"),
        "\"t/ha\" may mean a short ton (2,000 lb) or a metric tonne (1,000 kg); write \"ton/ha\" or \"tonne/ha\""
    );
}

#[test]
fn each_mistake_is_told_with_what_would_do() {
    assert_eq!(
        told::<Length>("five m"),
        "\"five m\" does not start with a number; a length is written like \"5 m\""
    );
    assert_eq!(
        told::<Length>("40"),
        "\"40\" has no unit; a length is written with one of m, cm, mm, km, ft, in, yd, mi"
    );
    assert_eq!(
        told::<Speed>("5 knots"),
        "\"knots\" is not a unit of speed; use one of m/s, km/h, mph, ft/min"
    );
    assert_eq!(
        told::<VolumePerArea>("5 gal/sc"),
        "\"gal/sc\" is not a unit of volume per area (did you mean \"gal/ac\"?); use one of L/ha, gal/ac"
    );
    assert_eq!(
        told::<Volume>("1,500 L"),
        "the comma in \"1,500 L\" may be a decimal sign or a thousands separator; write the number with a point, as in 1500.5"
    );
    assert_eq!(
        told::<Length>("1e308 km"),
        "\"1e308 km\" is too large for a length"
    );
    assert!(
        matches!(Length::parse("1e999 m"), Err(UnitError::NoNumber { .. })),
        "no number that a double can hold"
    );
    assert!(matches!(
        Length::parse("NaN m"),
        Err(UnitError::NoNumber { .. })
    ));
    assert!(told::<Length>(&format!("5 {}", "x".repeat(100_000))).len() < 300);
}

#[test]
fn an_exponent_is_not_taken_for_a_unit_nor_a_unit_for_an_exponent() {
    assert_eq!(split_number_and_unit("1e3 m"), Some((1_000.0, "m")));
    assert_eq!(split_number_and_unit("5 ez"), Some((5.0, "ez")));
    assert_eq!(split_number_and_unit("5ez"), Some((5.0, "ez")));
    assert_eq!(split_number_and_unit("-0.5"), Some((-0.5, "")));
    for text in ["", "   ", "m", "--5 m", "1.2.3 m", "+", "e5"] {
        assert_eq!(split_number_and_unit(text), None, "{text:?}");
    }
}

/// Prints a value in each unit of its table, reads it back, and finds the same value to the rounding of the arithmetic.
fn round_trip<Q: Quantity + std::fmt::Display>(number: f64) -> Result<(), TestCaseError> {
    for (unit, factor) in Q::UNITS {
        let value = Q::parse(&format!("{number} {unit}"))
            .map_err(|cause| TestCaseError::fail(cause.to_string()))?;
        prop_assert!(
            (value.stored() - number * factor).abs() <= (number * factor).abs() * 1e-15,
            "{number} {unit}"
        );
        let back = value
            .in_unit(unit)
            .ok_or_else(|| TestCaseError::fail(*unit))?;
        prop_assert!(
            (back - number).abs() <= number.abs() * 1e-15,
            "{number} {unit} came back as {back}"
        );
    }
    Ok(())
}

proptest! {
    #[test]
    fn every_unit_of_every_quantity_is_read_as_its_table_says(number in 0.001f64..1e6) {
        round_trip::<Length>(number)?;
        round_trip::<Area>(number)?;
        round_trip::<Mass>(number)?;
        round_trip::<Volume>(number)?;
        round_trip::<Speed>(number)?;
        round_trip::<Pressure>(number)?;
        round_trip::<VolumeFlow>(number)?;
        round_trip::<MassPerArea>(number)?;
        round_trip::<VolumePerArea>(number)?;
        round_trip::<Density>(number)?;
        round_trip::<MoneyPerArea>(number)?;
        round_trip::<MoneyPerMass>(number)?;
        round_trip::<MoneyPerVolume>(number)?;
    }

    #[test]
    fn what_is_printed_is_read_back(number in 0.0f64..1e6) {
        for printed in [Length::from_metres(number).to_string(), Length::from_metres(number).show(crate::units::UnitSystem::Metric, 6)] {
            let back = Length::parse(&printed).map_err(|cause| TestCaseError::fail(cause.to_string()))?;
            // Half a step, and what the last bits of two numbers of this size may differ by.
            let close = 5e-7 + 4.0 * f64::EPSILON * number;
            prop_assert!((back.metres() - number).abs() <= close, "{printed}: six decimals are kept");
        }
    }

    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,40}") {
        let _ = Length::parse(&text);
        let _ = MoneyPerMass::parse(&text);
    }
}

//! Factors between units against the publications named in README.md.

use lowstave::units::{
    Area, Density, KILOGRAMS_PER_POUND, LITRES_PER_GALLON, Length, Mass, MassPerArea, MoneyPerArea,
    MoneyPerMass, MoneyPerVolume, Pressure, Quantity, SQUARE_METRES_PER_ACRE, Speed, Volume,
    VolumeFlow, VolumePerArea,
};

/// Two numbers that differ by rounding of the arithmetic only: some units in the last place of a double.
const ARITHMETIC: f64 = 1e-14;

fn stored<Q: Quantity>(text: &str) -> f64 {
    Q::parse(text)
        .unwrap_or_else(|cause| panic!("{text}: {cause}"))
        .stored()
}

#[track_caller]
fn assert_near(found: f64, expected: f64, tolerance: f64) {
    assert!(
        (found - expected).abs() <= tolerance,
        "found {found}, expected {expected} to {tolerance}"
    );
}

#[track_caller]
fn assert_exact(found: f64, expected: f64) {
    assert_near(found, expected, expected.abs() * ARITHMETIC);
}

/// NIST SP 811, Appendix B: exact by definition.
#[test]
fn units_that_are_defined_exactly_are_exact() {
    assert_exact(stored::<Mass>("1 lb"), 0.453_592_37);
    assert_exact(stored::<Length>("1 in"), 0.025_4);
    assert_exact(stored::<Length>("1 ft"), 0.304_8);
    assert_exact(stored::<Length>("1 yd"), 0.914_4);
    assert_exact(stored::<Length>("1 mi"), 1_609.344);
    assert_exact(stored::<Volume>("1 gal"), 3.785_411_784);
    assert_exact(stored::<Mass>("1 ton"), 907.184_74);
    assert_exact(stored::<Mass>("1 oz"), 0.028_349_523_125);
    assert_exact(stored::<Speed>("1 mph"), 0.447_04);
    assert_exact(stored::<Pressure>("1 kgf/cm2"), 98.066_5);
}

/// The acre is 43,560 ft² (Pesticide Environmental Stewardship); the foot is the international one of 0.3048 m.
#[test]
fn the_acre_is_43560_international_square_feet() {
    assert_exact(SQUARE_METRES_PER_ACRE, 43_560.0 * 0.304_8 * 0.304_8);
    assert_exact(stored::<Area>("43560 ft2"), stored::<Area>("1 ac"));
    assert_exact(stored::<Area>("1 ft2"), stored::<Area>("144 in2"));
}

/// A gallon is 231 in³ and 128 fl oz (Pesticide Environmental Stewardship).
#[test]
fn the_gallon_is_231_cubic_inches_and_128_fluid_ounces() {
    let cubic_inch_in_litres = 2.54_f64.powi(3) / 1_000.0;
    assert_exact(LITRES_PER_GALLON, 231.0 * cubic_inch_in_litres);
    assert_exact(stored::<Volume>("128 fl oz"), stored::<Volume>("1 gal"));
    assert_exact(
        stored::<VolumeFlow>("128 oz/min"),
        stored::<VolumeFlow>("1 gal/min"),
    );
}

/// One mile per hour is 88 ft/min (Oklahoma State University, Sprayer calibration).
#[test]
fn a_mile_per_hour_is_88_feet_per_minute() {
    assert_exact(stored::<Speed>("88 ft/min"), stored::<Speed>("1 mph"));
    assert_exact(
        Speed::parse("1 mph").unwrap().in_unit("km/h").unwrap(),
        1.609_344,
    );
}

/// 1 Mg/ha = 0.44609 short ton/acre (North Dakota State University); tolerance: half of the last digit printed.
#[test]
fn a_megagram_per_hectare_is_0_44609_short_tons_per_acre() {
    assert_near(
        MassPerArea::parse("1 Mg/ha")
            .unwrap()
            .in_unit("ton/ac")
            .unwrap(),
        0.446_09,
        0.000_005,
    );
}

/// 300 psi is 2.0684 `MPa`, one psi 6.894757 kPa (NIST SP 811, from memory); tolerance: half of the last digit printed.
#[test]
fn pounds_per_square_inch_become_pascals() {
    assert_near(
        Pressure::parse("300 psi").unwrap().in_unit("MPa").unwrap(),
        2.068_4,
        0.000_05,
    );
    assert_near(stored::<Pressure>("1 psi"), 6.894_757, 0.000_000_5);
    assert_exact(
        stored::<Pressure>("1 psi"),
        0.453_592_37 * 9.806_65 / (0.025_4 * 0.025_4) / 1_000.0,
    );
}

/// 1 gal/ac is printed as 9.35 L/ha (Pesticide Environmental Stewardship); tolerance: half of the last digit printed.
#[test]
fn a_gallon_per_acre_is_9_35_litres_per_hectare() {
    assert_near(stored::<VolumePerArea>("1 gal/ac"), 9.35, 0.005);
    assert_near(stored::<VolumePerArea>("1 gal/ac"), 9.354, 0.000_5);
}

/// 1 acre is printed as 0.4047 ha (Pesticide Environmental Stewardship); tolerance: half of the last digit printed.
#[test]
fn an_acre_is_0_4047_hectares() {
    assert_near(
        Area::parse("1 ac").unwrap().in_unit("ha").unwrap(),
        0.404_7,
        0.000_05,
    );
    assert_near(
        Area::parse("1 ac").unwrap().in_unit("ha").unwrap(),
        0.404_69,
        0.000_005,
    );
}

/// Derived from the exact units above.
#[test]
fn rates_and_prices_follow_from_their_parts() {
    assert_exact(
        stored::<MassPerArea>("1 lb/ac"),
        KILOGRAMS_PER_POUND / SQUARE_METRES_PER_ACRE * 10_000.0,
    );
    assert_near(stored::<MassPerArea>("1 lb/ac"), 1.120_851, 0.000_000_5);
    assert_exact(
        stored::<MassPerArea>("1 ton/ac"),
        2_000.0 * stored::<MassPerArea>("1 lb/ac"),
    );
    assert_exact(
        stored::<Density>("1 lb/gal"),
        KILOGRAMS_PER_POUND / LITRES_PER_GALLON,
    );
    assert_exact(
        stored::<MoneyPerMass>("45 USD/ton"),
        45.0 / stored::<Mass>("1 ton"),
    );
    assert_exact(stored::<MoneyPerMass>("45 USD/tonne"), 0.045);
    assert_exact(
        stored::<MoneyPerVolume>("2 USD/gal"),
        2.0 / LITRES_PER_GALLON,
    );
    assert_exact(
        stored::<MoneyPerArea>("60 USD/ac"),
        60.0 * 10_000.0 / SQUARE_METRES_PER_ACRE,
    );
}

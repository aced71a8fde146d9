use super::{in_unit, inches, near};
use lowstave::soil::{
    AcidSoil, Buffer, LimeKind, LimeQuality, LimeRule, LimedSoil, Limestone, PURE_MATERIALS,
    SoilError, adams_evans_acid_saturation, adams_evans_pounds_per_acre, fineness_new_york_pct,
    iowa_ecce_pct, lime_kind, minnesota_enp_pct, minnesota_pounds_enp_per_acre, new_york_env_pct,
    north_carolina_residual_credit, north_carolina_tons_per_acre, ohio_enp_pct,
    oregon_tons_per_acre, penn_state_pounds_per_acre, tri_state_1995_tons_per_acre,
};

fn acid(water_ph: f64, buffer_ph: f64, target_ph: f64) -> AcidSoil {
    AcidSoil {
        water_ph,
        buffer_ph: Some(buffer_ph),
        printed_acidity_meq: None,
        target_ph,
    }
}

/// C12, C13. North Carolina Department of Agriculture, note to the lime factor table: pH 5.0, target 6.0, acidity 1.2.
/// Prints factor 0.625 and 0.76 t/ac; 0.76 comes from a factor rounded to 0.63, the formula gives 0.75.
#[test]
fn north_carolina_example_is_0_75_ton_where_the_page_prints_0_76() {
    near(
        north_carolina_tons_per_acre(1.0, 5.0, 6.0, 0.0).unwrap(),
        0.625,
        0.001,
    );
    let tons = north_carolina_tons_per_acre(1.2, 5.0, 6.0, 0.0).unwrap();
    near(tons, 0.75, 1.0e-9);
    near(tons, 0.76, 0.011);
}

/// C14. The same note: acidity = 4 x (6.6 - buffer pH).
#[test]
fn mehlich_buffer_ph_6_3_is_an_acidity_of_1_2() {
    near(
        Buffer::MehlichNorthCarolina.acidity_meq(6.3).unwrap(),
        1.2,
        0.001,
    );
    let need = LimeRule::NorthCarolina.need(&acid(5.0, 6.3, 6.0)).unwrap();
    near(in_unit(need.rate, "ton/ac"), 0.75, 1.0e-9);
}

/// The same note: the credit of an earlier dressing falls 8 % a month on mineral, 16 % on organic soil, and never makes the need negative.
#[test]
fn residual_credit_of_north_carolina_runs_out_and_never_makes_lime_negative() {
    near(
        north_carolina_residual_credit(1.0, 5.0, LimedSoil::Mineral).unwrap(),
        0.60,
        1.0e-9,
    );
    near(
        north_carolina_residual_credit(1.0, 5.0, LimedSoil::Organic).unwrap(),
        0.20,
        1.0e-9,
    );
    assert_eq!(
        north_carolina_residual_credit(1.0, 13.0, LimedSoil::Mineral),
        Ok(0.0)
    );
    assert_eq!(north_carolina_tons_per_acre(1.2, 5.0, 6.0, 2.0), Ok(0.0));
}

/// The denominator 6.6 - pH: no rate at or above the target, no target above 6.6.
#[test]
fn north_carolina_never_divides_by_nothing() {
    assert_eq!(north_carolina_tons_per_acre(1.2, 6.6, 6.6, 0.0), Ok(0.0));
    assert_eq!(north_carolina_tons_per_acre(1.2, 6.0, 6.0, 0.0), Ok(0.0));
    near(
        north_carolina_tons_per_acre(1.2, 6.599_999, 6.6, 0.0).unwrap(),
        1.2,
        1.0e-6,
    );
    assert!(north_carolina_tons_per_acre(1.2, 5.0, 6.8, 0.0).is_err());
}

/// C15, C16, C17. Penn State Agronomy Guide, "Limestone recommendation": 840 x acidity and 1000 x acidity; 2,000 lb below 4.0.
#[test]
fn penn_state_asks_for_5040_2000_and_6000_pounds() {
    near(
        penn_state_pounds_per_acre(6.0, 5.5, 6.5).unwrap(),
        5_040.0,
        1.0e-9,
    );
    assert_eq!(penn_state_pounds_per_acre(3.0, 6.2, 6.5), Ok(2_000.0));
    near(
        penn_state_pounds_per_acre(6.0, 5.5, 7.0).unwrap(),
        6_000.0,
        1.0e-9,
    );
}

/// Penn State Agricultural Analytical Services Laboratory, turf handbook, "Lime recommendation", goal 7.0 in lb CCE per 1,000 ft². Printed in steps of 20
/// to 30 lb, so that the rule is met to 12 lb.
#[test]
fn penn_state_rule_meets_the_printed_turf_table() {
    let printed = [
        (2.6, 70.0),
        (5.2, 110.0),
        (9.0, 210.0),
        (10.3, 230.0),
        (14.8, 340.0),
        (20.0, 460.0),
        (25.7, 600.0),
    ];
    for (acidity, pounds_per_thousand_square_feet) in printed {
        near(
            penn_state_pounds_per_acre(acidity, 5.0, 7.0).unwrap() / 43.56,
            pounds_per_thousand_square_feet,
            12.0,
        );
    }
}

/// The page leaves acidity of exactly 4.0 open; read with the lower line (own). No other target is published.
#[test]
fn penn_state_reads_an_acidity_of_4_with_the_lower_line() {
    assert_eq!(penn_state_pounds_per_acre(4.0, 6.2, 6.5), Ok(2_000.0));
    assert_eq!(penn_state_pounds_per_acre(3.0, 6.6, 6.5), Ok(0.0));
    assert!(matches!(
        penn_state_pounds_per_acre(6.0, 5.5, 6.8),
        Err(SoilError::NotComparable { .. })
    ));
}

/// C18. University of Minnesota Extension, crop e-news 2002: 500 lb ENP for each 0.1 below 7.0; the buffer is run below pH 6.0.
#[test]
fn minnesota_buffer_ph_6_5_asks_for_2500_pounds_enp() {
    near(
        minnesota_pounds_enp_per_acre(5.6, 6.5).unwrap(),
        2_500.0,
        1.0e-6,
    );
    assert!(minnesota_pounds_enp_per_acre(6.0, 6.5).is_err());
}

/// C19, C20. Oregon State University Extension 2025, EM 9585, table 3.2 and its example: printed numbers are met exactly.
#[test]
fn oregon_table_is_read_as_printed() {
    assert_eq!(oregon_tons_per_acre(5.0, 6.0, 5.6), Ok(1.7));
    assert_eq!(oregon_tons_per_acre(5.0, 6.4, 6.8), Ok(2.9));
    assert_eq!(oregon_tons_per_acre(5.0, 6.9, 7.2), Ok(1.0));
    assert_eq!(oregon_tons_per_acre(5.0, 4.8, 7.2), Ok(23.2));
    assert_eq!(oregon_tons_per_acre(5.0, 5.1, 6.4), Ok(10.0));
}

/// The whole of table 3.2 of EM 9585, kept beside this file as published.
#[test]
fn every_cell_of_the_oregon_table_is_met() {
    let table = include_str!("oregon_em_9585_table_3_2.csv");
    let mut lines = table
        .lines()
        .map(|line| line.split(',').collect::<Vec<_>>());
    let targets: Vec<f64> = lines.next().unwrap()[1..]
        .iter()
        .map(|cell| cell.parse().unwrap())
        .collect();
    let mut cells = 0;
    for row in lines {
        let buffer_ph: f64 = row[0].parse().unwrap();
        for (target, cell) in targets.iter().zip(&row[1..]) {
            assert_eq!(
                oregon_tons_per_acre(4.5, buffer_ph, *target),
                Ok(cell.parse().unwrap()),
                "{buffer_ph} to {target}"
            );
            cells += 1;
        }
    }
    assert_eq!(cells, 110);
}

/// The table steps between 5.8 and 5.7 (+1.8 t at target 6.8 against +0.4 a row above): interpolation stays inside a pair of rows.
#[test]
fn oregon_interpolates_inside_a_pair_of_rows_only() {
    near(oregon_tons_per_acre(5.0, 5.75, 6.8).unwrap(), 6.3, 1.0e-9);
    near(oregon_tons_per_acre(5.0, 5.85, 6.8).unwrap(), 5.2, 1.0e-9);
    near(oregon_tons_per_acre(5.0, 6.4, 6.6).unwrap(), 2.5, 1.0e-9);
    assert!(oregon_tons_per_acre(5.0, 4.7, 6.4).is_err());
    assert_eq!(oregon_tons_per_acre(5.9, 7.1, 6.4), Ok(0.0));
}

/// Tri-State Fertilizer Recommendations 1995, E-2567, equations from memory: LTI 68 and 60 to pH 6.8, 6.5 and 6.0.
#[test]
fn tri_state_1995_equations_from_memory() {
    for (buffer, rates) in [(6.8, [1.36, 1.24, 1.02]), (6.0, [9.6, 8.2, 6.7])] {
        for (target, tons) in [6.8, 6.5, 6.0].into_iter().zip(rates) {
            near(
                tri_state_1995_tons_per_acre(5.0, buffer, target).unwrap(),
                tons,
                1.0e-9,
            );
        }
    }
    assert_eq!(tri_state_1995_tons_per_acre(5.0, 7.0, 6.8), Ok(0.0));
}

/// The lines of the same bulletin cross at LTI 68.75: at 69 the one to pH 6.8 gives 0.33 t/ac, the one to 6.5 gives 0.37. A higher target never takes less (own).
#[test]
fn crossing_tri_state_lines_never_give_a_higher_target_less_lime() {
    near(
        tri_state_1995_tons_per_acre(5.0, 6.9, 6.5).unwrap(),
        0.37,
        1.0e-9,
    );
    near(
        tri_state_1995_tons_per_acre(5.0, 6.9, 6.8).unwrap(),
        0.37,
        1.0e-9,
    );
}

/// The same bulletin: other lime x 0.90 / NV, and half the rate for 4 in instead of 8 in; published.
#[test]
fn tri_state_rates_scale_with_neutralizing_value_and_depth() {
    let need = LimeRule::TriState1995.need(&acid(5.5, 6.8, 6.5)).unwrap();
    let full = need
        .of_product(
            inches(8.0),
            LimeQuality::Purity {
                calcium_carbonate_equivalent_pct: 90.0,
            },
        )
        .unwrap();
    near(in_unit(full, "ton/ac"), 1.24, 1.0e-9);
    let half = need
        .of_product(
            inches(4.0),
            LimeQuality::Purity {
                calcium_carbonate_equivalent_pct: 90.0,
            },
        )
        .unwrap();
    near(in_unit(half, "ton/ac"), 0.62, 1.0e-9);
    let pure = need
        .of_product(
            inches(8.0),
            LimeQuality::Purity {
                calcium_carbonate_equivalent_pct: 100.0,
            },
        )
        .unwrap();
    near(in_unit(pure, "ton/ac"), 1.24 * 0.90, 1.0e-9);
}

/// C80. Adams and Evans 1962, Soil Sci. Soc. Am. Proc. 26:355-357, from memory: pH 5.1, buffer 7.70, target 6.5.
#[test]
fn adams_evans_asks_for_2195_pounds() {
    near(adams_evans_acid_saturation(5.1).unwrap(), 0.666_2, 0.000_1);
    near(adams_evans_acid_saturation(6.5).unwrap(), 0.260_1, 0.000_1);
    near(
        adams_evans_pounds_per_acre(5.1, 7.70, 6.5).unwrap(),
        2_195.0,
        2.0,
    );
    // Cross-check against Clemson University's 3.83 by summation on the same soil.
    near(2.40 / adams_evans_acid_saturation(5.1).unwrap(), 3.60, 0.01);
}

/// Auburn University: made for CEC below about 13 meq/100 g; refused above.
#[test]
fn adams_evans_is_refused_on_a_strongly_buffered_soil() {
    assert!(matches!(
        adams_evans_pounds_per_acre(5.5, 6.5, 6.5),
        Err(SoilError::OutOfRange { .. })
    ));
}

/// C21. Penn State Agricultural Analytical Services Laboratory, home garden report notes: 5 lb at CCE 70 prints 7; exact is 7.14.
#[test]
fn five_pounds_of_pure_lime_are_seven_of_cce_70() {
    let need = LimeRule::PennState
        .need(&AcidSoil {
            water_ph: 5.5,
            buffer_ph: None,
            printed_acidity_meq: Some(5.0),
            target_ph: 7.0,
        })
        .unwrap();
    let product = need
        .of_product(
            inches(7.0),
            LimeQuality::Purity {
                calcium_carbonate_equivalent_pct: 70.0,
            },
        )
        .unwrap();
    near(in_unit(product, "lb/ac") / 1_000.0, 7.143, 0.001);
    near(in_unit(product, "lb/ac") / 1_000.0, 7.0, 0.15);
}

/// C22. Cornell University, certified crop adviser study resource, performance objective 41: formula; numbers derived.
#[test]
fn new_york_stone_of_90_60_45_and_cce_92_has_an_env_of_63_48() {
    let stone = Limestone {
        calcium_carbonate_equivalent_pct: 92.0,
        dry_matter_pct: 100.0,
    };
    near(
        fineness_new_york_pct([90.0, 60.0, 45.0]).unwrap(),
        69.0,
        1.0e-9,
    );
    let env = new_york_env_pct([90.0, 60.0, 45.0], stone).unwrap();
    near(env, 63.48, 0.01);
    let soil = acid(5.4, 6.6, 6.8);
    let need = LimeRule::Oregon.need(&soil).unwrap();
    let product = need
        .of_product(inches(6.0), LimeQuality::Effective { pct: env })
        .unwrap();
    near(in_unit(product, "ton/ac"), 2.1 / 0.634_8, 0.001);
    near(2.0 / (env / 100.0), 3.15, 0.005);
}

/// C23. Ohio State University Extension 2014, "Select a lime source based on ENP": tons x 2000 / ENP.
#[test]
fn two_tons_are_2_5_of_a_lime_with_enp_1600() {
    let quality = LimeQuality::from_enp_pounds_per_ton(1_600.0).unwrap();
    near(2.0 * 100.0 / quality.pct(), 2.5, 0.001);
}

/// Minnesota Department of Agriculture (sieves), factors 0.2 and 0.6 from memory; Iowa lime law from memory; Ohio from memory.
#[test]
fn fineness_indices_of_other_states() {
    let stone = Limestone {
        calcium_carbonate_equivalent_pct: 90.0,
        dry_matter_pct: 95.0,
    };
    // 0.2 x 10 + 0.6 x 30 + 50 = 70; x 0.90 x 0.95.
    near(
        minnesota_enp_pct([90.0, 80.0, 50.0], stone).unwrap(),
        59.85,
        1.0e-9,
    );
    near(
        ohio_enp_pct([90.0, 80.0, 50.0], stone).unwrap(),
        59.85,
        1.0e-9,
    );
    let dry = Limestone {
        dry_matter_pct: 100.0,
        ..stone
    };
    // 0.1 x 100 + 0.3 x 90 + 0.6 x 50 = 67; x 0.90.
    near(
        iowa_ecce_pct([100.0, 90.0, 50.0], dry).unwrap(),
        60.3,
        1.0e-9,
    );
    assert!(
        new_york_env_pct([60.0, 90.0, 45.0], dry).is_err(),
        "a finer sieve cannot pass more"
    );
}

/// From molar masses. Crop Files 2.03-011 prints magnesium carbonate as 108.5 while calling it 16 % more effective; 108.5 is dolomite's.
#[test]
fn magnesium_carbonate_is_118_7_and_not_the_printed_108_5() {
    let value = |name| {
        PURE_MATERIALS
            .iter()
            .find(|(material, _)| *material == name)
            .unwrap()
            .1
    };
    let molar = [
        ("calcium carbonate", 100.086),
        ("magnesium carbonate", 84.313),
        ("calcium hydroxide", 74.092),
        ("calcium oxide", 56.077),
        ("dolomite", 184.399 / 2.0),
    ];
    for (name, mass) in molar {
        near(value(name), 100.0 * 100.086 / mass, 0.1);
    }
}

/// No rule is moved to another buffer: unknown buffers and wrong regions are refused in words.
#[test]
fn a_lime_rule_needs_a_known_buffer_and_its_own_region() {
    assert_eq!(
        LimeRule::for_buffer("sikora", Some("Oregon")),
        Ok(LimeRule::Oregon)
    );
    assert_eq!(
        LimeRule::for_buffer("SMP", Some("Ohio")),
        Ok(LimeRule::TriState1995)
    );
    assert_eq!(
        LimeRule::for_buffer("smp", Some("minnesota")),
        Ok(LimeRule::Minnesota)
    );
    assert_eq!(
        LimeRule::for_buffer("sikora", Some("minnesota")),
        Ok(LimeRule::Minnesota)
    );
    assert!(
        LimeRule::for_buffer("sikora", Some("ohio")).is_err(),
        "no equation is moved to another buffer"
    );
    assert_eq!(
        LimeRule::for_buffer("moore-sikora", None),
        Ok(LimeRule::AdamsEvans)
    );
    assert!(matches!(
        LimeRule::for_buffer("", None),
        Err(SoilError::UnknownBuffer { .. })
    ));
    assert!(matches!(
        LimeRule::for_buffer("smp", None),
        Err(SoilError::UnknownName { .. })
    ));
    assert!(matches!(
        LimeRule::for_buffer("smp", Some("oregon")),
        Err(SoilError::UnknownName { .. })
    ));
    assert!(matches!(
        LimeRule::for_buffer("modified-mehlich", None),
        Err(SoilError::UnknownName { .. })
    ));
    let text = LimeRule::for_buffer("own mix", None)
        .unwrap_err()
        .to_string();
    assert!(text.contains("own mix") && text.contains("smp"), "{text}");
}

/// Water pH decides whether, buffer pH how much: a low buffer pH above the target asks for nothing.
#[test]
fn no_rule_limes_at_or_above_the_target() {
    for rule in LimeRule::ALL {
        let soil = AcidSoil {
            water_ph: 6.5,
            buffer_ph: Some(5.0),
            printed_acidity_meq: Some(9.0),
            target_ph: 6.5,
        };
        assert_eq!(
            rule.need(&soil).unwrap().rate.kilograms_per_hectare(),
            0.0,
            "{}",
            rule.name()
        );
        assert_eq!(LimeRule::from_name(rule.name()), Ok(rule));
    }
}

/// Below the target a rule without its buffer pH or acidity is refused, not guessed.
#[test]
fn a_rule_without_its_input_is_refused() {
    for rule in LimeRule::ALL {
        let soil = AcidSoil {
            water_ph: 5.5,
            buffer_ph: None,
            printed_acidity_meq: None,
            target_ph: 6.5,
        };
        assert!(
            matches!(rule.need(&soil), Err(SoilError::Missing { .. })),
            "{}",
            rule.name()
        );
    }
}

/// Ohio State University Extension 2014: dolomitic lime only below 50 ppm magnesium.
#[test]
fn dolomitic_lime_is_for_soils_short_of_magnesium() {
    assert_eq!(lime_kind(Some(49.9), 50.0), LimeKind::Dolomitic);
    assert_eq!(lime_kind(Some(50.0), 50.0), LimeKind::Calcitic);
    assert_eq!(lime_kind(None, 50.0), LimeKind::Calcitic);
}

//! Stage tests: formulas of `soil` at the edges of their classes and branches.

use lowstave::soil::*;
use lowstave::units::{Area, Length, MassPerArea, Pressure, Quantity, Volume, VolumePerArea};

#[track_caller]
fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() <= 1e-6 * wanted.abs().max(1.0),
        "{found} is not {wanted}"
    );
}

/// USDA Soil Survey Manual, texture triangle (class limits from memory, one sentence for each class); sand, silt and clay in percent.
fn classes(sand: f64, silt: f64, clay: f64) -> Vec<TextureClass> {
    use TextureClass::*;
    let all = [
        (Sand, silt + 1.5 * clay < 15.0),
        (
            LoamySand,
            silt + 1.5 * clay >= 15.0 && silt + 2.0 * clay < 30.0,
        ),
        (
            SandyLoam,
            silt + 2.0 * clay >= 30.0
                && ((7.0..20.0).contains(&clay) && sand > 52.0 || clay < 7.0 && silt < 50.0),
        ),
        (
            Loam,
            (7.0..27.0).contains(&clay) && (28.0..50.0).contains(&silt) && sand <= 52.0,
        ),
        (
            SiltLoam,
            silt >= 50.0 && (12.0..27.0).contains(&clay)
                || (50.0..80.0).contains(&silt) && clay < 12.0,
        ),
        (Silt, silt >= 80.0 && clay < 12.0),
        (
            SandyClayLoam,
            (20.0..35.0).contains(&clay) && silt < 28.0 && sand > 45.0,
        ),
        (
            ClayLoam,
            (27.0..40.0).contains(&clay) && sand > 20.0 && sand <= 45.0,
        ),
        (SiltyClayLoam, (27.0..40.0).contains(&clay) && sand <= 20.0),
        (SandyClay, clay >= 35.0 && sand > 45.0),
        (SiltyClay, clay >= 40.0 && silt >= 40.0),
        (Clay, clay >= 40.0 && sand <= 45.0 && silt < 40.0),
    ];
    all.into_iter()
        .filter(|(_, is)| *is)
        .map(|(class, _)| class)
        .collect()
}

/// Every texture in whole and half percent; the edges are among them.
#[test]
fn every_texture_has_the_class_of_the_manual() {
    for sand in 0..=200 {
        for clay in 0..=(200 - sand) {
            let (sand, clay) = (0.5 * f64::from(sand), 0.5 * f64::from(clay));
            let silt = 100.0 - sand - clay;
            let found = texture_class(sand, silt, clay).expect("a class");
            assert_eq!(classes(sand, silt, clay), [found], "{sand} {silt} {clay}");
        }
    }
}

/// 98 and 102 % are scaled to 100: the share of the whole decides, 26.6 of 98 is 27.1 % of clay, 27.2 of 102 is 26.7 %.
#[test]
fn a_texture_of_nearly_a_hundred_percent_is_scaled_to_it() {
    assert_eq!(texture_class(31.4, 40.0, 26.6), Ok(TextureClass::ClayLoam));
    assert_eq!(texture_class(34.8, 40.0, 27.2), Ok(TextureClass::Loam));
    // 44.3 % of sand in 98 is 45.2 %, and 19.7 % in 98 is 20.1 %; silt 49.3 in 98 is 50.3 %.
    assert_eq!(
        texture_class(44.3, 24.7, 29.0),
        Ok(TextureClass::SandyClayLoam)
    );
    assert_eq!(texture_class(19.7, 49.3, 29.0), Ok(TextureClass::ClayLoam));
    assert_eq!(texture_class(29.7, 49.3, 19.0), Ok(TextureClass::SiltLoam));
    assert!(texture_class(40.0, 40.0, 17.9).is_err());
    assert!(texture_class(40.0, 40.0, 22.1).is_err());
}

#[test]
fn sandy_loam_ends_at_a_fifth_of_clay() {
    assert!(may_be_sandy(19.9));
    assert!(!may_be_sandy(20.0));
    // Every class that counts as sandy lies below it.
    for clay in 20..=100 {
        for sand in 0..=(100 - clay) {
            let (sand, clay) = (f64::from(sand), f64::from(clay));
            assert!(
                !texture_class(sand, 100.0 - sand - clay, clay)
                    .expect("a class")
                    .is_sandy()
            );
        }
    }
}

/// Handbook 60: saline from 4 dS/m, sodic from SAR 13 or ESP 15; a value on the edge counts as affected.
#[test]
fn salt_affected_ground_begins_on_the_edge() {
    let paste = ConductivityMethod::SaturatedPaste;
    let (sar, esp) = (
        SodiumMeasure::AdsorptionRatio,
        SodiumMeasure::ExchangeablePct,
    );
    let class = |ec, sodium| salt_class(ec, paste, sodium).expect("a class");
    assert_eq!(class(3.9, sar(12.9)), SaltClass::Normal);
    assert_eq!(class(4.0, sar(12.9)), SaltClass::Saline);
    assert_eq!(class(3.9, sar(13.0)), SaltClass::Sodic);
    assert_eq!(class(3.9, esp(14.9)), SaltClass::Normal);
    assert_eq!(class(3.9, esp(15.0)), SaltClass::Sodic);
    assert_eq!(class(4.0, esp(15.0)), SaltClass::SalineSodic);
}

/// A parabola's zeros by hand; past the first one, and past the vertex, nothing.
#[test]
fn a_rate_ends_at_its_first_zero_or_its_vertex() {
    let rate = |constant, per_test, per_test_squared, test| {
        let equation = RateEquation {
            constant,
            per_test,
            per_test_squared,
            ..RateEquation::default()
        };
        equation.rate(test, 0.0, 0.0).expect("a rate")
    };
    // x² - 7x + 10 = (x - 2)(x - 5): 0 from 2 on, though it is 10 again at 7.
    close(rate(10.0, -7.0, 1.0, 1.0), 4.0);
    close(rate(10.0, -7.0, 1.0, 1.99), 0.0301);
    for test in [2.0, 2.1, 3.0, 5.5, 7.0] {
        close(rate(10.0, -7.0, 1.0, test), 0.0);
    }
    // x² - 4x + 5 has no zero and its least, 1, at 2: from there on nothing.
    close(rate(5.0, -4.0, 1.0, 1.9), 1.01);
    close(rate(5.0, -4.0, 1.0, 1.95), 1.0025);
    close(rate(5.0, -4.0, 1.0, 2.05), 0.0);
    close(rate(5.0, -4.0, 1.0, 2.1), 0.0);
    // -x² + 3x + 4 = (4 - x)(1 + x): opens downward, ends at 4 and climbs until 1.5.
    close(rate(4.0, 3.0, -1.0, 1.5), 6.25);
    close(rate(4.0, 3.0, -1.0, 3.9), 0.49);
    close(rate(4.0, 3.0, -1.0, 4.1), 0.0);
    // x² + 2x + 1 never falls to zero above zero.
    close(rate(1.0, 2.0, 1.0, 3.0), 16.0);
    // A line: 10 - 2x ends at 5; 10 + 2x never.
    close(rate(10.0, -2.0, 0.0, 4.9), 0.2);
    close(rate(10.0, -2.0, 0.0, 5.1), 0.0);
    close(rate(10.0, 2.0, 0.0, 50.0), 110.0);
    close(rate(10.0, 0.0, 0.0, 50.0), 10.0);
    // Nothing at a test of zero is nothing at all.
    close(rate(0.0, 2.0, 0.0, 3.0), 0.0);
    close(rate(-1.0, 2.0, 0.0, 3.0), 0.0);
}

#[test]
fn a_rate_adds_what_yield_and_organic_matter_ask_for() {
    let equation = RateEquation {
        constant: 100.0,
        per_yield: 2.0,
        per_test: -1.0,
        per_test_and_yield: -0.01,
        per_organic_matter: -5.0,
        ..RateEquation::default()
    };
    // 100 + 2 x 30 - 5 x 4 - (1 + 0.01 x 30) x 10 = 127.
    close(equation.rate(10.0, 30.0, 4.0).expect("a rate"), 127.0);
    assert!(equation.needs_yield() && equation.needs_organic_matter());
    let plain = RateEquation {
        constant: 1.0,
        ..RateEquation::default()
    };
    assert!(!plain.needs_yield() && !plain.needs_organic_matter());
    assert!(
        RateEquation {
            per_yield: 1.0,
            ..plain
        }
        .needs_yield()
    );
    assert!(
        RateEquation {
            per_test_and_yield: 1.0,
            ..plain
        }
        .needs_yield()
    );
}

#[test]
fn build_up_and_steps_hold_on_their_edges() {
    let at = |test| build_and_maintain(test, (20.0, 40.0), 5.0, 10.0).expect("a rate");
    assert_eq!(at(40.0).maintain, 10.0);
    assert_eq!(at(39.0).maintain, 10.0);
    assert_eq!(at(40.1).maintain, 0.0);
    close(at(18.0).build, 10.0);
    assert_eq!(at(25.0).build, 0.0);
    let steps = [(0.0, 60.0), (10.0, 30.0), (20.0, 0.0)];
    assert_eq!(rate_of_steps(&steps, 9.9), 60.0);
    assert_eq!(rate_of_steps(&steps, 10.0), 30.0);
    assert_eq!(rate_of_steps(&steps, 19.9), 30.0);
    assert_eq!(rate_of_steps(&steps, 20.0), 0.0);
}

/// At the target and a little below and above it.
#[test]
fn ground_at_its_target_gets_no_lime() {
    type Rule = fn(f64, f64) -> Result<f64, SoilError>;
    let rules: [(&str, f64, Rule); 6] = [
        ("adams-evans", 6.5, |ph, target| {
            adams_evans_pounds_per_acre(ph, 7.8, target)
        }),
        ("carolina", 6.0, |ph, target| {
            north_carolina_tons_per_acre(2.0, ph, target, 0.0)
        }),
        ("oregon", 6.4, |ph, target| {
            oregon_tons_per_acre(ph, 6.0, target)
        }),
        ("pennsylvania", 6.5, |ph, target| {
            penn_state_pounds_per_acre(6.0, ph, target)
        }),
        ("tri-state", 6.5, |ph, target| {
            tri_state_1995_tons_per_acre(ph, 6.4, target)
        }),
        ("texture", 6.5, |ph, target| {
            limestone_by_texture(MassPerArea::from_kilograms_per_hectare(1e4), ph, target)
                .map(MassPerArea::kilograms_per_hectare)
        }),
    ];
    for (name, target, rule) in rules {
        let at = |ph| rule(ph, target).expect("a rate");
        assert_eq!(at(target), 0.0, "{name}");
        assert_eq!(at(target + 0.1), 0.0, "{name}");
        assert!(at(target - 0.05) > 0.0, "{name}");
    }
    let rule = LimeRule::for_buffer("sikora", Some("Oregon")).expect("a rule");
    let need = |water_ph| {
        let soil = AcidSoil {
            water_ph,
            buffer_ph: Some(6.0),
            printed_acidity_meq: None,
            target_ph: 6.4,
        };
        rule.need(&soil)
            .expect("a need")
            .rate
            .kilograms_per_hectare()
    };
    assert_eq!(need(6.4), 0.0);
    assert_eq!(need(6.5), 0.0);
    assert!(need(6.35) > 0.0);
}

/// Buffer pH at and above the start of its scale: no acidity, no lime, and never less than none.
#[test]
fn a_buffer_above_its_start_asks_for_no_lime() {
    assert_eq!(adams_evans_pounds_per_acre(5.5, 8.3, 6.5), Ok(0.0));
    assert_eq!(minnesota_pounds_enp_per_acre(5.5, 7.3), Ok(0.0));
    // Penn State: 840 lb for each meq above 4 meq/100 g, 2,000 lb up to it.
    let pennsylvania = |acidity| penn_state_pounds_per_acre(acidity, 5.5, 6.5).expect("a rate");
    close(pennsylvania(4.0), 2_000.0);
    close(pennsylvania(4.1), 3_444.0);
}

/// From pH 7 in water on there is no acidity; below it a buffer pH tells, however little below.
#[test]
fn acidity_is_absent_from_neutral_on_and_not_before() {
    let at = |ph| exchangeable_acidity(Some(ph), Some((Buffer::Smp, 6.5))).expect("acidity");
    assert_eq!(at(7.0), Acidity::AbsentAtNeutral);
    assert!(matches!(at(6.9), Acidity::Known(_)));
}

#[test]
fn names_of_laboratories_are_understood() {
    for (name, buffer) in [
        ("mehlich nc", Buffer::MehlichNorthCarolina),
        ("Mehlich-PA", Buffer::MehlichPennsylvania),
        ("sikora_1", Buffer::Sikora),
        ("Shoemaker McLean Pratt", Buffer::Smp),
        ("smp", Buffer::Smp),
    ] {
        assert_eq!(Buffer::from_name(name), Ok(buffer));
    }
    assert!(Buffer::from_name("mehlich").is_err());
    for (name, method) in [
        ("paste", ConductivityMethod::SaturatedPaste),
        ("saturated-paste", ConductivityMethod::SaturatedPaste),
        ("1:1", ConductivityMethod::OneToOne),
        ("1:2", ConductivityMethod::OneToTwo),
        ("1:5", ConductivityMethod::OneToFive),
    ] {
        assert_eq!(ConductivityMethod::from_name(name), Ok(method));
    }
    assert!(ConductivityMethod::from_name("1:3").is_err());
    assert_eq!(
        SeedSaltTable::from_name("kansas"),
        Ok(SeedSaltTable::Kansas)
    );
    assert_eq!(
        SeedSaltTable::from_name("north-dakota"),
        Ok(SeedSaltTable::NorthDakota)
    );
    assert!(SeedSaltTable::from_name("ohio").is_err());
}

/// Kansas State University, eUpdate 3091, table 1: 20 in 12 and 8 lb, 30 in 8 and 6, 40 in 6 and 4; North Dakota 30 in 10 lb.
#[test]
fn the_seed_safe_tables_are_read_by_length_of_row() {
    let limit = |table: SeedSaltTable, bed, inches: f64| {
        let row = Length::from_metres(0.0254 * inches);
        let found = table.limit(SeedCrop::Corn, bed, row).expect("a limit");
        (
            found.nitrogen_plus_potash.in_unit("lb/ac").expect("pounds"),
            found.reading,
        )
    };
    let fine = |inches| limit(SeedSaltTable::Kansas, Seedbed::MediumToFine, inches);
    let sandy = |inches| limit(SeedSaltTable::Kansas, Seedbed::SandyDryOrCold, inches);
    close(fine(20.0).0, 12.0);
    close(fine(40.0).0, 6.0);
    close(sandy(20.0).0, 8.0);
    close(sandy(40.0).0, 4.0);
    // 29 in: 12 x 20 / 29 = 8.276 and 8 x 30 / 29 = 8.276; 21 in the lower of 11.43 and 11.43.
    close(fine(29.0).0, 240.0 / 29.0);
    close(fine(21.0).0, 240.0 / 21.0);
    // 39 in: 8 x 30 / 39 = 6.154 and 6 x 40 / 39 = 6.154; sandy 31 in: 6 x 30 / 31 = 5.81 against 4 x 40 / 31 = 5.16.
    close(sandy(31.0).0, 160.0 / 31.0);
    close(sandy(29.0).0, 160.0 / 29.0);
    assert_eq!(sandy(31.0).1, SeedSaltReading::BetweenSpacings);
    close(sandy(42.0).0, 160.0 / 42.0);
    assert_eq!(sandy(42.0).1, SeedSaltReading::WiderThanPrinted);
    close(sandy(19.5).0, 8.0);
    assert_eq!(sandy(19.5).1, SeedSaltReading::NarrowerThanPrinted);
    assert_eq!(sandy(20.005).1, SeedSaltReading::Printed);
    assert_eq!(sandy(20.02).1, SeedSaltReading::BetweenSpacings);
    let dakota = |inches| limit(SeedSaltTable::NorthDakota, Seedbed::MediumToFine, inches);
    close(dakota(30.0).0, 10.0);
    assert_eq!(dakota(30.0).1, SeedSaltReading::Printed);
    close(dakota(31.0).0, 300.0 / 31.0);
    close(dakota(29.0).0, 10.0);
}

/// 30 S T / (|slope| R M): 1 in, 10 % loss, 20 in rows, moisture 2, urea with corn: 300 / (0.965 x 40) = 7.772 lb.
#[test]
fn material_for_a_stand_loss_falls_with_row_spacing_and_moisture() {
    let inches = |value: f64| Length::from_metres(0.0254 * value);
    let found = material_for_stand_loss(
        EmergenceSlope::CornUrea,
        inches(2.0),
        inches(20.0),
        10.0,
        2.0,
    );
    close(
        found.expect("a mass").in_unit("lb/ac").expect("pounds"),
        600.0 / 38.6,
    );
}

#[test]
fn a_last_load_that_is_no_more_than_rounding_is_none() {
    let loads = |hectares: f64, rate: f64, tank: f64| {
        let area = Area::from_square_metres(10_000.0 * hectares);
        let rate = VolumePerArea::from_litres_per_hectare(rate);
        tank_loads(area, rate, Volume::from_litres(tank)).expect("loads")
    };
    // 0.1 + 0.2 ha of 10 L/ha in a tank of 1 L: three, and nothing left.
    let three = loads(0.1 + 0.2, 10.0, 1.0);
    assert_eq!((three.full, three.last.litres()), (3, 0.0));
    let more = loads(1.0, 100.0, 40.0);
    assert_eq!(more.full, 2);
    close(more.last.litres(), 20.0);
}

#[test]
fn cone_readings_that_do_not_fit_their_depths_are_refused() {
    let metres = |values: &[f64]| {
        values
            .iter()
            .map(|v| Length::from_metres(*v))
            .collect::<Vec<_>>()
    };
    let pressures = |values: &[f64]| {
        values
            .iter()
            .map(|v| Pressure::from_kilopascals(*v))
            .collect::<Vec<_>>()
    };
    let limit = Pressure::from_kilopascals(2_000.0);
    let found =
        |depths: &[f64], index: &[f64]| hard_layers(&metres(depths), &pressures(index), limit);
    assert!(matches!(
        found(&[], &[]),
        Err(SoilError::NotEnoughData {
            needed: 1,
            found: 0,
            ..
        })
    ));
    assert!(matches!(
        found(&[0.1, 0.2, 0.3], &[1.0]),
        Err(SoilError::NotEnoughData {
            needed: 3,
            found: 1,
            ..
        })
    ));
    assert!(matches!(
        found(&[0.2, 0.1], &[1.0, 1.0]),
        Err(SoilError::NotANumber { .. })
    ));
    assert!(matches!(
        found(&[0.1, 0.1], &[1.0, 1.0]),
        Err(SoilError::NotANumber { .. })
    ));
    assert!(matches!(
        found(&[0.1, f64::INFINITY], &[1.0, 1.0]),
        Err(SoilError::NotANumber { .. })
    ));
    assert_eq!(found(&[0.1, 0.2], &[1.0, 1.0]), Ok(Vec::new()));
    // At the limit is not above it.
    let share = |values: &[f64]| share_above_pct(&pressures(values), limit).expect("a share");
    close(share(&[2_000.0, 2_001.0, 1_999.0, 2_500.0]), 50.0);
    close(share(&[2_000.0, 2_001.0, 1_999.0, 900.0]), 25.0);
}

#[test]
fn the_median_of_pushes_is_of_their_pressures() {
    let measured = |value| ConeReading::Measured(Pressure::from_kilopascals(value));
    let over = |value| ConeReading::OverRange(Pressure::from_kilopascals(value));
    let median = |pushes: &[ConeReading]| median_of_replicates(pushes).expect("a median");
    assert_eq!(
        median(&[measured(900.0), measured(100.0), measured(500.0)]),
        measured(500.0)
    );
    assert_eq!(
        median(&[over(300.0), measured(900.0), measured(500.0)]),
        measured(900.0)
    );
    assert!(median_of_replicates(&[measured(f64::NAN)]).is_err());
}

/// The table of uptake, K2O: 140, 190 and 220 lb/ac at 40, 55 and 70 bu; a straight line on either side of the middle.
#[test]
fn soybean_uptake_is_linear_on_both_sides_of_the_middle() {
    let at = |bushels: f64| {
        let found = soybean_uptake("K2O", bushels).expect("uptake");
        found.in_unit("lb/ac").expect("pounds")
    };
    close(at(54.0), 140.0 + 50.0 * 14.0 / 15.0);
    close(at(55.0), 190.0);
    close(at(56.0), 192.0);
    close(at(57.0), 194.0);
}

#[test]
fn an_index_of_availability_is_never_negative() {
    // 101.7 + 3.75 x 0 - 15.2 x 8 is -19.9.
    assert_eq!(manganese_availability_index(0.0, 8.0), Ok(0.0));
    // Rock is slow from its pH on: not before.
    let release = |ph| phosphate_rock_release(ph, 5.5, 6.5).expect("a class");
    assert_eq!(release(5.4), RockRelease::Useful);
    assert_eq!(release(5.5), RockRelease::Slow);
    assert_eq!(release(6.5), RockRelease::Slow);
    assert_eq!(release(6.6), RockRelease::Little);
}

/// A table of New Jersey is in lb/ac: twice the ppm. A table in ppm is read as it is.
#[test]
fn a_table_is_read_in_its_own_unit() {
    for table in SUFFICIENCY_TABLES {
        let in_table_unit = match table.unit {
            TableUnit::PartsPerMillion => 1.0,
            TableUnit::PoundsPerAcre => 2.0,
            TableUnit::Index => continue,
        };
        for tenths in 0..4_000 {
            let ppm = 0.1 * f64::from(tenths);
            let found = table.class_of_ppm(ppm, table.method);
            assert_eq!(
                found,
                table.class_in_table_unit(ppm * in_table_unit),
                "{ppm}"
            );
        }
    }
}

use super::{in_unit, near, pounds_per_acre};
use lowstave::soil::{
    CarbonAndNitrogen, CarbonSource, GLUCOSE_CARBON_PCT, MATERIAL_RATIOS, MICROBIAL_DIET_RATIO,
    OrganicMatterFactor, RatioKind, SUCROSE_CARBON_PCT, SoilError, carbon_in_material,
    carbon_nitrogen_ratio, carbon_to_reach_ratio, crude_protein_pct, material_for_carbon,
    net_nitrogen, nitrogen_pct_from_ratio, nutrient_mass, organic_carbon_pct,
};
use lowstave::units::MassPerArea;

/// C32. Pribyl 2010, Geoderma 156:75-83: 1.724, median 1.9, on theory 2; 3.0 % organic matter.
#[test]
fn three_percent_organic_matter_is_1_740_percent_carbon_by_the_conventional_factor() {
    let carbon = |factor| organic_carbon_pct(3.0, factor).unwrap();
    near(carbon(OrganicMatterFactor::Conventional), 1.740, 0.001);
    near(carbon(OrganicMatterFactor::EmpiricalMedian), 1.58, 0.005);
    near(carbon(OrganicMatterFactor::Theoretical), 1.50, 1.0e-12);
    assert!(
        organic_carbon_pct(3.0, OrganicMatterFactor::Measured(1.0)).is_err(),
        "no soil matter is all carbon"
    );
}

/// C33, C34. USDA-ARS/NRCS Akron 2002, "Feeding the soil: carbon/nitrogen ratio": corn stalks at 50, 0.8 % N and 5.0 % crude protein, as printed.
#[test]
fn corn_stalks_at_50_hold_0_8_percent_nitrogen_and_5_percent_protein() {
    let nitrogen = nitrogen_pct_from_ratio(40.0, 50.0).unwrap();
    near(nitrogen, 0.8, 1.0e-12);
    near(crude_protein_pct(nitrogen).unwrap(), 5.0, 1.0e-9);
    near(nitrogen_pct_from_ratio(40.0, 80.0).unwrap(), 0.5, 1.0e-12);
}

/// C35. USDA NRCS, "Carbon to nitrogen ratios in cropping systems": inputs published, balance derived; per 1,000 lb of carbon.
#[test]
fn net_nitrogen_of_a_thousand_pounds_of_carbon() {
    let balance = [
        (80.0, -29.17),
        (57.0, -24.1),
        (37.0, -14.6),
        (26.0, -3.2),
        (24.0, 0.0),
        (20.0, 8.3),
        (11.0, 49.2),
    ];
    for (ratio, pounds) in balance {
        let tolerance = if ratio == 80.0 { 0.01 } else { 0.05 };
        near(
            in_unit(
                net_nitrogen(pounds_per_acre(1_000.0), ratio).unwrap(),
                "lb/ac",
            ),
            pounds,
            tolerance,
        );
    }
}

/// The same table: ratios of materials; the microbial diet of 24 is 8 of cells and 16 of breath.
#[test]
fn the_table_of_material_ratios_is_kept_as_printed() {
    let printed = [
        82.0, 80.0, 70.0, 57.0, 37.0, 29.0, 26.0, 25.0, 24.0, 20.0, 17.0, 17.0, 13.0, 11.0, 8.0,
    ];
    assert_eq!(MATERIAL_RATIOS.map(|(_, ratio)| ratio), printed);
    assert_eq!(
        MATERIAL_RATIOS[8],
        ("ideal microbial diet", MICROBIAL_DIET_RATIO)
    );
}

/// C36. Mass balance, derived: 2,000,000 lb of soil with 1.8 % C and 0.15 % N to C:N 16 with straw of 80.
#[test]
fn straw_needs_15000_pounds_of_carbon_to_move_a_soil_from_12_to_16() {
    let soil = pounds_per_acre(2.0e6);
    let (carbon, nitrogen) = (
        nutrient_mass(18_000.0, soil).unwrap(),
        nutrient_mass(1_500.0, soil).unwrap(),
    );
    let straw =
        carbon_to_reach_ratio(carbon, nitrogen, 16.0, CarbonSource::WithRatio(80.0)).unwrap();
    near(in_unit(straw, "lb/ac"), 15_000.0, 1.0);
    near(
        in_unit(material_for_carbon(straw, 0.0, 40.0).unwrap(), "lb/ac"),
        37_500.0,
        1.0,
    );
    let narrow =
        carbon_to_reach_ratio(carbon, nitrogen, 16.0, CarbonSource::WithRatio(24.0)).unwrap();
    near(in_unit(narrow, "lb/ac"), 36_000.0, 1.0);
}

/// C37. A material no wider than the target is refused, not divided by.
#[test]
fn a_material_as_narrow_as_the_target_can_never_reach_it() {
    for material in [16.0, 10.0] {
        let answer = carbon_to_reach_ratio(
            pounds_per_acre(36_000.0),
            pounds_per_acre(3_000.0),
            16.0,
            CarbonSource::WithRatio(material),
        );
        assert_eq!(
            answer,
            Err(SoilError::RatioOutOfReach {
                material,
                target: 16.0
            })
        );
    }
}

/// Worked: water-extract pool of 200 and 15 ppm, 400 and 30 lb/ac: 80 lb of sugar carbon, 190 lb of sucrose to 16:1. Derived.
#[test]
fn sugar_for_a_water_extract_pool_is_190_pounds_of_sucrose() {
    let sugar = carbon_to_reach_ratio(
        pounds_per_acre(400.0),
        pounds_per_acre(30.0),
        16.0,
        CarbonSource::WithoutNitrogen,
    )
    .unwrap();
    near(in_unit(sugar, "lb/ac"), 80.0, 1.0e-6);
    near(
        in_unit(
            material_for_carbon(sugar, 0.0, SUCROSE_CARBON_PCT).unwrap(),
            "lb/ac",
        ),
        190.0,
        0.1,
    );
}

/// A wide enough pool needs no carbon.
#[test]
fn a_pool_above_the_target_needs_no_carbon() {
    let none = carbon_to_reach_ratio(
        pounds_per_acre(500.0),
        pounds_per_acre(30.0),
        16.0,
        CarbonSource::WithoutNitrogen,
    );
    assert_eq!(none, Ok(MassPerArea::ZERO));
}

/// From molar masses: sucrose 42.1 %, glucose 40.0 %. Derived.
#[test]
fn sugars_hold_40_to_42_percent_carbon() {
    near(SUCROSE_CARBON_PCT, 100.0 * 12.0 * 12.011 / 342.297, 0.01);
    near(GLUCOSE_CARBON_PCT, 100.0 * 6.0 * 12.011 / 180.156, 0.01);
}

/// Worked: 5 t/ac of compost at 50 % moisture and 25 % carbon of the dry matter is 1,250 lb of carbon. Derived.
#[test]
fn five_tons_of_compost_bring_1250_pounds_of_carbon() {
    near(
        in_unit(
            carbon_in_material(pounds_per_acre(10_000.0), 50.0, 25.0).unwrap(),
            "lb/ac",
        ),
        1_250.0,
        1.0e-6,
    );
    near(
        in_unit(
            material_for_carbon(pounds_per_acre(1_250.0), 50.0, 25.0).unwrap(),
            "lb/ac",
        ),
        10_000.0,
        1.0e-6,
    );
}

/// Ratios of different extracts are different quantities: refused.
#[test]
fn carbon_of_one_extract_is_never_divided_by_nitrogen_of_another() {
    let sample = |carbon_kind, nitrogen_kind| CarbonAndNitrogen {
        carbon: 200.0,
        carbon_kind,
        nitrogen: 15.0,
        nitrogen_kind,
    };
    near(
        carbon_nitrogen_ratio(&sample(RatioKind::WaterExtract, RatioKind::WaterExtract)).unwrap(),
        13.33,
        0.01,
    );
    near(
        carbon_nitrogen_ratio(&sample(RatioKind::Organic, RatioKind::Total)).unwrap(),
        13.33,
        0.01,
    );
    for (carbon, nitrogen) in [
        (RatioKind::WaterExtract, RatioKind::Total),
        (RatioKind::Organic, RatioKind::WaterExtract),
    ] {
        assert!(matches!(
            carbon_nitrogen_ratio(&sample(carbon, nitrogen)),
            Err(SoilError::NotComparable { .. })
        ));
    }
}

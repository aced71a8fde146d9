use super::{in_unit, inches, near, pounds_per_acre, psi, two_million_pounds};
use lowstave::soil::{
    Cation, StatedForm, nutrient_mass, nutrient_ppm, rate_from_row_rate, row_length, soil_mass,
};
use lowstave::units::{Area, Length, Mass, MassPerArea, Quantity, VolumePerArea};

/// C28. North Dakota State University, "Gypsum requirement" (Oster et al. 1999): 1 Mg/ha = 0.44609 short ton/acre. Published.
#[test]
fn a_tonne_per_hectare_is_0_44609_short_tons_per_acre() {
    near(
        in_unit(MassPerArea::from_kilograms_per_hectare(1_000.0), "ton/ac"),
        0.446_09,
        0.000_01,
    );
}

/// C41. NIST SP 811, Appendix B, psi to kPa; from memory.
#[test]
fn three_hundred_psi_is_2_0684_megapascals() {
    near(psi(300.0).kilopascals() / 1_000.0, 2.068_4, 0.000_1);
    near(psi(150.0).kilopascals() / 1_000.0, 1.034, 0.000_5);
    near(
        in_unit(lowstave::units::Pressure::from_kilopascals(2_000.0), "psi"),
        290.1,
        0.05,
    );
}

/// C63. Pesticide Environmental Stewardship, "Measurements, conversions and formulas": 9.35 L/ha; printed with two decimals.
#[test]
fn a_gallon_per_acre_is_9_354_litres_per_hectare() {
    near(
        VolumePerArea::parse("1 gal/ac")
            .unwrap()
            .litres_per_hectare(),
        9.354,
        0.01,
    );
}

/// C64. Pesticide Environmental Stewardship: 0.4047 ha; printed with four decimals. International acre.
#[test]
fn an_acre_is_0_4047_hectares() {
    near(
        in_unit(Area::parse("1 ac").unwrap(), "ha"),
        0.404_69,
        0.000_1,
    );
}

/// C65. UC Davis Analytical Laboratory, "Lime requirement": 2.4 million lb in 8 in.
#[test]
fn eight_inches_of_soil_weigh_2_4_million_pounds_by_the_trade() {
    near(
        in_unit(soil_mass(inches(8.0), None).unwrap(), "lb/ac"),
        2.4e6,
        1.0e-3,
    );
    near(
        in_unit(soil_mass(inches(20.0 / 3.0), None).unwrap(), "lb/ac"),
        2.0e6,
        1.0e-3,
    );
    near(
        in_unit(soil_mass(inches(7.0), None).unwrap(), "lb/ac"),
        2.1e6,
        1.0e-3,
    );
    near(
        in_unit(soil_mass(inches(12.0), None).unwrap(), "lb/ac"),
        3.6e6,
        1.0e-3,
    );
}

/// The trade's mass implies 1.324 g/cm³, an acre-foot of 4,000,000 lb (USDA Handbook 60, from memory) 1.47. Derived.
#[test]
fn the_trade_mass_implies_a_bulk_density_of_1_324() {
    near(
        in_unit(soil_mass(inches(20.0 / 3.0), Some(1.324)).unwrap(), "lb/ac"),
        2.0e6,
        500.0,
    );
    near(
        in_unit(soil_mass(inches(12.0), Some(1.471)).unwrap(), "lb/ac"),
        4.0e6,
        1_000.0,
    );
    near(
        in_unit(soil_mass(inches(1.0), Some(1.0)).unwrap(), "lb/ac"),
        226_613.5,
        0.1,
    );
}

/// Penn State Agronomy Guide, "Soil fertility: interpreting the results": ppm x 2 in 6 2/3 in. In 12 in it would halve the layer.
#[test]
fn ppm_times_two_holds_at_six_and_two_thirds_inches_only() {
    near(
        in_unit(nutrient_mass(20.0, two_million_pounds()).unwrap(), "lb/ac"),
        40.0,
        1.0e-9,
    );
    let foot = soil_mass(inches(12.0), None).unwrap();
    near(
        in_unit(nutrient_mass(20.0, foot).unwrap(), "lb/ac"),
        72.0,
        1.0e-9,
    );
    near(
        nutrient_ppm(pounds_per_acre(72.0), foot).unwrap(),
        20.0,
        1.0e-9,
    );
}

/// Worked: phosphorus 22 ppm in 8 in is 52.8 lb/ac by the trade, 47.9 at 1.20 g/cm³. Derived.
#[test]
fn a_bulk_density_changes_the_mass_of_phosphorus_in_a_layer() {
    let mass = |density| nutrient_mass(22.0, soil_mass(inches(8.0), density).unwrap()).unwrap();
    near(in_unit(mass(None), "lb/ac"), 52.8, 1.0e-9);
    near(in_unit(mass(Some(1.20)), "lb/ac"), 47.9, 0.05);
    near(
        in_unit(soil_mass(inches(8.0), Some(1.20)).unwrap(), "lb/ac"),
        2_175_490.0,
        1.0,
    );
}

/// Metric twin of the above: kg/ha = ppm x depth in cm x bulk density / 10. Derived.
#[test]
fn metric_and_customary_inventories_agree() {
    let layer = soil_mass(Length::from_metres(0.20), Some(1.30)).unwrap();
    near(
        nutrient_mass(15.0, layer).unwrap().kilograms_per_hectare(),
        15.0 * 20.0 * 1.30 / 10.0,
        1.0e-9,
    );
}

/// From atomic weights. Extension tables print P x 2.3, K x 1.2 and Mg x 1.6 (Penn State Agronomy Guide).
#[test]
fn oxides_and_elements_convert_by_atomic_weight() {
    let factors = [
        (StatedForm::PhosphorusPentoxide, 2.291_3),
        (StatedForm::PotassiumOxide, 1.204_6),
        (StatedForm::CalciumOxide, 1.399_2),
        (StatedForm::MagnesiumOxide, 1.658_3),
        (StatedForm::CalciumCarbonate, 2.497_3),
    ];
    for (form, factor) in factors {
        near(form.per_element(), factor, 0.000_1);
        near(form.per_element() * form.element_share(), 1.0, 1.0e-12);
    }
}

/// Crop Files 1.04-132 in ppm, Clemson University "CEC calculations" in lb/ac; the two differ for potassium by 0.3 %.
#[test]
fn one_milliequivalent_is_the_published_ppm_and_pounds() {
    let published = [
        (Cation::Calcium, 200.0, 400.0),
        (Cation::Magnesium, 120.0, 240.0),
        (Cation::Potassium, 390.0, 782.0),
        (Cation::Sodium, 230.0, 460.0),
    ];
    for (cation, ppm, pounds) in published {
        near(cation.meq_from_ppm(ppm).unwrap(), 1.0, 0.0);
        near(cation.meq_from_pounds_per_acre(pounds).unwrap(), 1.0, 0.0);
        near(2.0 * ppm / pounds, 1.0, 0.003);
    }
}

/// C79. Definition: 43,560 ft² x 12 / row spacing in inches; the table of row lengths by spacing. Derived.
#[test]
fn thirty_inch_rows_make_17424_feet_an_acre() {
    let acre = Area::parse("1 ac").unwrap();
    let printed = [
        (15.0, 34_848.0),
        (20.0, 26_136.0),
        (22.0, 23_760.0),
        (30.0, 17_424.0),
        (36.0, 14_520.0),
        (38.0, 13_756.0),
        (40.0, 13_068.0),
    ];
    for (spacing, feet) in printed {
        near(
            in_unit(row_length(acre, inches(spacing)).unwrap(), "ft"),
            feet,
            0.5,
        );
    }
    near(
        in_unit(row_length(acre, inches(30.0)).unwrap(), "ft"),
        17_424.0,
        1.0e-6,
    );
}

/// Worked: 8 oz per 1,000 row feet in 30 in rows is 8.71 lb/ac. Derived.
#[test]
fn ounces_per_thousand_row_feet_become_pounds_per_acre() {
    let mass = Mass::parse("8 oz").unwrap();
    let rate = rate_from_row_rate(mass, Length::parse("1000 ft").unwrap(), inches(30.0)).unwrap();
    near(in_unit(rate, "lb/ac"), 8.71, 0.005);
}

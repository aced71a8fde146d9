//! Stage tests: the range of each formula of `soil` is the one that its documentation states; outside it nothing is calculated.
//!
//! A value far outside is put in, and the error must name both ends.

use std::fmt::Debug;

use lowstave::soil::*;
use lowstave::units::{
    Area, Density, Length, Mass, MassPerArea, Pressure, Speed, Volume, VolumeFlow, VolumePerArea,
};

/// The refused quantity and the ends of its range are these.
#[track_caller]
fn refused<T: Debug>(found: Result<T, SoilError>, what: &str, ends: (f64, f64)) {
    let Err(SoilError::OutOfRange {
        quantity,
        least,
        most,
        ..
    }) = found
    else {
        panic!("{what}: {found:?}");
    };
    assert_eq!(quantity, what);
    let same = |found: f64, wanted: f64| (found - wanted).abs() <= 1e-4 * wanted.abs() + 1e-30;
    assert!(
        same(least, ends.0) && same(most, ends.1),
        "{what}: {least} to {most}"
    );
}

const FAR: f64 = 1e13;

fn metres(value: f64) -> Length {
    Length::from_metres(value)
}

fn mass(kilograms: f64) -> MassPerArea {
    MassPerArea::from_kilograms_per_hectare(kilograms)
}

fn flow(litres: f64) -> VolumeFlow {
    VolumeFlow::from_litres_per_minute(litres)
}

fn volume(litres: f64) -> VolumePerArea {
    VolumePerArea::from_litres_per_hectare(litres)
}

fn density(kilograms: f64) -> Density {
    Density::from_kilograms_per_litre(kilograms)
}

fn kilopascals(value: f64) -> Pressure {
    Pressure::from_kilopascals(value)
}

#[test]
fn of_rate_flow_and_speed() {
    let (slow, row) = (Speed::from_metres_per_second(2.0), metres(0.76));
    let fast = Speed::from_metres_per_second(16.0);
    refused(
        flow_per_outlet(volume(FAR), slow, row),
        "the rate",
        (0.0, 1e5),
    );
    refused(
        flow_per_outlet(volume(1.0), fast, row),
        "the speed",
        (1e-3, 15.0),
    );
    refused(
        flow_per_outlet(volume(1.0), slow, metres(61.0)),
        "the width per outlet",
        (0.01, 60.0),
    );
    refused(rate_of_flow(flow(FAR), slow, row), "the flow", (0.0, 1e4));
    refused(
        speed_for_rate(volume(FAR), flow(1.0), row),
        "the rate",
        (1e-6, 1e5),
    );
    refused(
        speed_for_rate(volume(1.0), flow(FAR), row),
        "the flow",
        (1e-9, 1e4),
    );
    refused(
        speed_of_course(metres(1.0), FAR),
        "the time",
        (0.1, 36_000.0),
    );
    refused(
        speed_of_course(metres(FAR), 1.0),
        "the distance",
        (0.0, 1e5),
    );
    refused(look_ahead(slow, FAR), "the lag", (0.0, 60.0));
}

#[test]
fn of_rows_bands_and_tanks() {
    let area = Area::from_square_metres;
    let ends = (0.02, 5.0);
    refused(row_length(area(1.0), metres(6.0)), "row spacing", ends);
    let from_row = |length, row| rate_from_row_rate(Mass::from_kilograms(1.0), length, row);
    refused(from_row(metres(1.0), metres(6.0)), "row spacing", ends);
    refused(
        from_row(metres(FAR), metres(1.0)),
        "the length of row",
        (0.01, 1e7),
    );
    refused(
        field_rate_of_band(volume(1.0), metres(0.1), metres(6.0)),
        "row spacing",
        ends,
    );
    refused(
        field_rate_of_band(volume(1.0), metres(1.2), metres(1.0)),
        "the band",
        (1e-3, 1.0),
    );
    let litres = Volume::from_litres;
    refused(
        tank_loads(area(FAR), volume(1.0), litres(1e3)),
        "the area",
        (1e-6, 1e6),
    );
    refused(
        tank_loads(area(1e4), volume(FAR), litres(1e3)),
        "the rate",
        (1e-6, 1e5),
    );
    refused(
        tank_loads(area(1e4), volume(1.0), litres(FAR)),
        "the tank",
        (1.0, 1e5),
    );
    refused(
        tank_loads(area(1e10), volume(1e5), litres(1.0)),
        "the number of loads",
        (0.0, 1e6),
    );
}

#[test]
fn of_liquids_and_nozzles() {
    refused(density_factor(density(3.0)), "the density", (0.5, 2.5));
    let now = kilopascals(100.0);
    refused(
        pressure_for_flow(now, flow(FAR), flow(1.0)),
        "the flow",
        (1e-9, 1e4),
    );
    refused(
        pressure_for_flow(now, flow(1.0), flow(FAR)),
        "the flow wanted",
        (1e-9, 1e4),
    );
    refused(
        pressure_for_flow(kilopascals(FAR), flow(1.0), flow(1.0)),
        "the pressure",
        (1e-6, 1e5),
    );
    refused(
        turndown(kilopascals(FAR), now),
        "the least pressure",
        (1e-6, 1e5),
    );
    refused(
        turndown(now, kilopascals(FAR)),
        "the most pressure",
        (100.0, 1e5),
    );
    refused(
        nutrient_per_volume(density(1.0), 101.0),
        "the analysis",
        (0.0, 100.0),
    );
    refused(
        liquid_for_nutrient(mass(1.0), density(3.0), 10.0),
        "the density",
        (0.5, 2.5),
    );
    refused(
        liquid_for_nutrient(mass(1.0), density(1.0), 101.0),
        "the analysis",
        (1e-6, 100.0),
    );
    let part = |kilograms, pct| blend_analysis_pct(&[(Mass::from_kilograms(kilograms), pct)]);
    refused(part(FAR, 1.0), "the mass of a part", (0.0, 1e9));
    refused(part(1.0, 101.0), "the analysis", (0.0, 100.0));
}

#[test]
fn of_carbon_and_nitrogen() {
    let ratio = |carbon, nitrogen| {
        carbon_nitrogen_ratio(&CarbonAndNitrogen {
            carbon,
            carbon_kind: RatioKind::Organic,
            nitrogen,
            nitrogen_kind: RatioKind::Total,
        })
    };
    refused(ratio(FAR, 1.0), "carbon", (0.0, 1e6));
    refused(ratio(1.0, FAR), "nitrogen", (1e-9, 1e6));
    refused(ratio(2_000.0, 1.0), "the C:N ratio", (0.0, 1_000.0));
    let reach = |carbon, nitrogen, target, material| {
        let source = CarbonSource::WithRatio(material);
        carbon_to_reach_ratio(mass(carbon), mass(nitrogen), target, source)
    };
    refused(
        reach(FAR, 1.0, 10.0, 80.0),
        "carbon of the pool",
        (0.0, 1e7),
    );
    refused(
        reach(1.0, FAR, 10.0, 80.0),
        "nitrogen of the pool",
        (1e-6, 1e6),
    );
    refused(reach(1.0, 1.0, 101.0, 80.0), "the C:N wanted", (4.0, 100.0));
    refused(reach(1.0, 1.0, 10.0, FAR), "the material's C:N", (1.0, 1e4));
    // A material must be wider than what is wanted, by however little.
    assert!(reach(1.0, 1.0, 10.0, 10.0).is_err());
    assert!(reach(1.0, 1.0, 10.0, 10.1).is_ok());
    let net = net_nitrogen(mass(1.0), FAR);
    assert!(
        matches!(net, Err(SoilError::OutOfRange { least, most, .. }) if least == 4.0 && most == 1_000.0)
    );
    let pct = nitrogen_pct_from_ratio(1.0, FAR);
    assert!(
        matches!(pct, Err(SoilError::OutOfRange { least, most, .. }) if least == 1.0 && most == 1e4)
    );
    refused(crude_protein_pct(17.0), "nitrogen", (0.0, 16.0));
    refused(
        material_for_carbon(mass(1.0), 96.0, 40.0),
        "moisture",
        (0.0, 95.0),
    );
    let carbon = material_for_carbon(mass(1.0), 10.0, 101.0);
    assert!(
        matches!(carbon, Err(SoilError::OutOfRange { least, most, .. }) if least == 1.0 && most == 100.0)
    );
    let matter = organic_carbon_pct(1.0, OrganicMatterFactor::Measured(3.0));
    assert!(
        matches!(matter, Err(SoilError::OutOfRange { least, most, .. }) if least == 1.4 && most == 2.5)
    );
    refused(
        organic_carbon_pct(101.0, OrganicMatterFactor::Conventional),
        "organic matter",
        (0.0, 100.0),
    );
}

#[test]
fn of_the_exchange_complex() {
    refused(
        exchangeable_acidity(Some(12.0), None),
        "pH in water",
        (2.5, 11.0),
    );
    let held = |calcium| CationExchange::from_meq(calcium, 1.0, 1.0, 1.0, Acidity::Unknown);
    assert!(
        matches!(held(201.0), Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 200.0)
    );
    let cation = |found: Result<f64, SoilError>, wanted: f64| {
        assert!(
            matches!(found, Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == wanted)
        );
    };
    cation(Cation::Calcium.meq_from_ppm(FAR), 40_000.0);
    cation(Cation::Calcium.meq_from_pounds_per_acre(FAR), 80_000.0);
    let soil = mass(2e6);
    let calcium = |cec, now, wanted| calcium_to_raise_saturation(cec, now, wanted, soil);
    assert!(
        matches!(calcium(201.0, 50.0, 60.0), Err(SoilError::OutOfRange { least, most, .. }) if least == 0.5 && most == 200.0)
    );
    assert!(
        matches!(calcium(20.0, 101.0, 60.0), Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 100.0)
    );
    assert!(
        matches!(calcium(20.0, 50.0, 101.0), Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 100.0)
    );
    refused(gypsum_product(soil, 101.0, 0.0), "purity", (10.0, 100.0));
    let moist = gypsum_product(soil, 90.0, 61.0);
    assert!(
        matches!(moist, Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 60.0)
    );
    for buffer in [Buffer::Smp, Buffer::Sikora] {
        let acidity = buffer.acidity_meq(9.0);
        assert!(
            matches!(acidity, Err(SoilError::OutOfRange { least, most, .. }) if least == 4.5 && most == 7.5)
        );
    }
}

#[test]
fn of_sodium() {
    let ratio = sodium_adsorption_ratio;
    refused(ratio(FAR, 1.0, 1.0), "sodium", (0.0, 5_000.0));
    refused(ratio(1.0, FAR, 1.0), "calcium", (0.0, 5_000.0));
    refused(ratio(1.0, 1.0, FAR), "magnesium", (0.0, 5_000.0));
    let both = ratio(1.0, 0.0, 0.0);
    assert!(matches!(both, Err(SoilError::OutOfRange { most, .. }) if most == 10_000.0));
    let capacity = |found: Result<f64, SoilError>| {
        assert!(
            matches!(found, Err(SoilError::OutOfRange { least, most, .. }) if least == 0.5 && most == 200.0)
        );
    };
    capacity(exchangeable_sodium_pct(1.0, 201.0));
    capacity(sodium_to_replace_meq(201.0, 20.0, 5.0));
    refused(sodium_to_replace_meq(20.0, 101.0, 5.0), "ESP", (0.0, 100.0));
    refused(
        sodium_to_replace_meq(20.0, 20.0, 101.0),
        "the ESP wanted",
        (0.0, 100.0),
    );
    refused(soluble_sodium_meq(FAR, 50.0), "sodium", (0.0, 5_000.0));
    let water = soluble_sodium_meq(1.0, 201.0);
    assert!(
        matches!(water, Err(SoilError::OutOfRange { least, most, .. }) if least == 10.0 && most == 200.0)
    );
    let sodium = gypsum_for_sodium(601.0, MassPerArea::from_kilograms_per_hectare(2e6));
    assert!(
        matches!(sodium, Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 60.0)
    );
    let sodic = SodicSoil {
        field_factor: 1.2,
        depth: metres(0.15),
        bulk_density_g_cm3: 1.3,
        cation_exchange_capacity_meq: 20.0,
        esp_now_pct: 20.0,
        esp_wanted_pct: 5.0,
        purity_pct: 90.0,
    };
    let with = |change: &dyn Fn(&mut SodicSoil)| {
        let mut soil = sodic;
        change(&mut soil);
        gypsum_requirement_oster(&soil)
    };
    refused(
        with(&|s| s.field_factor = 2.0),
        "the field factor",
        (1.0, 1.5),
    );
    refused(with(&|s| s.depth = metres(2.0)), "the depth", (0.0, 1.5));
    refused(
        with(&|s| s.bulk_density_g_cm3 = 3.0),
        "bulk density",
        (0.5, 2.0),
    );
    refused(
        with(&|s| s.cation_exchange_capacity_meq = 201.0),
        "CEC",
        (0.5, 200.0),
    );
    refused(with(&|s| s.esp_now_pct = 51.0), "ESP", (0.0, 50.0));
    refused(
        with(&|s| s.esp_wanted_pct = 51.0),
        "the ESP wanted",
        (0.0, 50.0),
    );
    refused(with(&|s| s.purity_pct = 101.0), "purity", (10.0, 100.0));
    // A soil that is better than is wanted needs nothing, not less than nothing.
    let better = with(&|s| s.esp_now_pct = 3.0).expect("a rate");
    assert_eq!(better.kilograms_per_hectare(), 0.0);
}

#[test]
fn of_salt() {
    let paste = ConductivityMethod::SaturatedPaste;
    let sar = |value| salt_class(1.0, paste, SodiumMeasure::AdsorptionRatio(value));
    let esp = |value| salt_class(1.0, paste, SodiumMeasure::ExchangeablePct(value));
    refused(sar(101.0), "SAR", (0.0, 100.0));
    refused(esp(101.0), "ESP", (0.0, 100.0));
    let far = salinity_grade(201.0, paste);
    assert!(
        matches!(far, Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 200.0)
    );
    let rough = rough_paste_conductivity_from_one_to_one(51.0);
    assert!(
        matches!(rough, Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 50.0)
    );
    let yielded = relative_yield(201.0, 2.0, 10.0);
    assert!(
        matches!(yielded, Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 200.0)
    );
    refused(
        relative_yield(2.0, 51.0, 10.0),
        "the threshold",
        (0.0, 50.0),
    );
    refused(relative_yield(2.0, 2.0, 101.0), "the slope", (0.0, 100.0));
    refused(
        salt_index_of_mix(&[(1.0, 11.0)]),
        "the index per unit",
        (0.0, 10.0),
    );
    refused(
        salt_index_of_mix(&[(60.0, 1.0), (60.0, 1.0)]),
        "units of nutrient together",
        (0.0, 100.0),
    );
    refused(
        salt_index_per_unit(201.0, 10.0),
        "the salt index",
        (0.0, 200.0),
    );
    refused(
        salt_index_per_unit(20.0, 101.0),
        "the nutrients together",
        (1e-6, 100.0),
    );
    let inches = |value: f64| metres(0.0254 * value);
    let corn = SeedSaltTable::Kansas.limit(SeedCrop::Corn, Seedbed::MediumToFine, inches(61.0));
    refused(corn, "row spacing", (6.0, 60.0));
    let loss = |opening: f64, row: f64, loss, moisture| {
        let slope = EmergenceSlope::CornUrea;
        material_for_stand_loss(slope, inches(opening), inches(row), loss, moisture)
    };
    refused(
        loss(5.0, 30.0, 10.0, 1.0),
        "the furrow opening",
        (0.25, 4.0),
    );
    refused(loss(1.0, 61.0, 10.0, 1.0), "row spacing", (6.0, 60.0));
    refused(loss(1.0, 30.0, 51.0, 1.0), "stand loss", (0.0, 50.0));
    refused(
        loss(1.0, 30.0, 10.0, 6.0),
        "the moisture coefficient",
        (1.0, 5.0),
    );
}

#[test]
fn of_lime() {
    let (ph, target, buffer) = ("pH in water", "the target pH", "buffer pH");
    refused(
        adams_evans_pounds_per_acre(5.0, 9.0, 6.5),
        buffer,
        (6.4, 8.5),
    );
    refused(adams_evans_pounds_per_acre(9.5, 7.5, 6.5), ph, (3.5, 9.0));
    let strong = adams_evans_pounds_per_acre(6.5, 6.4, 7.0);
    assert!(
        matches!(strong, Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 13.0)
    );
    refused(minnesota_pounds_enp_per_acre(9.5, 6.0), ph, (3.5, 6.0));
    refused(minnesota_pounds_enp_per_acre(5.0, 8.0), buffer, (4.8, 7.5));
    let carolina = north_carolina_tons_per_acre;
    refused(
        carolina(13.0, 5.0, 6.0, 0.0),
        "exchangeable acidity",
        (0.0, 12.0),
    );
    refused(carolina(2.0, 9.5, 6.0, 0.0), ph, (3.5, 9.0));
    refused(carolina(2.0, 5.0, 7.0, 0.0), target, (5.0, 6.6));
    refused(
        carolina(2.0, 5.0, 6.0, 11.0),
        "the residual credit",
        (0.0, 10.0),
    );
    let credit =
        |dressing, months| north_carolina_residual_credit(dressing, months, LimedSoil::Mineral);
    refused(credit(21.0, 1.0), "the earlier dressing", (0.0, 20.0));
    assert!(
        matches!(credit(1.0, 601.0), Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 600.0)
    );
    refused(oregon_tons_per_acre(5.0, 8.0, 6.0), buffer, (4.8, 7.5));
    refused(oregon_tons_per_acre(5.0, 6.0, 8.0), target, (5.6, 7.2));
    refused(oregon_tons_per_acre(9.5, 6.0, 6.0), ph, (3.5, 9.0));
    refused(
        penn_state_pounds_per_acre(31.0, 5.0, 6.5),
        "exchangeable acidity",
        (0.0, 30.0),
    );
    refused(penn_state_pounds_per_acre(3.0, 9.5, 6.5), ph, (3.5, 9.0));
    refused(
        penn_state_pounds_per_acre(3.0, 5.0, 8.0),
        target,
        (6.5, 7.0),
    );
    refused(
        tri_state_1995_tons_per_acre(5.0, 8.0, 6.5),
        buffer,
        (6.0, 7.5),
    );
    refused(
        tri_state_1995_tons_per_acre(5.0, 6.5, 8.0),
        target,
        (6.0, 6.8),
    );
    refused(tri_state_1995_tons_per_acre(9.5, 6.5, 6.5), ph, (3.5, 9.0));
    refused(limestone_by_texture(mass(1.0), 12.0, 6.5), ph, (2.5, 11.0));
    refused(
        limestone_by_texture(mass(1.0), 5.0, 8.0),
        target,
        (4.5, 7.5),
    );
    let rule = LimeRule::for_buffer("sikora", Some("Oregon")).expect("a rule");
    let need = |water_ph, target_ph| {
        rule.need(&AcidSoil {
            water_ph,
            buffer_ph: Some(6.4),
            printed_acidity_meq: None,
            target_ph,
        })
    };
    refused(need(12.0, 6.5), ph, (2.5, 11.0));
    refused(need(5.0, 8.0), target, (4.5, 7.5));
    let need = need(5.0, 6.5).expect("a need");
    let of = |depth: f64, pct| need.of_product(metres(depth), LimeQuality::Effective { pct });
    refused(of(1.0, 80.0), "the mixing depth", (0.0254, 0.4572));
    refused(
        of(0.15, 181.0),
        "the lime's neutralizing value",
        (10.0, 180.0),
    );
    let pounds = LimeQuality::from_enp_pounds_per_ton(5_000.0);
    assert!(
        matches!(pounds, Err(SoilError::OutOfRange { least, most, .. }) if least == 200.0 && most == 3_600.0)
    );
    let stone = |cce| Limestone {
        calcium_carbonate_equivalent_pct: cce,
        dry_matter_pct: 95.0,
    };
    refused(
        new_york_env_pct([90.0, 60.0, 30.0], stone(181.0)),
        "calcium carbonate equivalent",
        (0.0, 180.0),
    );
    refused(
        fineness_new_york_pct([101.0, 60.0, 30.0]),
        "the share passing a finer sieve",
        (0.0, 100.0),
    );
    refused(
        fineness_new_york_pct([90.0, 95.0, 30.0]),
        "the share passing a finer sieve",
        (0.0, 90.0),
    );
}

#[test]
fn of_nutrients_and_removal() {
    let rate = |test, goal, matter| RateEquation::default().rate(test, goal, matter);
    refused(rate(FAR, 1.0, 1.0), "the soil test", (0.0, 1e5));
    refused(rate(1.0, FAR, 1.0), "the yield", (0.0, 2.5e5));
    refused(rate(1.0, 1.0, 101.0), "organic matter", (0.0, 100.0));
    refused(
        build_and_maintain(FAR, (20.0, 40.0), 5.0, 10.0),
        "the soil test",
        (0.0, 1e4),
    );
    let build = |test, critical, years| phosphate_to_build_up(test, critical, mass(20.0), years);
    refused(build(FAR, 20.0, 4.0), "phosphorus", (0.0, 1_000.0));
    assert!(
        matches!(build(5.0, FAR, 4.0), Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 1_000.0)
    );
    assert!(
        matches!(build(5.0, 20.0, 21.0), Err(SoilError::OutOfRange { least, most, .. }) if least == 1.0 && most == 20.0)
    );
    let rock = phosphate_rock_release;
    refused(rock(11.0, 5.5, 6.5), "pH in water", (3.5, 10.0));
    assert!(
        matches!(rock(5.0, 11.0, 12.0), Err(SoilError::OutOfRange { least, most, .. }) if least == 3.5 && most == 10.0)
    );
    refused(
        rock(5.0, 5.5, 11.0),
        "the pH above which rock does little",
        (5.5, 10.0),
    );
    let soybean =
        RemovalFactor::find("soybean", "K2O", CropPart::Grain, "kansas").expect("a factor");
    refused(soybean.removed(501.0, 1.0), "the yield", (0.0, 500.0));
    assert!(
        matches!(soybean.removed(50.0, 1.1), Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 1.0)
    );
    refused(soybean_uptake("N", 71.0), "the yield", (40.0, 70.0));
    refused(
        manganese_availability_index(501.0, 6.0),
        "manganese",
        (0.0, 500.0),
    );
    refused(
        manganese_availability_index(10.0, 9.5),
        "pH in water",
        (3.5, 9.0),
    );
    let table = SufficiencyTable::named("new-jersey-p").expect("a table");
    assert!(
        matches!(table.class_in_table_unit(FAR), Err(SoilError::OutOfRange { least, most, .. }) if least == 0.0 && most == 1e5)
    );
}

#[test]
fn of_soil_mass_and_cones() {
    let thickness = soil_mass(metres(2.0), None);
    assert!(
        matches!(thickness, Err(SoilError::OutOfRange { least, most, .. }) if least == 0.001 && most == 1.5)
    );
    refused(
        soil_mass(metres(0.15), Some(3.0)),
        "bulk density",
        (0.2, 2.0),
    );
    refused(
        nutrient_mass(FAR, mass(2e6)),
        "the concentration",
        (0.0, 1e6),
    );
    refused(
        nutrient_ppm(mass(3e6), mass(2e6)),
        "the concentration",
        (0.0, 1e6),
    );
    let ends = |found: Result<f64, SoilError>, ends: (f64, f64)| {
        assert!(
            matches!(found, Err(SoilError::OutOfRange { least, most, .. }) if (least, most) == ends),
            "{found:?}"
        );
    };
    ends(cone_base_area_mm2(41.0), (5.0, 40.0));
    ends(worn_out_diameter_mm(41.0), (5.0, 40.0));
    let force = |force, area| cone_index_from_force(force, area).map(Pressure::kilopascals);
    ends(force(FAR, 130.0), (0.0, 10_000.0));
    ends(force(100.0, 1_301.0), (20.0, 1_300.0));
    ends(is_cone_worn_out(20.27, 41.0).map(f64::from), (1.0, 40.0));
    assert!(CompactionClass::of_share(101.0).is_err());
}

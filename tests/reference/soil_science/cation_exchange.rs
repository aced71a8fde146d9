use super::near;
use lowstave::soil::{Acidity, Buffer, Cation, CationExchange, SoilError, exchangeable_acidity};

/// Clemson University Agricultural Service Laboratory, "CEC calculations", the worked soil: pH 5.1, buffer pH 7.70; lb/ac K 221, Mg 28, Ca 400, Na 12.
fn clemson_soil() -> CationExchange {
    let acidity = exchangeable_acidity(Some(5.1), Some((Buffer::MooreSikora, 7.70))).unwrap();
    CationExchange::from_pounds_per_acre([400.0, 28.0, 221.0, 12.0], acidity).unwrap()
}

/// C01. Clemson University: 8 x (8.00 - 7.70) = 2.40, as printed; the same formula at the University of Georgia.
#[test]
fn buffer_ph_7_70_is_an_acidity_of_2_40_by_adams_evans() {
    near(Buffer::AdamsEvans.acidity_meq(7.70).unwrap(), 2.40, 0.001);
    near(Buffer::MooreSikora.acidity_meq(7.70).unwrap(), 2.40, 0.001);
}

/// C02, C03. Clemson University: K 221/782 printed 0.28, Mg 28/240 printed 0.12; the print is rounded to two decimals.
#[test]
fn potassium_and_magnesium_of_the_clemson_soil_round_to_the_print() {
    near(clemson_soil().base_meq(Cation::Potassium), 0.282_6, 0.001);
    near(clemson_soil().base_meq(Cation::Magnesium), 0.116_7, 0.001);
    near(clemson_soil().base_meq(Cation::Calcium), 1.00, 0.0);
    near(clemson_soil().base_meq(Cation::Sodium), 0.026_1, 0.001);
}

/// C04. Clemson University: CEC printed 3.83, the sum of rounded terms; the sum of unrounded ones is 3.8254. Bases printed 1.43.
#[test]
fn cec_of_the_clemson_soil_is_3_83_to_the_rounding_of_its_terms() {
    near(
        clemson_soil().cation_exchange_capacity_meq().unwrap(),
        3.825_4,
        0.000_1,
    );
    near(
        clemson_soil().cation_exchange_capacity_meq().unwrap(),
        3.83,
        0.006,
    );
    near(clemson_soil().sum_of_bases_meq(), 1.43, 0.006);
}

/// C05. Clemson University: base saturation printed 37 %, a whole number.
#[test]
fn base_saturation_of_the_clemson_soil_is_37_percent() {
    near(clemson_soil().base_saturation_pct().unwrap(), 37.26, 0.01);
    near(clemson_soil().base_saturation_pct().unwrap(), 37.0, 0.5);
}

/// C06, C07. Crop Files 1.04-132, soil 1: Ca 1471 ppm printed 7.4 meq, CEC 20.4, Ca saturation printed 36 %; one decimal and a whole number.
#[test]
fn calcium_of_the_acid_crop_file_soil_is_7_4_meq_and_36_percent() {
    let calcium = Cation::Calcium.meq_from_ppm(1_471.0).unwrap();
    near(calcium, 7.355, 1.0e-9);
    near(calcium, 7.4, 0.05);
    // The separate K, Mg and Na are not printed in a readable way: 3.4 meq stands for the three together, acidity for the rest of 20.4.
    let soil = CationExchange::from_meq(7.4, 3.4, 0.0, 0.0, Acidity::Known(9.6)).unwrap();
    near(soil.saturation_pct(Cation::Calcium).unwrap(), 36.27, 0.01);
    near(soil.saturation_pct(Cation::Calcium).unwrap(), 36.0, 0.5);
}

/// C08, C09. Crop Files 1.04-132, soil 2: Ca 4639 ppm printed 23.2 meq, CEC 29.0, Ca saturation printed 80 %.
#[test]
fn calcium_of_the_calcareous_crop_file_soil_is_23_2_meq_and_80_percent() {
    near(Cation::Calcium.meq_from_ppm(4_639.0).unwrap(), 23.2, 0.01);
    let soil = CationExchange::from_meq(23.2, 5.8, 0.0, 0.0, Acidity::AbsentAtNeutral).unwrap();
    near(soil.cation_exchange_capacity_meq().unwrap(), 29.0, 1.0e-9);
    near(soil.saturation_pct(Cation::Calcium).unwrap(), 80.0, 0.1);
}

/// C10. Crop Files 1.04-132: 12 x (7 - buffer pH); soil 1 prints CEC 20.4 and 53 % bases, from which buffer pH 6.2 is derived.
#[test]
fn smp_buffer_ph_6_2_is_an_acidity_of_9_6() {
    let acidity = Buffer::Smp.acidity_meq(6.2).unwrap();
    near(acidity, 9.6, 1.0e-9);
    near(100.0 * (20.4 - acidity) / 20.4, 53.0, 0.2);
}

/// C11. Crop Files 1.04-132, soil 2: pH 7.7 has no acidity and 100 % bases, whatever a buffer column says.
#[test]
fn a_soil_of_ph_7_7_has_no_acidity_and_100_percent_bases() {
    let acidity = exchangeable_acidity(Some(7.7), Some((Buffer::Smp, 6.4))).unwrap();
    assert_eq!(acidity, Acidity::AbsentAtNeutral);
    let soil = CationExchange::from_meq(23.2, 5.0, 0.6, 0.2, acidity).unwrap();
    assert_eq!(soil.base_saturation_pct(), Some(100.0));
    assert_eq!(soil.acidity_pct(), Some(0.0));
}

/// Negative example: the Adams-Evans formula on an SMP value of 6.4 gives 12.8 meq where the SMP buffer's own gives 7.2.
#[test]
fn an_smp_reading_is_never_read_by_the_adams_evans_formula() {
    near(Buffer::Smp.acidity_meq(6.4).unwrap(), 7.2, 1.0e-9);
    near(
        Buffer::from_name("smp").unwrap().acidity_meq(6.4).unwrap(),
        7.2,
        1.0e-9,
    );
    assert!((Buffer::Smp.acidity_meq(6.4).unwrap() - 12.8).abs() > 5.0);
}

/// Acidity stops at 0 from the buffer's starting pH on; a reading far above it belongs to another buffer.
#[test]
fn a_reading_above_the_buffers_start_is_no_negative_acidity() {
    for (buffer, at_start) in [
        (Buffer::AdamsEvans, 8.0),
        (Buffer::Smp, 7.0),
        (Buffer::MehlichNorthCarolina, 6.6),
    ] {
        assert_eq!(buffer.acidity_meq(at_start), Ok(0.0));
        assert_eq!(buffer.acidity_meq(at_start + 0.3), Ok(0.0));
        assert!(matches!(
            buffer.acidity_meq(at_start + 0.6),
            Err(SoilError::OutOfRange { .. })
        ));
    }
}

/// Pennsylvania's Mehlich and the modified Mehlich buffer have no published formula here: the laboratory's acidity or none.
#[test]
fn a_buffer_without_a_formula_gives_no_acidity() {
    assert_eq!(
        Buffer::ModifiedMehlich.acidity_meq(6.2),
        Err(SoilError::NoAcidityFormula {
            buffer: "modified-mehlich"
        })
    );
    assert_eq!(
        exchangeable_acidity(Some(5.5), Some((Buffer::MehlichPennsylvania, 6.2))),
        Ok(Acidity::Unknown)
    );
    assert_eq!(exchangeable_acidity(Some(5.5), None), Ok(Acidity::Unknown));
    assert!(matches!(
        Buffer::from_name("mehlich"),
        Err(SoilError::UnknownBuffer { .. })
    ));
}

/// Without acidity the sum of bases is a lower bound, and there is no CEC and no saturation.
#[test]
fn an_unknown_acidity_leaves_cec_and_saturations_open() {
    let soil = CationExchange::from_ppm([1_200.0, 180.0, 156.0, 23.0], Acidity::Unknown).unwrap();
    near(soil.sum_of_bases_meq(), 8.0, 1.0e-9);
    assert_eq!(soil.cation_exchange_capacity_meq(), None);
    assert_eq!(soil.saturation_pct(Cation::Calcium), None);
}

/// Negative example: ppm put into the lb/ac divisors halves the bases but not the acidity, so that CEC still looks plausible.
#[test]
fn ppm_and_pounds_per_acre_are_different_doors() {
    let numbers = [1_200.0, 180.0, 156.0, 23.0];
    let right = CationExchange::from_ppm(numbers, Acidity::Known(7.2)).unwrap();
    let wrong = CationExchange::from_pounds_per_acre(numbers, Acidity::Known(7.2)).unwrap();
    near(right.cation_exchange_capacity_meq().unwrap(), 15.2, 1.0e-9);
    near(wrong.cation_exchange_capacity_meq().unwrap(), 11.2, 0.01);
}

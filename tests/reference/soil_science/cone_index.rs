use super::{in_unit, inches, near, psi};
use lowstave::soil::{
    CONE_DIAMETERS_MM, CompactionClass, ConeReading, HardLayer, LayerBottom, LayerTop, SoilError,
    SoilMoisture, comparable_dates, cone_base_area_mm2, cone_index_from_force, hard_layers,
    is_cone_worn_out, loosening_depth, median_of_replicates, share_above_pct, worn_out_diameter_mm,
};
use lowstave::units::{Length, Pressure};

/// C38, C39. USDA Forest Service, "Penetrometer operating and testing standards" (ASAE S313.3, EP542): diameters published, areas derived.
#[test]
fn standard_cones_have_322_70_and_129_28_square_millimetres() {
    let [large, small] = CONE_DIAMETERS_MM.map(|diameter| cone_base_area_mm2(diameter).unwrap());
    near(large, 322.70, 0.01);
    near(small, 129.28, 0.01);
    near(large / 645.16, 0.500, 0.001);
    near(small / 645.16, 0.200, 0.001);
    near(large / small, 2.5, 0.01);
}

/// C40. The same page: replace a cone worn by more than 3 % of its diameter.
#[test]
fn a_cone_is_worn_out_below_19_66_and_12_45_millimetres() {
    near(worn_out_diameter_mm(20.27).unwrap(), 19.66, 0.01);
    near(worn_out_diameter_mm(12.83).unwrap(), 12.45, 0.01);
    assert_eq!(is_cone_worn_out(20.27, 19.6), Ok(true));
    assert_eq!(is_cone_worn_out(20.27, 19.7), Ok(false));
}

/// Force over base area: the force that is 300 psi on the large cone is 750 psi on the small one.
#[test]
fn the_wrong_cone_is_a_factor_of_two_and_a_half() {
    let force = 300.0 * 6.894_757 * 322.70 / 1_000.0;
    near(
        in_unit(cone_index_from_force(force, 322.70).unwrap(), "psi"),
        300.0,
        0.01,
    );
    near(
        in_unit(cone_index_from_force(force, 129.28).unwrap(), "psi"),
        749.0,
        1.0,
    );
}

/// C42. Duiker 2002, Penn State Agronomy Facts 63, table from memory: ten points, five above 300 psi; 300 itself is not above. 50 % is moderate.
#[test]
fn five_of_ten_points_above_300_psi_are_moderate() {
    let greatest = [
        180.0, 220.0, 310.0, 340.0, 290.0, 410.0, 305.0, 260.0, 350.0, 300.0,
    ]
    .map(psi);
    let share = share_above_pct(&greatest, psi(300.0)).unwrap();
    assert_eq!(share, 50.0);
    assert_eq!(
        CompactionClass::of_share(share),
        Ok(CompactionClass::Moderate)
    );
    assert!(
        CompactionClass::Moderate.advises_subsoiling()
            && !CompactionClass::Slight.advises_subsoiling()
    );
}

/// The class edges: under 30, to under 50, to 75, over 75. From memory.
#[test]
fn compaction_class_edges() {
    let edges = [
        (29.9, CompactionClass::LittleToNone),
        (30.0, CompactionClass::Slight),
        (49.9, CompactionClass::Slight),
        (75.0, CompactionClass::Moderate),
        (75.1, CompactionClass::Severe),
    ];
    for (share, class) in edges {
        assert_eq!(CompactionClass::of_share(share), Ok(class));
    }
}

fn layers(readings: &[f64]) -> Vec<HardLayer> {
    let depths: Vec<Length> = (1..=readings.len())
        .map(|mark| inches(3.0 * mark as f64))
        .collect();
    let pressures: Vec<Pressure> = readings
        .iter()
        .map(|&reading| Pressure::from_kilopascals(reading * psi(1.0).kilopascals()))
        .collect();
    hard_layers(&depths, &pressures, psi(300.0)).unwrap()
}

fn depth_in(depth: Length) -> f64 {
    depth.metres() / 0.0254
}

/// Cornell University, certified crop adviser study resource, objective 35: where the reading rises above 300 psi and falls below. By hand: 250 at 6 in,
/// 350 at 9 in is 300 at 7.5 in; 320 at 12 in, 280 at 15 in is 300 at 13.5 in.
#[test]
fn a_pan_is_placed_between_the_depth_marks() {
    let [pan] = layers(&[150.0, 250.0, 350.0, 320.0, 280.0])[..] else {
        panic!("one pan")
    };
    let (LayerTop::At(top), LayerBottom::At(bottom)) = (pan.top, pan.bottom) else {
        panic!("both ends seen")
    };
    near(depth_in(top), 7.5, 1.0e-9);
    near(depth_in(bottom), 13.5, 1.0e-9);
    near(in_unit(pan.greatest, "psi"), 350.0, 1.0e-9);
    near(depth_in(loosening_depth(&pan).unwrap()), 14.5, 1.0e-9);
}

/// A record that ends above the limit has a bottom that was not reached, and no depth to loosen to.
#[test]
fn a_bottom_that_was_not_reached_is_said_so() {
    for readings in [
        &[150.0, 250.0, 350.0][..],
        &[150.0, 250.0, 350.0, f64::NAN, f64::NAN][..],
    ] {
        let [pan] = layers(readings)[..] else {
            panic!("one pan")
        };
        assert_eq!(pan.bottom, LayerBottom::NotReached(inches(9.0)));
        assert_eq!(loosening_depth(&pan), None);
    }
}

/// A first mark above the limit is a tight surface, told apart from a pan below.
#[test]
fn a_tight_surface_and_a_deep_pan_are_two_layers() {
    let [surface, pan] = layers(&[340.0, 260.0, 310.0, 290.0])[..] else {
        panic!("two layers")
    };
    assert_eq!(surface.top, LayerTop::AtOrAbove(inches(3.0)));
    near(depth_in(surface.top.depth()), 3.0, 1.0e-9);
    assert!(matches!(pan.top, LayerTop::At(_)));
    assert!(
        layers(&[100.0, 300.0, 300.0]).is_empty(),
        "300 itself is not above"
    );
}

/// Over-range is ">500", not 500: a median that falls on it is itself over range.
#[test]
fn an_over_range_push_is_censored_and_not_a_number() {
    let measured = |reading| ConeReading::Measured(psi(reading));
    let stone = ConeReading::OverRange(psi(500.0));
    assert_eq!(
        median_of_replicates(&[measured(210.0), stone, measured(250.0)]),
        Ok(measured(250.0))
    );
    assert_eq!(
        median_of_replicates(&[stone, measured(210.0), stone]),
        Ok(stone)
    );
    assert_eq!(
        median_of_replicates(&[measured(200.0), measured(300.0)]).unwrap(),
        ConeReading::Measured((psi(200.0) + psi(300.0)) * 0.5)
    );
    assert_eq!(median_of_replicates(&[stone, measured(210.0)]), Ok(stone));
    assert!(matches!(
        median_of_replicates(&[]),
        Err(SoilError::NotEnoughData { .. })
    ));
}

/// Heege (ed.), "Precision in Crop Farming", and Busscher et al. 1997, Soil Tillage Res. 43:205-217: moisture outweighs density and no correction always
/// holds, so that dry readings are upper bounds and two dates are compared only when both are moist.
#[test]
fn moisture_is_asked_for_and_dates_are_not_mixed() {
    assert_eq!(
        SoilMoisture::from_note(Some("Field capacity")),
        SoilMoisture::FieldCapacity
    );
    assert_eq!(
        SoilMoisture::from_note(Some("a bit drier than field capacity")),
        SoilMoisture::Dry
    );
    assert_eq!(
        SoilMoisture::from_note(Some("wet after rain")),
        SoilMoisture::Wet
    );
    assert_eq!(SoilMoisture::from_note(None), SoilMoisture::Unknown);
    assert_eq!(SoilMoisture::FieldCapacity.caution(), None);
    assert!(
        SoilMoisture::Dry
            .caution()
            .unwrap()
            .contains("upper bounds")
    );
    assert!(comparable_dates(SoilMoisture::FieldCapacity, SoilMoisture::FieldCapacity).is_ok());
    assert!(comparable_dates(SoilMoisture::FieldCapacity, SoilMoisture::Unknown).is_err());
}

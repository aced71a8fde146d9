use super::{in_unit, inches, two_million_pounds};
use lowstave::soil::{
    AcidSoil, Acidity, Buffer, CarbonSource, Cation, CationExchange, LimeQuality, LimeRule,
    SeedCrop, SeedSaltTable, Seedbed, SoilError, calcium_to_raise_saturation,
    carbon_to_reach_ratio, exchangeable_acidity, exchangeable_sodium_pct_from_sar,
    gypsum_for_calcium, gypsum_for_sodium, net_nitrogen, nutrient_mass, sodium_to_replace_meq,
    soil_mass, tank_loads,
};
use lowstave::units::{Area, MassPerArea, Volume, VolumePerArea};
use proptest::prelude::*;

fn soil_under(rule: LimeRule, water_ph: f64, depth_of_acidity: f64, target_ph: f64) -> AcidSoil {
    let start = match rule {
        LimeRule::AdamsEvans => 8.0,
        LimeRule::NorthCarolina => 6.6,
        _ => 6.95,
    };
    let buffer_ph = Some(start - depth_of_acidity);
    AcidSoil {
        water_ph,
        buffer_ph,
        printed_acidity_meq: Some(10.0 * depth_of_acidity),
        target_ph,
    }
}

fn lime(rule: LimeRule, soil: AcidSoil) -> Option<f64> {
    rule.need(&soil)
        .ok()
        .map(|need| need.rate.kilograms_per_hectare())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4_000, failure_persistence: None, ..ProptestConfig::default() })]

    /// H % and BS % make 100, every saturation lies between 0 and 100, and the four bases make the base saturation.
    #[test]
    fn saturations_make_one_hundred(
        ppm in prop::array::uniform4(0.0..6_000.0_f64), water_ph in 4.0..8.5_f64, buffer_ph in 4.6..7.4_f64,
    ) {
        let acidity = exchangeable_acidity(Some(water_ph), Some((Buffer::Smp, buffer_ph))).unwrap();
        let soil = CationExchange::from_ppm(ppm, acidity).unwrap();
        prop_assume!(soil.cation_exchange_capacity_meq().unwrap() > 0.0);
        let bases = soil.base_saturation_pct().unwrap();
        prop_assert!((bases + soil.acidity_pct().unwrap() - 100.0).abs() < 1.0e-9);
        let shares = Cation::ALL.map(|cation| soil.saturation_pct(cation).unwrap());
        prop_assert!(shares.iter().all(|share| (0.0..=100.0).contains(share)));
        prop_assert!((shares.iter().sum::<f64>() - bases).abs() < 1.0e-9);
        prop_assert!(soil.cation_exchange_capacity_meq().unwrap() >= soil.sum_of_bases_meq());
    }

    /// A lower buffer pH never asks for less lime, by any rule; nothing is negative or not a number.
    #[test]
    fn more_acidity_never_takes_less_lime(
        which in 0..LimeRule::ALL.len(), water_ph in 4.6..6.6_f64, small in 0.0..1.0_f64, more in 0.0..1.0_f64, at_seven in any::<bool>(),
    ) {
        let rule = LimeRule::ALL[which];
        let target = if rule == LimeRule::PennState && at_seven { 7.0 } else { 6.5 };
        let (less, greater) = (
            lime(rule, soil_under(rule, water_ph, small, target)),
            lime(rule, soil_under(rule, water_ph, small + more, target)),
        );
        for rate in [less, greater].into_iter().flatten() {
            prop_assert!(rate.is_finite() && rate >= 0.0);
        }
        if let (Some(less), Some(greater)) = (less, greater) {
            prop_assert!(greater >= less - 1.0e-6, "{} {less} {greater}", rule.name());
        }
    }

    /// A higher target never asks for less lime, by every rule that takes more than one.
    #[test]
    fn a_higher_target_never_takes_less_lime(
        which in 0..LimeRule::ALL.len(), water_ph in 4.6..6.6_f64, acidity in 0.0..0.9_f64, target in 6.0..6.5_f64, step in 0.0..0.1_f64,
    ) {
        let rule = LimeRule::ALL[which];
        prop_assume!(rule != LimeRule::PennState);
        let rates = [target, target + step].map(|target| lime(rule, soil_under(rule, water_ph, acidity, target)));
        if let [Some(lower), Some(higher)] = rates {
            prop_assert!(higher >= lower - 1.0e-6);
        }
    }

    /// A more acid soil never gets less lime by the rules that look at water pH beyond the target.
    #[test]
    fn a_lower_water_ph_never_takes_less_lime(water_ph in 4.6..6.5_f64, step in 0.0..1.0_f64, acidity in 0.0..2.0_f64) {
        let rule = LimeRule::NorthCarolina;
        prop_assume!(water_ph - step >= 3.6);
        let higher_ph = lime(rule, soil_under(rule, water_ph, acidity, 6.5)).unwrap();
        let lower_ph = lime(rule, soil_under(rule, water_ph - step, acidity, 6.5)).unwrap();
        prop_assert!(lower_ph >= higher_ph - 1.0e-9);
    }

    /// Poorer lime and deeper mixing never take less product.
    #[test]
    fn poorer_lime_and_deeper_mixing_take_more(pct in 20.0..150.0_f64, worse in 0.0..10.0_f64, depth in 2.0..10.0_f64, deeper in 0.0..6.0_f64) {
        let need = LimeRule::Oregon.need(&soil_under(LimeRule::Oregon, 5.2, 0.8, 6.4)).unwrap();
        let rate = |pct, depth| need.of_product(inches(depth), LimeQuality::Effective { pct }).unwrap().kilograms_per_hectare();
        prop_assert!(rate(pct - worse, depth) >= rate(pct, depth));
        prop_assert!(rate(pct, depth + deeper) >= rate(pct, depth));
    }

    /// More calcium short, or more sodium to go, never takes less gypsum; never negative.
    #[test]
    fn a_greater_deficit_never_takes_less_gypsum(cec in 1.0..60.0_f64, now in 0.0..100.0_f64, lower in 0.0..50.0_f64, wanted in 0.0..100.0_f64) {
        let gypsum = |now: f64| {
            let calcium = calcium_to_raise_saturation(cec, now, wanted, two_million_pounds()).unwrap();
            gypsum_for_calcium(calcium, 90.0, 10.0).unwrap().kilograms_per_hectare()
        };
        let less_calcium = (now - lower).max(0.0);
        prop_assert!(gypsum(less_calcium) >= gypsum(now) && gypsum(now) >= 0.0);
        let sodium = |esp: f64| gypsum_for_sodium(sodium_to_replace_meq(cec, esp, wanted).unwrap(), two_million_pounds()).unwrap();
        prop_assert!(sodium(now) >= sodium(less_calcium));
    }

    /// The regression from SAR rises and stays a percentage.
    #[test]
    fn esp_rises_with_sar(sar in 0.0..60.0_f64, step in 0.0..8.0_f64) {
        let (low, high) = (exchangeable_sodium_pct_from_sar(sar).unwrap(), exchangeable_sodium_pct_from_sar(sar + step).unwrap());
        prop_assert!(low <= high && (0.0..=50.1).contains(&high));
    }

    /// The carbon asked for does reach the ratio, and a further target never takes less.
    #[test]
    fn carbon_reaches_the_ratio(carbon in 50.0..50_000.0_f64, nitrogen in 5.0..5_000.0_f64, target in 5.0..30.0_f64, wider in 1.01..20.0_f64) {
        let kg = MassPerArea::from_kilograms_per_hectare;
        let material = target * wider;
        let added = carbon_to_reach_ratio(kg(carbon), kg(nitrogen), target, CarbonSource::WithRatio(material)).unwrap().kilograms_per_hectare();
        prop_assert!(added >= 0.0);
        if added > 0.0 {
            let reached = (carbon + added) / (nitrogen + added / material);
            prop_assert!((reached - target).abs() < 1.0e-6 * target);
        } else {
            prop_assert!(carbon / nitrogen >= target * (1.0 - 1.0e-12));
        }
    }

    /// A wider residue never frees more nitrogen.
    #[test]
    fn a_wider_residue_never_frees_more_nitrogen(ratio in 4.0..500.0_f64, step in 0.0..400.0_f64) {
        let carbon = MassPerArea::from_kilograms_per_hectare(1_000.0);
        prop_assert!(net_nitrogen(carbon, ratio + step).unwrap() <= net_nitrogen(carbon, ratio).unwrap());
    }

    /// The sandy column is never above the other, no row spacing gets more than the narrowest printed, none is negative.
    #[test]
    fn seed_safe_limits_are_bounded(spacing in 6.0..60.0_f64) {
        let limit = |seedbed| {
            in_unit(SeedSaltTable::Kansas.limit(SeedCrop::Corn, seedbed, inches(spacing)).unwrap().nitrogen_plus_potash, "lb/ac")
        };
        let (fine, sandy) = (limit(Seedbed::MediumToFine), limit(Seedbed::SandyDryOrCold));
        prop_assert!(sandy <= fine + 1.0e-9 && sandy > 0.0 && fine <= 12.0 + 1.0e-9);
    }

    /// Full loads and the last one add up to the job; the last is less than a tank.
    #[test]
    fn loads_add_up(hectares in 0.01..500.0_f64, rate in 1.0..500.0_f64, tank in 50.0..5_000.0_f64) {
        let tank_volume = Volume::from_litres(tank);
        let loads = tank_loads(Area::from_square_metres(hectares * 1.0e4), VolumePerArea::from_litres_per_hectare(rate), tank_volume).unwrap();
        let sum = f64::from(loads.full) * tank + loads.last.litres();
        prop_assert!((sum - loads.total.litres()).abs() < 1.0e-6 * loads.total.litres().max(1.0));
        prop_assert!(loads.last.litres() >= 0.0 && loads.last.litres() < tank);
    }

    /// A layer twice as thick holds twice the nutrient; metric and customary thickness agree.
    #[test]
    fn inventories_are_linear(ppm in 0.0..5_000.0_f64, depth in 1.0..25.0_f64) {
        let mass = |depth| nutrient_mass(ppm, soil_mass(inches(depth), None).unwrap()).unwrap().kilograms_per_hectare();
        prop_assert!((mass(2.0 * depth) - 2.0 * mass(depth)).abs() < 1.0e-6 * mass(depth).max(1.0));
    }

    /// What is not a number is refused everywhere, never handed on.
    #[test]
    fn not_a_number_goes_nowhere(which in 0..4_usize) {
        let mut ppm = [100.0; 4];
        ppm[which] = f64::NAN;
        let refused = CationExchange::from_ppm(ppm, Acidity::Unknown);
        let is_refused = matches!(refused, Err(SoilError::NotANumber { .. }));
        prop_assert!(is_refused);
    }
}

/// Outside the range of a rule there is an error that says what was found and what is allowed.
#[test]
fn every_rule_refuses_what_is_outside_its_range() {
    for rule in LimeRule::ALL {
        for buffer_ph in [f64::NAN, f64::INFINITY, -1.0, 2.0, 12.0] {
            let soil = AcidSoil {
                water_ph: 5.5,
                buffer_ph: Some(buffer_ph),
                printed_acidity_meq: Some(buffer_ph * 100.0),
                target_ph: 6.5,
            };
            assert!(rule.need(&soil).is_err(), "{} {buffer_ph}", rule.name());
        }
        let soil = AcidSoil {
            water_ph: f64::NAN,
            buffer_ph: Some(6.5),
            printed_acidity_meq: Some(3.0),
            target_ph: 6.5,
        };
        assert!(rule.need(&soil).is_err());
    }
    let text = nutrient_mass(-3.0, two_million_pounds())
        .unwrap_err()
        .to_string();
    assert!(
        text.contains("-3") && text.contains("ppm") && text.contains('0'),
        "{text}"
    );
    assert!(
        soil_mass(inches(6.0), Some(13.0)).is_err(),
        "a density in kg/m3 or lb/ft3 is no g/cm3"
    );
}

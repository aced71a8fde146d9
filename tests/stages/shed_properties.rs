//! What must hold of the nutrient mix in any region, with any crop, yield, shed and number of passes, over many random zones. Set `LOWSTAVE_ZONES` for
//! more than the usual run's.

use lowstave::analyte::Analyte::*;
use lowstave::plan::{Shed, Stock, YieldGoal};
use lowstave::rates::{Prescription, Rate};
use lowstave::rulebook::{Crop, Rulebook};
use lowstave::units::{Mass, MassPerArea, Quantity, Volume};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use crate::made_zones::{Made, key};
use crate::random_zones::random_field;
use crate::rates_properties::{
    ZONES_IN_A_FIELD, check_caps, check_chemistry, check_cost, check_every_rate_has_a_fix,
    check_totals, fields, stored,
};

/// A yield that the crop may have, in its own unit.
fn goal(crop: &Crop, random: &mut ChaCha8Rng) -> YieldGoal {
    let pounds = |pounds: f64| {
        let mass = MassPerArea::parse(&format!("{pounds} lb/ac"));
        YieldGoal::Mass(mass.expect("a yield"))
    };
    match crop.yield_unit.as_str() {
        "bu" => YieldGoal::BushelsPerAcre(random.random_range(15.0..280.0)),
        "ton" => pounds(2_000.0 * random.random_range(1.0..35.0)),
        "cwt" => pounds(100.0 * random.random_range(10.0..500.0)),
        _ => pounds(random.random_range(500.0..3_000.0)),
    }
}

fn shed(rulebook: &Rulebook, random: &mut ChaCha8Rng) -> Shed {
    let mut shed = Shed::default();
    for product in &rulebook.products {
        if random.random_bool(0.5) {
            shed.products.push(product.name.clone());
            if random.random_bool(0.2) {
                let much = random.random_range(0.0..60_000.0);
                let stock = match product.density {
                    Some(_) if product.metering == lowstave::units::Metering::Liquid => {
                        Stock::Volume(Volume::from_litres(much))
                    }
                    _ => Stock::Mass(Mass::from_kilograms(much)),
                };
                shed.on_hand.push((product.name.clone(), stock));
            }
        }
    }
    shed
}

/// A random field in a random region, with what its consultant has and aims at.
fn random_farm(seed: u64) -> (Made, Rulebook) {
    let mut random = ChaCha8Rng::seed_from_u64(seed ^ 0x5eed);
    let regions: Vec<&str> = Rulebook::regions().collect();
    let region = random
        .random_bool(0.8)
        .then(|| regions[random.random_range(0..regions.len())]);
    let rulebook = region.map_or_else(Rulebook::built_in, |region| {
        Rulebook::of_region(region).expect("a region")
    });
    let crop = rulebook.crops[random.random_range(0..rulebook.crops.len())].clone();
    let mut made = random_field(seed, ZONES_IN_A_FIELD);
    made.settings.crop.clone_from(&crop.name);
    made.settings.supply.region = region.map(str::to_owned);
    if random.random_bool(0.7) {
        let yield_goal = goal(&crop, &mut random);
        made.settings.supply.yield_goals = vec![(crop.name.clone(), yield_goal)];
        made.settings.supply.last_harvests = vec![(crop.name.clone(), yield_goal)];
    }
    if random.random_bool(0.6) {
        made.settings.supply.shed = Some(shed(&rulebook, &mut random));
    }
    made.settings.supply.passes = random.random_bool(0.5).then(|| random.random_range(1..5));
    made.settings.supply.interest = random
        .random_bool(0.5)
        .then(|| random.random_range(0.0..20.0));
    let manganese: Vec<f64> = (0..ZONES_IN_A_FIELD)
        .map(|_| random.random_range(0.5..30.0))
        .collect();
    let carbonates: Vec<f64> = (0..ZONES_IN_A_FIELD)
        .map(|_| random.random_range(0.0..20.0))
        .collect();
    let made = made
        .layer(key(Manganese, "mehlich-3", "0-6 in"), "ppm", &manganese)
        .layer(key(Carbonates, "", "0-6 in"), "%", &carbonates);
    (made, rulebook)
}

/// What all rates of a zone bring of a part, kg/ha; the starter's own part is counted by its recipe.
fn brought(rates: &[Rate], rulebook: &Rulebook, part: &str) -> f64 {
    let of = |rate: &Rate| {
        let product = rulebook.product(&rate.product)?;
        let density = product
            .density
            .filter(|_| product.metering == lowstave::units::Metering::Liquid);
        let kilograms = density.map_or(1.0, lowstave::units::Density::kilograms_per_litre);
        Some(stored(rate.amount) * kilograms * product.analysis.part(part)? / 100.0)
    };
    rates.iter().filter_map(of).sum()
}

fn check_mix(made: &Made, prescription: &Prescription, rulebook: &Rulebook) {
    let supply = &made.settings.supply;
    let numbers = &rulebook.numbers;
    for zone in &prescription.zones {
        for (part, most) in [
            ("phosphate", numbers.phosphate_most),
            ("boron", numbers.boron_most),
        ] {
            let found = brought(&zone.rates, rulebook, part);
            assert!(
                found <= most.kilograms_per_hectare() * (1.0 + 1e-9),
                "{found} of {part} in zone {}",
                zone.number
            );
        }
        for rate in zone.rates.iter().filter(|rate| !rate.amount.is_zero()) {
            let is_listed = |shed: &Shed| {
                shed.products.is_empty()
                    || shed
                        .products
                        .iter()
                        .any(|name| rate.product == *name.as_str())
            };
            assert!(
                rate.product == "starter" || supply.shed.as_ref().is_none_or(is_listed),
                "{} is not in the shed",
                rate.product
            );
        }
    }
    // The products of the mix say what they cover; no more of them than passes.
    let is_mixed = |name: &str| {
        let mut rates = prescription.zones.iter().flat_map(|zone| &zone.rates);
        rates.any(|rate| {
            rate.product == name
                && !rate.amount.is_zero()
                && rate.steps.iter().any(|step| step.contains(" covers "))
        })
    };
    let mixed = prescription
        .products
        .iter()
        .filter(|product| is_mixed(&product.name))
        .count();
    let passes = supply.passes.map_or(numbers.spreader_passes, f64::from);
    assert!(
        mixed as f64 <= passes,
        "{mixed} products in {passes} passes"
    );
    check_stock(made, prescription, &is_mixed);
}

/// What is on hand reaches: a rate is rounded up to the step only where that adds at most 5 %.
fn check_stock(made: &Made, prescription: &Prescription, is_mixed: &dyn Fn(&str) -> bool) {
    let Some(shed) = &made.settings.supply.shed else {
        return;
    };
    for (name, stock) in shed.on_hand.iter().filter(|(name, _)| is_mixed(name)) {
        let mut products = prescription.products.iter();
        let Some(product) = products.find(|product| product.name == name.as_str()) else {
            continue;
        };
        let (found, most) = match stock {
            Stock::Mass(mass) => (product.total_mass.kilograms(), mass.kilograms()),
            Stock::Volume(volume) => (product.total_volume.litres(), volume.litres()),
        };
        // The mix stays inside the stock; an amendment that follows the soil may pass it, and then it is said.
        let is_said = || {
            let mut remarks = prescription.remarks.iter();
            remarks.any(|remark| {
                remark.code == "more-than-on-hand" && remark.what.contains(&product.label)
            })
        };
        let is_amendment =
            ["lime", "gypsum", "compost", "molasses", "elemental_sulfur"].contains(&name.as_str());
        assert!(
            found <= most * 1.05 + 1e-6 || (is_amendment && is_said()),
            "{found} of {most} of {name}"
        );
    }
}

fn check_balance(prescription: &Prescription) {
    let Some(balance) = &prescription.balance else {
        return;
    };
    let Some(goal) = &balance.goal else { return };
    for nutrient in balance.zones.iter().flat_map(|zone| &zone.nutrients) {
        let takes = goal
            .takes
            .iter()
            .find(|(of, _)| *of == nutrient.nutrient)
            .expect("counted")
            .1;
        assert!(nutrient.brings_now.stored() <= nutrient.brings_in_all.stored() + 1e-9);
        for (harvests, left) in &nutrient.left {
            let wanted = nutrient.brings_in_all.stored() - f64::from(*harvests) * takes.stored();
            assert!((left.stored() - wanted).abs() < 1e-6 * takes.stored().max(1.0));
        }
    }
}

#[test]
fn in_any_region_with_any_shed_the_mix_stays_inside_every_cap() {
    (0..fields() as u64).into_par_iter().for_each(|seed| {
        let (made, rulebook) = random_farm(seed);
        let diagnosis = made.diagnosis(&rulebook);
        let prescription = made.prescribed_by(&rulebook);
        check_caps(&made, &prescription, &diagnosis, &rulebook);
        check_cost(&prescription);
        check_totals(&made, &prescription);
        check_every_rate_has_a_fix(&prescription);
        check_chemistry(&prescription, &diagnosis);
        check_mix(&made, &prescription, &rulebook);
        check_balance(&prescription);
    });
}

/// A test that never sees a mix proves nothing.
#[test]
fn the_random_farms_do_mix() {
    let mixes = (0..40_u64).into_par_iter().filter(|seed| {
        let (made, rulebook) = random_farm(*seed);
        let prescription = made.prescribed_by(&rulebook);
        let rates = prescription.zones.iter().flat_map(|zone| &zone.rates);
        let covering = rates.filter(|rate| rate.steps.iter().any(|step| step.contains(" covers ")));
        covering.count() > 5
    });
    assert!(mixes.count() >= 10);
}

//! Stage tests: nutrients by the region's table, and the mix of what is in the shed.

use lowstave::analyte::Analyte::*;
use lowstave::plan::{Shed, Stock, YieldGoal};
use lowstave::rates::{MixProblem, MixProduct, MixZone, ZoneRates, cheapest_mix};
use lowstave::rulebook::{Nutrient, Rulebook};
use lowstave::soil::{RateEquation, build_and_maintain, rate_of_steps};
use lowstave::units::{Mass, MassPerArea, Quantity};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::made_zones::{Made, find, key, quantity, rate};

fn close(found: f64, wanted: f64, by: f64) {
    assert!((found - wanted).abs() <= by, "{found} is not {wanted}");
}

// -------------------------------------------------------------------------------- the tables, against their own pages

/// North Carolina Department of Agriculture, table 2.4: equations 14, 11, 10 and 18, computed from the printed coefficients; past the first
/// root, and past the vertex where the parabola climbs again, nothing.
#[test]
fn the_equations_of_north_carolina_end_at_their_first_zero() {
    let equation = |a: f64, b: f64, c: f64| RateEquation {
        constant: c,
        per_test: -b,
        per_test_squared: a,
        ..RateEquation::default()
    };
    let at = |e: &RateEquation, index: f64| e.rate(index, 0.0, 0.0).expect("a rate");
    let fourteen = equation(0.0116, 2.75, 150.0);
    for (index, pounds) in [
        (0.0, 150.0),
        (25.0, 88.5),
        (50.0, 41.5),
        (70.0, 14.34),
        (100.0, 0.0),
        (200.0, 0.0),
    ] {
        close(at(&fourteen, index), pounds, 0.01);
    }
    let eleven = equation(0.0190, 4.20, 200.0);
    close(at(&eleven, 20.0), 123.60, 0.01);
    close(at(&eleven, 50.0), 37.50, 0.01);
    let ten = equation(0.0103, 2.90, 200.0);
    close(at(&ten, 100.0), 13.0, 0.01);
    assert!(at(&ten, 120.7) > 0.0 && at(&ten, 120.8) == 0.0);
    let eighteen = equation(0.0120, 3.00, 120.0);
    close(at(&eighteen, 25.0), 52.5, 0.01);
    assert!(at(&eighteen, 50.0) == 0.0);
}

/// Ontario corn, Olsen: 63, 18 and 0 lb P2O5/ac at 9, 14 and 31 ppm (Ontario Grain Farmer). Arkansas wheat, Mehlich-3: 71.5, 61.3, 22.5 and 0
/// lb at 9, 12, 30 and 31 ppm (35, 30, 11 and 0 kg P/ha). Kansas zinc and the equations of Minnesota and Kansas: from memory of MF-2586 and
/// AG-MI-3790, held here so that they stay what was recalled.
#[test]
fn the_packs_give_their_own_worked_values() {
    let rate_of = |region: &str, row: &str, test: f64, goal: f64| {
        let rulebook = Rulebook::of_region(region).expect("a region");
        let row = rulebook
            .rates
            .iter()
            .find(|known| known.name == row)
            .expect("a row")
            .clone();
        let rate = match &row.form {
            lowstave::rulebook::RateForm::Steps(steps) => rate_of_steps(steps, test),
            lowstave::rulebook::RateForm::Equation(terms) => RateEquation {
                constant: terms.constant,
                per_yield: terms.per_yield,
                per_test: terms.per_test,
                per_test_and_yield: terms.per_test_and_yield,
                per_test_squared: terms.per_test_squared,
                per_organic_matter: terms.per_organic_matter,
            }
            .rate(test, goal, 0.0)
            .expect("a rate"),
            other => panic!("{other:?}"),
        };
        let is_none = row.none_from.is_some_and(|from| test >= from);
        let kilograms = if is_none { 0.0 } else { rate * row.unit };
        MassPerArea::from_kilograms_per_hectare(kilograms)
            .in_unit("lb/ac")
            .expect("pounds")
    };
    for (test, pounds) in [(9.0, 63.0), (14.0, 18.0), (31.0, 0.0)] {
        close(
            rate_of("ontario", "ontario_phosphate_corn", test, 0.0),
            pounds,
            0.6,
        );
    }
    for (test, pounds) in [(9.0, 71.5), (12.0, 61.3), (30.0, 22.5), (31.0, 0.0)] {
        close(
            rate_of("arkansas", "arkansas_phosphate_wheat", test, 0.0),
            pounds,
            0.1,
        );
    }
    close(
        rate_of("minnesota", "minnesota_phosphate_bray_corn", 8.0, 180.0),
        75.6,
        0.01,
    );
    close(
        rate_of("minnesota", "minnesota_phosphate_olsen_corn", 8.0, 180.0),
        62.64,
        0.01,
    );
    close(
        rate_of("minnesota", "minnesota_potash_corn", 100.0, 180.0),
        78.48,
        0.01,
    );
    close(
        rate_of("kansas", "kansas_phosphate_corn", 5.0, 150.0),
        60.0,
        0.01,
    );
    close(
        rate_of("kansas", "kansas_phosphate_wheat", 10.0, 50.0),
        33.5,
        0.01,
    );
    close(
        rate_of("kansas", "kansas_potash_corn", 100.0, 150.0),
        24.0,
        0.01,
    );
    close(rate_of("kansas", "kansas_zinc", 0.3, 0.0), 8.125, 0.001);
    close(rate_of("kansas", "kansas_zinc", 1.01, 0.0), 0.0, 0.0);
}

/// Tri-state, from memory: (20 - 12) x 5 + 180 x 0.35 = 103; (120 - 95) x 1.6 + 36 + 20 = 96.
#[test]
fn build_up_and_maintenance_are_told_apart() {
    let phosphate = build_and_maintain(12.0, (20.0, 40.0), 5.0, 63.0).expect("parts");
    close(phosphate.build + phosphate.maintain, 103.0, 1e-9);
    let potash = build_and_maintain(95.0, (120.0, 170.0), 1.0 + 0.05 * 12.0, 56.0).expect("parts");
    close(potash.build + potash.maintain, 96.0, 1e-9);
    let between = build_and_maintain(30.0, (20.0, 40.0), 5.0, 63.0).expect("parts");
    assert!(between.build == 0.0 && between.maintain == 63.0);
    assert_eq!(
        build_and_maintain(41.0, (20.0, 40.0), 5.0, 63.0)
            .expect("parts")
            .maintain,
        0.0
    );
}

#[test]
fn every_region_is_sound_and_says_what_it_holds() {
    assert!(Rulebook::regions().count() >= 10);
    for name in Rulebook::regions() {
        let rulebook =
            Rulebook::of_region(name).unwrap_or_else(|errors| panic!("{name}: {errors:?}"));
        let region = rulebook.region.expect("a region");
        assert_eq!(region.name, name);
        assert!(!region.holds.is_empty() && !region.source.is_empty());
    }
    let slip = Rulebook::of_region("iowaa").expect_err("no such region");
    assert!(
        slip[0].to_string().contains("did you mean \"iowa\""),
        "{}",
        slip[0]
    );
}

// ------------------------------------------------------------------------------------------------- rates in a field

fn in_tri_state(made: Made) -> (Made, Rulebook) {
    let made = made.settings(|settings| {
        settings.supply.region = Some("tri-state".into());
        settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(180.0))];
    });
    (made, Rulebook::of_region("tri-state").expect("a region"))
}

fn first(made: &Made, rulebook: &Rulebook) -> ZoneRates {
    made.prescribed_by(rulebook).zones.remove(0)
}

/// Potassium 95 ppm, CEC 12, 180 bu: 96 lb K2O, 192 lb of potassium sulfate; the controller's step takes it to 190.
#[test]
fn short_potassium_gets_pounds_of_potash_from_a_product() {
    let made = Made::one()
        .sound()
        .with(CationExchangeCapacity, &[12.0])
        .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", &[95.0]);
    let (made, rulebook) = in_tri_state(made);
    let zone = first(&made, &rulebook);
    close(rate(&zone, "potassium_sulfate"), 190.0, 1e-6);
    let steps = find(&zone, "potassium_sulfate")
        .expect("it")
        .steps
        .join("; ");
    assert!(
        steps.contains("build-up (120 - 95) ppm x 1.6 = 40 lb/ac a year over 4 years"),
        "{steps}"
    );
    assert!(steps.contains("maintenance 56 lb/ac"), "{steps}");
    assert!(steps.contains("from memory"), "{steps}");
    assert!(!zone.fixes.iter().any(|fix| fix.name == "potassium_source"));
}

#[test]
fn without_a_yield_goal_the_removal_is_not_invented() {
    let made = Made::one()
        .sound()
        .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", &[80.0]);
    let zone = first(&made, &Rulebook::built_in());
    assert_eq!(rate(&zone, "potassium_sulfate"), 0.0);
    assert!(
        zone.cautions
            .iter()
            .any(|c| c.contains("[yield_goal] corn")),
        "{:?}",
        zone.cautions
    );
}

fn shed(products: &[&str]) -> Shed {
    Shed {
        products: products.iter().map(|name| (*name).to_owned()).collect(),
        ..Shed::default()
    }
}

#[test]
fn litter_stops_at_the_phosphorus_ceiling_and_the_shed_closes_what_it_does_not_name() {
    let made = Made::one()
        .sound()
        .with(Phosphorus, &[60.0])
        .with(CationExchangeCapacity, &[12.0])
        .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", &[40.0]);
    let (made, rulebook) = in_tri_state(made);
    let made = made.settings(|settings| settings.supply.shed = Some(shed(&["poultry_litter"])));
    let zone = first(&made, &rulebook);
    // 180 bu take 63 lb P2O5; 2.9 % of litter: at most 2,172 lb.
    let litter = rate(&zone, "poultry_litter");
    assert!((2_100.0..=2_173.0).contains(&litter), "{litter}");
    assert!(
        zone.cautions.iter().any(|c| c.contains("left unmet")),
        "{:?}",
        zone.cautions
    );
    // Far above need nothing brings phosphorus.
    let rich = made.with(Phosphorus, &[150.0]);
    assert_eq!(rate(&first(&rich, &rulebook), "poultry_litter"), 0.0);
}

#[test]
fn what_is_on_hand_is_shared_out_and_not_overdrawn() {
    let made = Made::new(&[10.0, 10.0]).sound();
    let made = made.with(CationExchangeCapacity, &[12.0, 12.0]).layer(
        key(Potassium, "mehlich-3", "0-6 in"),
        "ppm",
        &[60.0, 80.0],
    );
    let (made, rulebook) = in_tri_state(made);
    let made = made.settings(|settings| {
        let mut own = shed(&["potassium_sulfate"]);
        own.on_hand = vec![(
            "potassium_sulfate".into(),
            Stock::Mass(quantity::<Mass>("2000 kg")),
        )];
        settings.supply.shed = Some(own);
    });
    let prescription = made.prescribed_by(&rulebook);
    let used: f64 = prescription
        .zones
        .iter()
        .map(|zone| rate(zone, "potassium_sulfate") * 1.120_851 * 10.0)
        .sum();
    assert!(used > 1_900.0 && used <= 2_000.0 + 1e-6, "{used}");
}

// -------------------------------------------------------------------------------------------- the mix, by brute force

fn random_problem(seed: u64) -> MixProblem {
    let mut random = ChaCha8Rng::seed_from_u64(seed);
    let mut between = |least: f64, most: f64| random.random_range(least..most);
    let products = (0..3)
        .map(|_| MixProduct {
            price: between(0.1, 2.0),
            brings: (0..2).map(|_| between(0.0, 0.5)).collect(),
            counts: vec![between(0.0, 0.4)],
            on_hand: None,
        })
        .collect();
    let needs = vec![between(10.0, 80.0), between(0.0, 60.0)];
    MixProblem {
        products,
        zones: vec![MixZone {
            hectares: 1.0,
            worth: needs.iter().map(|need| 500.0 / need).collect(),
            needs,
            ceilings: vec![between(20.0, 90.0)],
            most: vec![
                between(50.0, 400.0),
                between(50.0, 400.0),
                between(50.0, 400.0),
            ],
            least: vec![20.0; 3],
        }],
        pass: 15.0,
        passes: 2,
    }
}

/// Cost of rates, or nothing where they break a cap.
fn cost(problem: &MixProblem, rates: &[f64]) -> Option<f64> {
    let zone = &problem.zones[0];
    let sum = |of: &dyn Fn(&MixProduct) -> f64| -> f64 {
        rates
            .iter()
            .zip(&problem.products)
            .map(|(rate, product)| rate * of(product))
            .sum()
    };
    let used = rates.iter().filter(|rate| **rate > 0.0).count();
    let fits = used <= problem.passes
        && sum(&|p| p.counts[0]) <= zone.ceilings[0] + 1e-6
        && rates.iter().enumerate().all(|(at, rate)| {
            *rate == 0.0 || (*rate >= zone.least[at] - 1e-6 && *rate <= zone.most[at] + 1e-6)
        });
    let unmet: f64 = zone
        .needs
        .iter()
        .enumerate()
        .map(|(at, need)| zone.worth[at] * (need - sum(&|p| p.brings[at])).max(0.0))
        .sum();
    fits.then(|| sum(&|p| p.price) + unmet + problem.pass * used as f64)
}

#[test]
fn the_mix_is_as_cheap_as_the_best_of_all_rates_on_a_grid() {
    for seed in 0..25 {
        let problem = random_problem(seed);
        let (found, _) = cheapest_mix(&problem);
        let own = cost(&problem, &found.rates[0])
            .unwrap_or_else(|| panic!("seed {seed}: {found:?} breaks a cap"));
        close(own, found.cost, 1e-4);
        let grid: Vec<f64> = (0..=100).map(|at| f64::from(at) * 4.0).collect();
        let mut best = f64::INFINITY;
        for a in 0..3 {
            for b in (a + 1)..3 {
                for x in &grid {
                    for y in &grid {
                        let mut rates = [0.0; 3];
                        (rates[a], rates[b]) = (*x, *y);
                        best = best.min(cost(&problem, &rates).unwrap_or(f64::INFINITY));
                    }
                }
            }
        }
        // The grid is coarse: it never beats the mix, and comes near it.
        assert!(
            found.cost <= best + 1e-6,
            "seed {seed}: {} against {best}",
            found.cost
        );
        assert!(
            best <= found.cost * 1.15 + 25.0,
            "seed {seed}: {} against {best}",
            found.cost
        );
    }
}

// ------------------------------------------------------------------------------------------------- the removal sheet

/// Potassium 95 ppm at CEC 12 in the tri-state region: 190 lb of potassium sulfate, 50 % K2O and 17.5 % S, bring 95 lb of potash and 33.25 lb of
/// sulfur. Corn takes 0.20 lb of potash a bushel there (from memory): 36 lb at 180 bu; left after 1, 2 and 4 harvests 59, 23 and -49 lb.
#[test]
fn the_removal_sheet_adds_up() {
    let made = Made::one()
        .sound()
        .with(CationExchangeCapacity, &[12.0])
        .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", &[95.0]);
    let (made, rulebook) = in_tri_state(made);
    let made = made.settings(|settings| {
        settings.supply.last_harvests = vec![("soy".into(), YieldGoal::BushelsPerAcre(50.0))];
    });
    let balance = made.prescribed_by(&rulebook).balance.expect("a sheet");
    let pounds = |mass: MassPerArea| mass.in_unit("lb/ac").expect("pounds");
    let of = |nutrient: Nutrient| {
        let mut all = balance.zones[0].nutrients.iter();
        all.find(|of| of.nutrient == nutrient).expect("it")
    };
    let potash = of(Nutrient::Potash);
    close(pounds(potash.brings_in_all), 95.0, 1e-6);
    let left: Vec<f64> = potash.left.iter().map(|(_, mass)| pounds(*mass)).collect();
    for (found, wanted) in left.iter().zip([59.0, 23.0, -49.0]) {
        close(*found, wanted, 1e-6);
    }
    close(pounds(of(Nutrient::Sulfur).brings_in_all), 33.25, 1e-6);
    let last = &balance.last[0];
    assert_eq!(
        (last.crop.as_str(), last.harvest.as_str()),
        ("soybean", "50 bu/ac")
    );
    close(pounds(last.takes[1].1), 50.0 * 1.15, 1e-6);
    assert!(balance.missing.is_empty());
}

/// Phosphate rock is 20 % in all and 3 % in the first season: both are told. Salt keeps the starter out.
#[test]
fn the_removal_sheet_tells_what_acts_now_from_what_is_there_in_all() {
    let made = Made::one()
        .sound()
        .with(Phosphorus, &[8.0])
        .with(Ph, &[5.8])
        .with(BufferPh, &[7.0])
        .layer(
            key(ElectricalConductivity, "paste", "0-6 in"),
            "dS/m",
            &[2.6],
        )
        .settings(|settings| {
            settings.supply.shed = Some(shed(&["phosphate_rock"]));
            settings.supply.last_harvests = vec![("corn".into(), YieldGoal::BushelsPerAcre(150.0))];
        });
    let prescription = made.prescribed();
    let rock = rate(&prescription.zones[0], "phosphate_rock");
    assert!(rock > 0.0, "{:?}", prescription.zones[0].rates);
    let starter =
        find(&prescription.zones[0], "starter").map_or(0.0, |rate| rate.amount.per_hectare());
    let balance = prescription.balance.expect("a sheet");
    let phosphate = &balance.zones[0].nutrients[0];
    let pounds = |mass: MassPerArea| mass.in_unit("lb/ac").expect("pounds");
    assert_eq!(starter, 0.0);
    close(pounds(phosphate.brings_in_all), 0.20 * rock, 1e-6);
    close(pounds(phosphate.brings_now), 0.03 * rock, 1e-6);
    // Without a goal nothing is said of what is left, and why is said.
    assert!(phosphate.left.is_empty() && balance.goal.is_none());
    assert!(
        balance.missing[0].contains("[yield_goal] corn"),
        "{:?}",
        balance.missing
    );
}

#[test]
fn a_crop_that_nobody_knows_is_refused_where_it_stands() {
    let made = Made::one().sound().settings(|settings| {
        settings.supply.last_harvests = vec![("cron".into(), YieldGoal::BushelsPerAcre(150.0))];
    });
    let rulebook = Rulebook::built_in();
    let diagnosis = made.diagnosis(&rulebook);
    let refused = lowstave::rates::prescribe(
        &made.settings,
        &made.field,
        &made.surfaces,
        &made.zones,
        &diagnosis,
        &rulebook,
    );
    let errors = refused.expect_err("no such crop");
    assert!(
        errors[0].to_string().contains("last_harvest.cron"),
        "{}",
        errors[0]
    );
}

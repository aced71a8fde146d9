//! What must hold of any zone's rates, over many random zones. Set `LOWSTAVE_ZONES` for more than the usual run's.

use lowstave::analyte::Analyte::{self, *};
use lowstave::diagnosis::{Diagnosis, LayerSummary, Outcome};
use lowstave::plan::Price;
use lowstave::rates::{Prescription, Rate};
use lowstave::rulebook::Rulebook;
use lowstave::units::ProductRate;
use lowstave::units::{MoneyPerArea, Quantity, UnitSystem};
use rayon::prelude::*;

use crate::made_zones::{Made, find, key};
use crate::random_zones::{CROPS, random_field};

/// Zones in a random field: a zone in a small field costs more than one in a large one, so the usual run takes few large ones.
pub(crate) const ZONES_IN_A_FIELD: usize = 40;

pub(crate) fn fields() -> usize {
    let zones = std::env::var("LOWSTAVE_ZONES")
        .ok()
        .and_then(|zones| zones.parse().ok())
        .unwrap_or(4_000);
    usize::max(zones / ZONES_IN_A_FIELD, 1)
}

/// kg/ha or L/ha.
pub(crate) fn stored(amount: ProductRate) -> f64 {
    match amount {
        ProductRate::Mass(mass) => mass.stored(),
        ProductRate::Volume(volume) => volume.stored(),
    }
}

pub(crate) fn price_of(prescription: &Prescription, rate: &Rate) -> f64 {
    let product = prescription
        .products
        .iter()
        .find(|product| product.name == rate.product)
        .unwrap();
    match product.price {
        Some(Price::PerMass(price)) => price.stored(),
        Some(Price::PerVolume(price)) => price.stored(),
        None => 0.0,
    }
}

pub(crate) fn check_caps(
    made: &Made,
    prescription: &Prescription,
    diagnosis: &Diagnosis,
    rulebook: &Rulebook,
) {
    let crop = rulebook.crop(&made.settings.crop).unwrap();
    let recipe = prescription.recipe.as_ref().unwrap();
    assert!(
        recipe.seed_salt.stored() <= recipe.seed_salt_limit.stored() + 1e-9,
        "{recipe:?}"
    );
    for (zone, found) in prescription.zones.iter().zip(&diagnosis.zones) {
        for rate in &zone.rates {
            let amount = stored(rate.amount);
            assert!(amount.is_finite() && amount >= 0.0);
            let product = prescription
                .products
                .iter()
                .find(|product| product.name == rate.product)
                .unwrap();
            let steps = amount / stored(product.step);
            assert!(
                (steps - steps.round()).abs() < 1e-6,
                "{} is no multiple of its step",
                rate.product
            );
            if rate.product == "starter" {
                assert!(amount == 0.0 || amount >= recipe.range.0.stored() * (1.0 - 1e-9));
                assert!(amount <= recipe.range.1.stored() * (1.0 + 1e-9));
                let is_closed = found.findings.iter().any(|finding| {
                    finding.closes_product("starter") || finding.closes_product("salt-carrying")
                });
                assert!(
                    !is_closed || amount == 0.0,
                    "a closed gate let {amount} through"
                );
                continue;
            }
            let rules = rulebook.product(&rate.product).unwrap();
            let cap = if crop.is_tilled {
                rules.cap
            } else {
                rules.surface_cap.or(rules.cap)
            }
            .unwrap();
            assert!(
                amount <= cap * (1.0 + 1e-9),
                "{} of {} is over the cap {cap}",
                amount,
                rate.product
            );
            // The least that can be spread is rounded up to a step where the need is that large.
            let step = stored(product.step);
            let least = (rules.smallest / step - 1e-6).ceil() * step;
            let is_least = (amount - least).abs() < 1e-6 * least
                && stored(rate.needed) >= rules.smallest * (1.0 - 1e-9)
                && amount <= 1.05 * stored(rate.needed) * (1.0 + 1e-9);
            // A hair of a step is the rounding of decimals.
            assert!(
                is_least || amount <= stored(rate.needed) + 1e-5 * step,
                "{} of {} is more than is needed",
                amount,
                rate.product
            );
            assert!(amount == 0.0 || amount >= rules.smallest * (1.0 - 1e-9));
            assert!(
                amount > 0.0 || stored(rate.needed) == 0.0 || rate.note.is_some(),
                "{rate:?} is nothing without a word"
            );
        }
    }
}

pub(crate) fn check_cost(prescription: &Prescription) {
    for zone in &prescription.zones {
        let sum: f64 = zone
            .rates
            .iter()
            .map(|rate| stored(rate.amount) * price_of(prescription, rate))
            .sum();
        assert!((sum - zone.cost.stored()).abs() < 1e-6 * sum.max(1.0));
    }
}

/// What no fix asks for is neither weighed against the budget nor told in the order of fixes.
pub(crate) fn check_every_rate_has_a_fix(prescription: &Prescription) {
    for zone in &prescription.zones {
        for rate in zone
            .rates
            .iter()
            .filter(|rate| !rate.amount.is_zero() && rate.overridden.is_none())
        {
            let asked = zone
                .fixes
                .iter()
                .any(|fix| fix.product.as_deref() == Some(rate.product.as_str()) && !fix.left_out);
            assert!(
                asked,
                "{} goes out in zone {} and no fix asks for it",
                rate.product, zone.number
            );
        }
    }
}

pub(crate) fn check_totals(made: &Made, prescription: &Prescription) {
    for product in &prescription.products {
        let total: f64 = prescription
            .zones
            .iter()
            .map(|zone| {
                stored(find(zone, &product.name).unwrap().amount)
                    * made.zones.zones[zone.zone].area_m2
                    / 10_000.0
            })
            .sum();
        let told = if matches!(product.step, ProductRate::Mass(_)) {
            product.total_mass.stored()
        } else {
            product.total_volume.stored()
        };
        assert!(
            (total - told).abs() < 1e-6 * total.max(1.0),
            "{}",
            product.name
        );
    }
    let recipe = prescription.recipe.as_ref().unwrap();
    let loads: f64 = recipe
        .loads
        .iter()
        .map(|load| f64::from(load.count) * load.volume.litres())
        .sum();
    let starter = prescription.products[0].total_volume.litres();
    assert!((loads - starter).abs() <= 1e-5 * starter.max(1.0));
}

/// A rule that its own words give away: sulfur on free lime, rock on ground that is not acid.
pub(crate) fn check_chemistry(prescription: &Prescription, diagnosis: &Diagnosis) {
    for (zone, found) in prescription.zones.iter().zip(&diagnosis.zones) {
        // pH in water, or the most that it can be where it was read in calcium chloride (up to 1.2 lower).
        let in_water = |summary: &LayerSummary| match summary.key.method.as_ref()?.name() {
            "water" => Some(summary.mean),
            "cacl2" => Some(summary.mean + 1.2),
            _ => None,
        };
        let ph = found
            .profile
            .iter()
            .filter(|summary| summary.key.analyte == Ph)
            .find_map(in_water);
        let gets = |product: &str| find(zone, product).is_some_and(|rate| !rate.amount.is_zero());
        // On free lime only against sodium: there it makes gypsum.
        let is_sodic = found.limits().any(|limit| limit.factor.name() == "sodium");
        let is_for_sodium = is_sodic && !gets("gypsum");
        assert!(!gets("elemental_sulfur") || is_for_sodium || ph.is_some_and(|ph| ph < 7.3));
        assert!(!gets("phosphate_rock") || ph.is_some_and(|ph| ph < 6.2));
        assert!(!gets("lime") || ph.is_some_and(|ph| ph < 6.5));
        assert!(!(gets("lime") && gets("dolomitic_lime")));
        assert!(!(gets("compost") && gets("molasses")));
    }
}

#[test]
fn no_rate_leaves_a_cap_and_all_sums_add_up() {
    let rulebook = Rulebook::built_in();
    (0..fields() as u64).into_par_iter().for_each(|seed| {
        let made = random_field(seed, ZONES_IN_A_FIELD);
        let diagnosis = made.diagnosis(&rulebook);
        let prescription = made.prescribed_by(&rulebook);
        check_caps(&made, &prescription, &diagnosis, &rulebook);
        check_cost(&prescription);
        check_totals(&made, &prescription);
        check_every_rate_has_a_fix(&prescription);
        check_chemistry(&prescription, &diagnosis);
        for zone in &diagnosis.zones {
            assert!(
                zone.findings
                    .iter()
                    .all(|f| (0.0..=1.0).contains(&f.severity)
                        && (0.0..=1.0).contains(&f.confidence)),
                "{zone:#?}"
            );
            assert!(
                zone.findings
                    .iter()
                    .all(|f| f.outcome == Outcome::Limiting || f.severity == 0.0)
            );
        }
    });
}

#[test]
fn a_budget_is_never_passed() {
    for seed in 0..(fields() / 10).max(3) as u64 {
        for dollars in [0.0, 15.0, 60.0, 200.0] {
            let limit = MoneyPerArea::from_dollars_per_hectare(dollars);
            let made = random_field(seed, 6).settings(|settings| settings.budget = Some(limit));
            let prescription = made.prescribed();
            let outcome = prescription.budget.as_ref().expect("an outcome");
            assert!(outcome.spent.stored() <= dollars + 1e-6, "{outcome:?}");
            check_every_rate_has_a_fix(&prescription);
        }
    }
}

/// A field whose zones differ in one layer only, from good to bad.
fn from_good_to_bad(
    analyte: Analyte,
    method: &str,
    unit: &str,
    good: f64,
    bad: f64,
    crop: &str,
) -> Made {
    let zones = 60;
    let all = |value: f64| vec![value; zones];
    let slope: Vec<f64> = (0..zones)
        .map(|at| good + (bad - good) * at as f64 / (zones - 1) as f64)
        .collect();
    let mut made = Made::new(&vec![1.0; zones]).sound().layer(
        key(WaterCarbon, "water-extract", "0-6 in"),
        "ppm",
        &all(180.0),
    );
    made.settings.crop = crop.into();
    if made
        .surfaces
        .surfaces
        .iter()
        .any(|surface| surface.key.analyte == analyte)
    {
        made.with(analyte, &slope)
    } else {
        made.layer(key(analyte, method, "0-6 in"), unit, &slope)
    }
}

#[test]
fn more_deficit_never_means_less_amendment() {
    let cases: &[(Analyte, &str, &str, f64, f64, &str)] = &[
        (CalciumSaturation, "calculated", "%", 75.0, 5.0, "gypsum"),
        (Calcium, "mehlich-3", "ppm", 1_000.0, 10.0, "gypsum"),
        (SodiumSaturation, "calculated", "%", 1.0, 95.0, "gypsum"),
        (SodiumAdsorptionRatio, "paste", "ratio", 1.0, 90.0, "gypsum"),
        (MagnesiumSaturation, "calculated", "%", 10.0, 80.0, "gypsum"),
        (
            CarbonNitrogenRatio,
            "water-extract",
            "ratio",
            20.0,
            2.0,
            "compost",
        ),
        (Phosphorus, "mehlich-3", "ppm", 60.0, 0.5, "phosphate_rock"),
        (Sulfur, "mehlich-3", "ppm", 15.0, 0.1, "elemental_sulfur"),
        (BufferPh, "smp", "pH", 7.2, 4.6, "lime"),
        (Ph, "water", "pH", 7.0, 4.4, "lime"),
    ];
    for crop in CROPS {
        for (analyte, method, unit, good, bad, product) in cases {
            let mut made = from_good_to_bad(analyte.clone(), method, unit, *good, *bad, crop);
            if *analyte == Phosphorus {
                made = made.with(Ph, &[6.15; 60]);
            }
            if *analyte == BufferPh {
                made = made.with(Ph, &[5.5; 60]);
            }
            let prescription = made.prescribed();
            let mut by_place: Vec<(usize, f64, f64)> = prescription
                .zones
                .iter()
                .map(|zone| {
                    find(zone, product).map_or((zone.zone, 0.0, 0.0), |rate| {
                        (zone.zone, stored(rate.needed), stored(rate.amount))
                    })
                })
                .collect();
            by_place.sort_by_key(|place| place.0);
            assert!(
                by_place.iter().any(|place| place.2 > 0.0),
                "{product} is never given for {analyte} in {crop}"
            );
            for pair in by_place.windows(2) {
                assert!(
                    pair[1].1 >= pair[0].1 * (1.0 - 1e-9),
                    "{product} for {analyte}: {pair:?}"
                );
                assert!(
                    pair[1].2 >= pair[0].2 * (1.0 - 1e-9),
                    "{product} for {analyte}: {pair:?}"
                );
            }
        }
    }
}

#[test]
fn metric_and_united_states_runs_agree_after_rounding() {
    let rulebook = Rulebook::built_in();
    for seed in 0..(fields() / 4).max(3) as u64 {
        let made = random_field(seed, ZONES_IN_A_FIELD);
        let run = |units| {
            made.clone()
                .settings(|settings| settings.units = units)
                .prescribed_by(&rulebook)
        };
        let (us, metric) = (run(UnitSystem::UnitedStates), run(UnitSystem::Metric));
        for (a, b) in us.zones.iter().zip(&metric.zones) {
            assert_eq!((a.number, a.zone), (b.number, b.zone));
            for product in us.products.iter().map(|product| product.name.as_str()) {
                let (x, y) = (find(a, product), find(b, product));
                let (Some(x), Some(y)) = (x, y) else {
                    panic!("{product} in one run only")
                };
                let step = us
                    .products
                    .iter()
                    .chain(&metric.products)
                    .filter(|p| p.name == product)
                    .map(|p| stored(p.step))
                    .fold(0.0, f64::max);
                // Gypsum is asked for what lime leaves, sulfur for what gypsum leaves: each carries on the rounding of the one before.
                let carried = if ["gypsum", "elemental_sulfur"].contains(&product) {
                    3.0 * step
                } else {
                    0.0
                };
                let near =
                    |a: f64, b: f64, more: f64| (a - b).abs() <= carried + more + 1e-6 * a.max(1.0);
                assert!(
                    near(stored(x.needed), stored(y.needed), 0.0),
                    "seed {seed}: {x:?} {y:?}"
                );
                // A need that the rounding before it carries past the smallest spreadable rate is met in one of the two only.
                let smallest = rulebook.product(product).map_or(0.0, |p| p.smallest);
                // A step that is coarse beside that rate is not rounded up to.
                let is_edge = (stored(x.needed) - smallest).abs() <= carried.max(step);
                assert!(
                    is_edge || near(stored(x.amount), stored(y.amount), step),
                    "seed {seed}: {x:?} {y:?}"
                );
            }
        }
    }
}

#[test]
fn a_run_gives_the_same_twice() {
    let made = random_field(5, 12)
        .settings(|settings| settings.budget = Some(MoneyPerArea::from_dollars_per_hectare(100.0)));
    assert_eq!(
        format!("{:?}", made.prescribed()),
        format!("{:?}", made.prescribed())
    );
}

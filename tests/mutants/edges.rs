//! Rates that come to nothing, needs of the same product, and the budget, by hand; see docs/mutation-testing.md.

use lowstave::analyte::Analyte::*;
use lowstave::plan::YieldGoal;
use lowstave::rates::{Prescription, RateCap, ZoneRates};
use lowstave::units::{Speed, UnitSystem, VolumeFlow};

use crate::ground::{
    close, first, fix_of, mass, needed, rate_of, rules, volume, with_shed, with_words, without,
};
use crate::made_zones::{Made, find, key, quantity, rate};

fn by(made: &Made, text: &str) -> ZoneRates {
    made.prescribed_by(&rules(text)).zones.remove(0)
}

// -------------------------------------------------------------------------------------------- two needs of one product

/// Gypsum for calcium: 257.74 lb for a percent of it below 65. For sodium: 309.9 lb for a percent above 6 (0.15 meq/100 g of CEC 15, 86.09 g for an
/// equivalent of gypsum, 1.8 million lb, exchange factor 1.2, 90 %).
fn both(calcium: f64, sodium: f64) -> Made {
    Made::one()
        .sound()
        .with(CalciumSaturation, &[65.0 - calcium / 257.74])
        .with(SodiumSaturation, &[6.0 + sodium / 309.92])
}

#[test]
fn the_larger_of_two_needs_of_a_product_counts() {
    for (calcium, sodium) in [(1_000.0, 1_030.0), (1_030.0, 1_000.0), (800.0, 2_000.0)] {
        let zone = first(&both(calcium, sodium));
        close(needed(&zone, "gypsum"), f64::max(calcium, sodium));
    }
}

/// 1,000 ppm of calcium by Mehlich-3 are short whatever the CEC; how much gypsum the sodium takes cannot be told without it. The rate goes out, and
/// why the other need is not known is one of its steps.
#[test]
fn a_need_that_is_not_known_stands_beside_one_that_is() {
    let made = without(both(0.0, 2_000.0), CationExchangeCapacity);
    let made = without(made, CalciumSaturation).layer(
        key(Calcium, "mehlich-3", "0-6 in"),
        "ppm",
        &[300.0],
    );
    let zone = first(&made);
    let gypsum = rate_of(&zone, "gypsum");
    assert!(rate(&zone, "gypsum") > 0.0, "{gypsum:#?}");
    assert_eq!(gypsum.note, None);
    assert!(gypsum.steps.join("; ").contains("no CEC"), "{gypsum:#?}");
}

/// On acid ground gypsum is refused for calcium, and without a CEC it is not known for sodium: the test of cations is asked for, and the note is of
/// the first.
#[test]
fn of_two_needs_without_a_rate_the_one_that_lacks_a_test_asks_for_it() {
    let made = without(
        both(1_000.0, 2_000.0).with(Ph, &[5.2]),
        CationExchangeCapacity,
    );
    let prescription = made.prescribed();
    let note = rate_of(&prescription.zones[0], "gypsum").note.clone();
    assert!(note.is_some_and(|note| note.contains("hydrogen")));
    let mut tests = prescription.test_first.iter();
    let test = tests.find(|test| test.decides == "how much gypsum");
    let test = test.unwrap_or_else(|| panic!("{:#?}", prescription.test_first));
    assert!(test.test.contains("cations"), "{}", test.test);
}

/// Lime of the top inches brings 900 lb of calcium where 270 are short: the need is nothing and not less, beside a zone that needs gypsum.
#[test]
fn the_need_of_gypsum_is_never_below_nothing() {
    let made = Made::new(&[10.0, 10.0])
        .sound()
        .with(CalciumSaturation, &[60.0, 50.0])
        .layer(key(Ph, "water", "0-2 in"), "pH", &[5.0, 6.6]);
    let zones = made.prescribed().zones;
    let of = |zone: usize| {
        needed(
            zones.iter().find(|z| z.zone == zone).expect("a zone"),
            "gypsum",
        )
    };
    assert_eq!(of(0), 0.0);
    close(of(1), 15.0 * 257.74);
}

// -------------------------------------------------------------------------------------------------- what comes to nothing

/// 20 lb of phosphate of the mix are in 154 lb of bone meal, less than the controller's step of 310, so none goes out, and phosphate rock does: 620
/// lb of 800, which is more than 500 on the surface but not worked in.
#[test]
fn a_product_of_the_mix_that_comes_to_nothing_keeps_no_rock_away() {
    let made = Made::one()
        .sound()
        .with(Phosphorus, &[10.0])
        .with(Ph, &[6.1]);
    let made = with_shed(made, &["bone_meal", "phosphate_rock"], Vec::new())
        .settings(|settings| settings.machine.dry_step = Some(quantity("310 lb/ac")));
    let text = "[rate.national_phosphate]\nform = \"steps\"\nsteps = [[0, 20]]\n[crop.corn]\ntakes_starter = false\n";
    let zone = by(&made, text);
    assert_eq!(rate(&zone, "bone_meal"), 0.0);
    assert!(needed(&zone, "bone_meal") > 0.0);
    close(rate(&zone, "phosphate_rock"), 620.0);
}

/// Molasses at the worst C:N of 8 is asked for at exactly its most of 40 gal: nothing is left for another season.
#[test]
fn exactly_the_most_of_a_season_leaves_nothing_for_another() {
    let made = Made::one()
        .layer(
            key(CarbonNitrogenRatio, "water-extract", "0-6 in"),
            "ratio",
            &[8.0],
        )
        .layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[140.0]);
    let zone = by(&made, "[number.most_severity_if_disputed]\nvalue = 1\n");
    let molasses = rate_of(&zone, "molasses");
    close(rate(&zone, "molasses"), 40.0);
    assert_eq!(molasses.seasons_after, 0);
    assert!(
        !molasses.steps.join("; ").contains("at most"),
        "{molasses:#?}"
    );
}

/// A zone whose mix has none of a product hears nothing of why the mix is the cheapest.
#[test]
fn a_zone_without_a_need_has_no_steps_of_the_mix() {
    let made = Made::new(&[10.0, 10.0])
        .sound()
        .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", &[60.0, 150.0])
        .settings(|settings| {
            settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(180.0))];
        });
    let made = with_shed(made, &["potassium_sulfate", "langbeinite"], Vec::new());
    let zones = made.prescribed().zones;
    let steps = |zone: usize| {
        let zone = zones.iter().find(|z| z.zone == zone).expect("a zone");
        rate_of(zone, "potassium_sulfate").steps.join("; ")
    };
    assert!(steps(0).contains("the cheapest mix"), "{}", steps(0));
    assert_eq!(steps(1), "");
}

// ------------------------------------------------------------------------------------------------------------ the starter

/// 72 % sand and 29 % clay, a percent too much between them by rounding, are a sandy clay loam, which is not sandy ground: 8 lb/ac of nitrogen plus
/// potash beside the seed of corn in 30 in rows (Kansas State University, Agronomy eUpdate 3091, table 1).
#[test]
fn sand_and_clay_that_round_to_more_than_all_still_tell_the_class() {
    let made = Made::one()
        .sound()
        .with(Phosphorus, &[5.0])
        .layer(key(Sand, "hydrometer", "0-6 in"), "%", &[71.5])
        .layer(key(Clay, "hydrometer", "0-6 in"), "%", &[28.9])
        .settings(|settings| settings.machine.row_spacing = quantity("30 in"));
    let recipe = made.prescribed().recipe.expect("a recipe");
    close(
        recipe.seed_salt_limit.number_in(UnitSystem::UnitedStates),
        8.0,
    );
}

/// Soybean bears no nitrogen and no potash beside the seed: a recipe that brings neither goes out, another does not.
#[test]
fn soybean_gets_a_starter_without_salt() {
    let made = Made::one()
        .sound()
        .with(Phosphorus, &[2.0])
        .settings(|settings| settings.crop = "soybean".into());
    let mut text =
        String::from("[recipe.starter.ingredient.potassium_sulfate]\ngrams_per_litre = 0\n");
    for name in ["corn_steep_liquor", "seaweed_extract"] {
        text += &format!("[product.{name}]\ncarries_salt = false\nnitrogen = 0\npotash = 0\n");
    }
    let zone = by(&made, &text);
    assert!(rate(&zone, "starter") > 0.0);
    // The cap that is left is the most of the recipe.
    let cap = rate_of(&zone, "starter").cap.clone().expect("a cap");
    close(cap.most.number_in(UnitSystem::UnitedStates), 6.0);
    assert_eq!(rate(&first(&made), "starter"), 0.0);
}

fn short_of_phosphorus(flow: &str) -> Made {
    let tight: &[f64] = &[250.0];
    Made::one()
        .sound()
        .with(Phosphorus, &[15.0])
        .pushes(&[&[tight; 4]], Some("moist"))
        .settings(|settings| {
            settings.machine.liquid_step = Some(quantity("0.001 gal/ac"));
            settings.machine.row_spacing = quantity("30 in");
            settings.machine.speed = quantity::<Speed>("5 mph");
            settings.machine.flow_per_row = (
                quantity::<VolumeFlow>("0.01 gal/min"),
                quantity::<VolumeFlow>(flow),
            );
        })
}

/// The most on tight ground is 3 % more than the starter that is asked for, and does not lift it.
#[test]
fn a_cap_a_little_above_the_need_does_not_lift_it() {
    let tight = |most: f64| {
        let text = format!("[recipe.starter]\nmost_on_tight_ground = \"{most} gal/ac\"\n");
        rate(&by(&short_of_phosphorus("2 gal/min"), &text), "starter")
    };
    let free = tight(6.0);
    assert!(free > 3.5 && free < 5.0, "{free}");
    close(tight(free * 1.03), free);
    close(tight(free * 0.97), free * 0.97);
}

/// gal/ac = 5940 x gal/min / (mph x in) (Oklahoma State University, Sprayer calibration): at 5 mph in 30 in rows 1.95 gal/ac are 0.049242 gal/min and
/// 2.05 are 0.051768; the recipe's least is 2 gal/ac. A slower way fits where the pump meters too little at most, 4.875 mph; where only the
/// ground's cap of 1.5 gal/ac is below the recipe's least, no speed does.
#[test]
fn a_slower_way_is_told_where_the_pump_meters_too_little_at_most() {
    let note = |flow: &str, text: &str| {
        let zone = by(&short_of_phosphorus(flow), text);
        assert_eq!(rate(&zone, "starter"), 0.0);
        rate_of(&zone, "starter").note.clone().unwrap_or_default()
    };
    let slow = note("0.049242 gal/min", "");
    assert!(slow.contains("; at 4.9 mph it fits"), "{slow}");
    let tight = "[recipe.starter]\nmost_on_tight_ground = \"1.5 gal/ac\"\n";
    let told = note("0.051768 gal/min", tight);
    assert!(!told.contains("it fits"), "{told}");
}

// ----------------------------------------------------------------------------------------------------------------- strips

fn gypsum_at(text: &str) -> Prescription {
    with_words(Made::one().sound(), &[(1, "gypsum", mass(text), false)]).prescribed()
}

/// Where a zone gets none and no strip may be tried, a strip of none is no fault, and one of some is.
#[test]
fn a_strip_without_any_is_allowed_everywhere() {
    let prescription = gypsum_at("0 lb/ac");
    let product = prescription
        .products
        .iter()
        .find(|p| p.name == "gypsum")
        .expect("gypsum");
    let gypsum = rate_of(&prescription.zones[0], "gypsum");
    let on_a_strip = |text: &str| gypsum.on_a_strip(mass(text), product, UnitSystem::UnitedStates);
    assert!(on_a_strip("0 lb/ac").is_ok_and(|strip| strip.amount.is_zero()));
    assert!(on_a_strip("1000 lb/ac").is_err());
}

/// Of what may be tried and the cap the lower holds, 2 % and 3 % apart.
#[test]
fn of_what_may_be_tried_and_the_cap_the_lower_holds() {
    let prescription = with_words(Made::one().sound(), &[]).prescribed();
    let product = prescription
        .products
        .iter()
        .find(|p| p.name == "starter")
        .expect("starter");
    for (safe, most, wanted) in [(3.0, 2.95, 2.95), (3.0, 3.1, 3.0)] {
        let mut starter = rate_of(&prescription.zones[0], "starter").clone();
        assert!(starter.amount.is_zero());
        starter.strip = Some(volume(&format!("{safe} gal/ac")));
        starter.cap = Some(RateCap {
            most: volume(&format!("{most} gal/ac")),
            why: "a test".into(),
        });
        let strip = starter.on_a_strip(volume("5 gal/ac"), product, UnitSystem::UnitedStates);
        close(
            strip
                .expect("a rate")
                .amount
                .number_in(UnitSystem::UnitedStates),
            wanted,
        );
    }
}

// ------------------------------------------------------------------------------------------------------------- the budget

/// Loosening for 24 USD/ac is 59.30529 USD/ha, 593.0529 USD on 10 ha, a fraction of a cent over a limit of 593.0525. Cents are
/// counted: 593.06 buys it.
#[test]
fn the_limit_is_not_passed_by_part_of_a_cent() {
    let push: &[f64] = &[100.0, 150.0, 150.0, 400.0, 400.0, 100.0];
    for (limit, is_left_out) in [("59.30525 USD/ha", true), ("59.3061 USD/ha", false)] {
        let made = Made::one()
            .sound()
            .pushes(&[&[push; 4]], Some("field capacity"))
            .settings(|settings| settings.budget = Some(quantity(limit)));
        let zone = first(&made);
        let loosen = fix_of(&zone, "loosen").expect("loosening");
        assert_eq!(loosen.left_out, is_left_out, "{limit}");
    }
}

/// A fix that costs nothing and waits for one that is left out is not among what the budget leaves out. With 40 USD/ac the cover crop for 32 waits
/// for the loosening for 24, be its relief ever so small.
#[test]
fn what_must_come_first_is_bought_first() {
    let push: &[f64] = &[100.0, 150.0, 150.0, 400.0, 400.0, 100.0];
    let of = |limit: &str| {
        let made = Made::one()
            .sound()
            .pushes(&[&[push; 4]], Some("field capacity"))
            .settings(|settings| settings.budget = Some(quantity(limit)));
        let zone = by(&made, "[fix.loosen]\nrelief = 0.2\n");
        ["loosen", "keep_wheels_off", "deep_rooted_cover"]
            .map(|name| fix_of(&zone, name).expect(name).left_out)
    };
    assert_eq!(of("1 USD/ac"), [true, false, true]);
    assert_eq!(of("40 USD/ac"), [false, false, true]);
}

/// Potassium, (100 - ppm) / 60, is mended for 30 USD/ac in each zone, by rules that bill it. The money of the larger zone buys what relieves most severity times area.
#[test]
fn the_budget_weighs_severity_by_area() {
    let bought = |hectares: &[f64], ppm: &[f64]| {
        let field: f64 = hectares.iter().sum();
        let largest = hectares.iter().copied().fold(0.0, f64::max);
        let limit = format!("{} USD/ac", 30.0 * largest / field * 1.001);
        let made = Made::new(hectares)
            .sound()
            .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", ppm)
            .settings(|settings| settings.budget = Some(quantity(&limit)));
        let billed = rules("[fix.potassium_source]\nhas_no_rate = false\n");
        let made = with_shed(made, &["gypsum"], Vec::new());
        let mut zones = made.prescribed_by(&billed).zones;
        zones.sort_by_key(|zone| zone.zone);
        let is_bought = |zone: &ZoneRates| !fix_of(zone, "potassium_source").expect("it").left_out;
        zones.iter().map(is_bought).collect::<Vec<bool>>()
    };
    // 0.9 x 2 ha is more than 0.1 x 10 ha; 0.5 x 2 is less than 0.3 x 10, and so are 1.0 x 1 twice.
    assert_eq!(bought(&[2.0, 10.0], &[46.0, 94.0]), [true, false]);
    assert_eq!(bought(&[2.0, 10.0], &[70.0, 82.0]), [false, true]);
    assert_eq!(
        bought(&[1.0, 1.0, 10.0], &[40.0, 40.0, 82.0]),
        [false, false, true]
    );
}

/// A product that feeds what it does not hold builds no test up: litter without potash is bought for its phosphate, and pays in a year.
#[test]
fn a_product_builds_up_only_what_it_holds() {
    let made = Made::one()
        .sound()
        .with(Phosphorus, &[10.0])
        .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", &[60.0])
        .settings(|settings| {
            settings.machine.dry_step = Some(quantity("0.001 lb/ac"));
            settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(180.0))];
        });
    let text = "[product.poultry_litter]\npotash = 0\n[crop.corn]\ntakes_starter = false\n[rate.national_phosphate]\nform = \"steps\"\n\
        steps = [[0, 40]]\n[rate.national_potash]\nform = \"build\"\ncritical = 80\nmaintain_to = 80\nper_ppm = 1\nyears = 4\n";
    let zone = by(&with_shed(made, &["poultry_litter"], Vec::new()), text);
    assert!(find(&zone, "poultry_litter").is_some());
    let fix = fix_of(&zone, "poultry_litter_spread").expect("litter");
    assert_eq!(fix.years, 1.0);
    close(
        fix.cost_a_year.dollars_per_hectare() / fix.cost.dollars_per_hectare(),
        1.06,
    );
}

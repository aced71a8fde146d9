//! Rates that mutants of src/rates could change unseen; see
//! docs/mutation-testing.md. Numbers by hand from the rulebook's own figures; a layer of 6 in weighs 1.8 million lb/ac.

use lowstave::analyte::Analyte::*;
use lowstave::plan::{Override, Shed, Stock, YieldGoal};
use lowstave::provenance::Place;
use lowstave::rates::{Prescription, Rate, RatesError, ZoneRates};
use lowstave::rulebook::Rulebook;
use lowstave::units::{MassPerArea, ProductRate, UnitSystem, Volume, VolumePerArea};

use crate::made_zones::{Made, find, key, quantity, rate};

/// To a fifth of a percent.
#[track_caller]
fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() <= 2e-3 * wanted.abs().max(1e-9),
        "{found} is not {wanted}"
    );
}

fn rules(text: &str) -> Rulebook {
    Rulebook::from_text(text, "own.toml").expect("rules")
}

fn first(made: &Made) -> ZoneRates {
    made.prescribed().zones.remove(0)
}

fn first_by(made: &Made, text: &str) -> ZoneRates {
    made.prescribed_by(&rules(text)).zones.remove(0)
}

fn rate_of<'a>(zone: &'a ZoneRates, product: &str) -> &'a Rate {
    find(zone, product).unwrap_or_else(|| panic!("no {product}: {:#?}", zone.rates))
}

fn needed(zone: &ZoneRates, product: &str) -> f64 {
    rate_of(zone, product)
        .needed
        .number_in(UnitSystem::UnitedStates)
}

fn note<'a>(zone: &'a ZoneRates, product: &str) -> &'a str {
    rate_of(zone, product).note.as_deref().unwrap_or_default()
}

fn pounds(text: &str) -> ProductRate {
    ProductRate::Mass(quantity::<MassPerArea>(text))
}

fn gallons(text: &str) -> ProductRate {
    ProductRate::Volume(quantity::<VolumePerArea>(text))
}

fn with_words(made: Made, words: &[(&str, ProductRate, bool)]) -> Made {
    let words = words.iter().map(|(product, rate, force)| Override {
        zone: 1,
        at: None,
        inside: Vec::new(),
        product: (*product).into(),
        rate: *rate,
        why: "seen on foot".into(),
        force: *force,
        place: Place::file("plan.toml").at_key("override[1]"),
    });
    let words = words.collect();
    made.settings(|settings| {
        settings.overrides = words;
        settings.machine.dry_step = Some(quantity("0.001 lb/ac"));
        settings.machine.liquid_step = Some(quantity("0.001 gal/ac"));
    })
}

fn with_shed(made: Made, products: &[&str]) -> Made {
    made.settings(|settings| {
        settings.supply.shed = Some(Shed {
            products: products.iter().map(|name| (*name).to_owned()).collect(),
            ..Shed::default()
        });
    })
}

fn without_ph(mut made: Made) -> Made {
    made.surfaces.surfaces.retain(|s| s.key.analyte != Ph);
    made.field.layers.retain(|layer| layer.key.analyte != Ph);
    made
}

fn has_remark(prescription: &Prescription, code: &str) -> bool {
    prescription.remarks.iter().any(|r| r.code == code)
}

// --------------------------------------------------------------------------------------------------------------- lime

/// pH 5.8 in half of the cells, 6.0 and 6.5 in a quarter each: 6.025 on average, adequate from 6.0 on. The acid half needs 60.4 - 0.87 x 65 = 3.85
/// ton/ac in 8 in of 90 % (Tri-State 1995), the other none, whatever its buffer pH.
#[test]
fn the_acid_half_of_a_zone_that_is_adequate_on_average_is_limed() {
    let made = Made::one()
        .layer(
            key(CarbonNitrogenRatio, "water-extract", "0-6 in"),
            "ratio",
            &[18.0],
        )
        .layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[40.0])
        .cell_layer(key(Ph, "water", "0-6 in"), "pH", |cell| {
            [5.8, 6.0, 5.8, 6.5][cell % 4]
        })
        .cell_layer(key(BufferPh, "smp", "0-6 in"), "pH", |_| 6.5);
    let zone = first(&made);
    let half = 0.5 * 3.85 * 6.0 / 8.0 * 90.0 / 80.0 * 2_000.0;
    close(needed(&zone, "lime"), half);
    let told = rate_of(&zone, "lime").steps.join("; ");
    assert!(told.contains("8 of these cells are not below"), "{told}");
    assert!(!told.contains("cannot be calculated"), "{told}");
}

/// No cell is below 6.0: nothing is said of lime, and no buffer pH is asked for.
#[test]
fn a_zone_without_an_acid_cell_hears_nothing_of_lime() {
    let made = Made::one().cell_layer(key(Ph, "water", "0-6 in"), "pH", |cell| {
        if cell % 2 == 0 { 6.0 } else { 6.2 }
    });
    assert!(find(&first(&made), "lime").is_none());
}

fn by_chloride(ph: [f64; 4]) -> ZoneRates {
    let made = Made::one()
        .cell_layer(key(Ph, "cacl2", "0-6 in"), "pH", |cell| ph[cell % 4])
        .cell_layer(key(BufferPh, "smp", "0-6 in"), "pH", |_| 6.5);
    first(&made)
}

/// A reading in calcium chloride is up to 1.2 lower than in water (from memory, the rulebook's own bound): 4.0 stands for 5.2 at most and
/// 5.4 for 6.6, over the target of 6.5. On average 4.7 stands for 5.9, which is acid; half of the cells need 3.85 ton/ac as above.
#[test]
fn each_cell_is_limed_by_the_most_that_its_ph_in_water_can_be() {
    let zone = by_chloride([4.0, 5.4, 4.0, 5.4]);
    let half = 0.5 * 3.85 * 6.0 / 8.0 * 90.0 / 80.0 * 2_000.0;
    close(needed(&zone, "lime"), half);
}

/// The threshold is for pH in water: where the mean of 6.05 in calcium chloride is sound, a cell that reads 5.0 by it does not count.
#[test]
fn a_reading_in_chloride_is_not_held_against_the_threshold_for_water() {
    let zone = by_chloride([5.0, 6.4, 6.4, 6.4]);
    assert!(find(&zone, "lime").is_none(), "{:#?}", zone.rates);
}

/// 20 % organic matter and more is an organic soil.
#[test]
fn the_line_between_mineral_and_organic_soil_is_at_a_fifth() {
    let of = |matter: f64| {
        let made = Made::one()
            .sound()
            .with(Ph, &[5.0])
            .with(BufferPh, &[6.2])
            .layer(key(OrganicMatter, "loi", "0-6 in"), "%", &[matter]);
        first(&made)
    };
    assert!(rate(&of(19.6), "lime") > 0.0);
    for matter in [20.0, 20.4] {
        let organic = of(matter);
        assert_eq!(rate(&organic, "lime"), 0.0);
        assert!(note(&organic, "lime").contains("organic soil"));
    }
}

// --------------------------------------------------------------------------- lime of the top inches, and gypsum below

fn acid_top(saturation: f64) -> Made {
    Made::one()
        .sound()
        .with(CalciumSaturation, &[saturation])
        .layer(key(Ph, "water", "0-2 in"), "pH", &[5.0])
}

/// 2,000 lb of pure lime are 2,500 lb of 80 %, which bring 36 %: 900 lb of calcium. 25 % of CEC 15 are 750 ppm or 1,350 lb; gypsum of 90 %
/// holds 23.28 % of pure calcium.
#[test]
fn lime_of_the_top_inches_is_taken_off_the_gypsum() {
    let zone = first(&acid_top(40.0));
    close(rate(&zone, "lime"), 2_500.0);
    close(needed(&zone, "gypsum"), (1_350.0 - 900.0) / 0.2328 / 0.9);
    // Lime that is not in the shed brings nothing.
    let zone = first(&with_shed(acid_top(40.0), &["gypsum"]));
    assert_eq!(rate(&zone, "lime"), 0.0);
    close(needed(&zone, "gypsum"), 1_350.0 / 0.2328 / 0.9);
}

/// 270 lb are short and the lime brings 900: no gypsum, no word of it, and no column.
#[test]
fn a_product_that_nothing_asks_for_has_no_column() {
    let prescription = acid_top(60.0).prescribed();
    let names: Vec<&str> = prescription
        .products
        .iter()
        .map(|p| p.name.as_str())
        .collect();
    assert_eq!(names, ["starter", "lime"]);
}

// -------------------------------------------------------------------------------------------------------------- sulfur

/// 6 ppm short are 12 lb. 3 % of CEC 15 are 773 lb of gypsum, 770 by the step; said to hold 1 % of sulfur it brings 7.7 lb.
#[test]
fn sulfur_of_gypsum_is_taken_off() {
    let made = Made::one().sound().with(CalciumSaturation, &[62.0]).layer(
        key(Sulfur, "mehlich-3", "0-6 in"),
        "ppm",
        &[2.0],
    );
    let zone = first_by(&made, "[product.gypsum]\nsulfur = 1\n");
    close(rate(&zone, "gypsum"), 770.0);
    close(needed(&zone, "elemental_sulfur"), (12.0 - 7.7) / 0.9);
}

/// Gypsum that brings more sulfur than is short leaves a need of nothing, not of less.
#[test]
fn the_need_of_sulfur_is_never_below_nothing() {
    let made = Made::new(&[10.0, 10.0])
        .sound()
        .with(CalciumSaturation, &[60.0, 70.0])
        .layer(key(Sulfur, "mehlich-3", "0-6 in"), "ppm", &[2.0, 2.0]);
    let prescription = made.prescribed();
    let mut needs: Vec<f64> = (prescription.zones.iter())
        .map(|zone| needed(zone, "elemental_sulfur"))
        .collect();
    needs.sort_by(f64::total_cmp);
    assert_eq!(needs[0], 0.0);
    close(needs[1], 12.0 / 0.9);
}

fn sodic(ph: f64, sodium: f64) -> Made {
    let made = Made::one()
        .sound()
        .with(Ph, &[ph])
        .with(SodiumSaturation, &[sodium]);
    with_shed(made, &["elemental_sulfur"])
}

/// From pH 7.3 on: 14 % of CEC 15 are 2.1 meq/100 g; 16.03 g of sulfur for an equivalent, 1.8 million lb, exchange factor 1.2, 90 %.
/// More than 50 % sodium is calculated as 50.
#[test]
fn sulfur_against_sodium_is_for_free_lime() {
    let of = |share: f64| 15.0 * share / 100.0 / 100.0 * 0.01603 * 1.8e6 * 1.2 / 0.9;
    close(
        needed(&first(&sodic(7.5, 20.0)), "elemental_sulfur"),
        of(14.0),
    );
    close(
        needed(&first(&sodic(7.5, 60.0)), "elemental_sulfur"),
        of(44.0),
    );
}

/// "From which": pH 7.3 itself, of the whole field, is free lime.
#[test]
fn free_lime_begins_at_its_limit() {
    let made = without_ph(sodic(7.5, 20.0)).flat_layer(key(Ph, "water", "0-6 in"), "pH", 7.3, 0.01);
    let zone = first(&made);
    let wanted = 15.0 * 0.14 / 100.0 * 0.01603 * 1.8e6 * 1.2 / 0.9;
    close(needed(&zone, "elemental_sulfur"), wanted);
}

/// Below pH 7.3 no free lime is there: sulfur is what feeds the crop, 12 lb for 6 ppm, whatever the sodium.
#[test]
fn sulfur_feeds_the_crop_where_no_free_lime_is() {
    for ph in [6.6, 7.1] {
        let made = sodic(ph, 20.0).layer(key(Sulfur, "mehlich-3", "0-6 in"), "ppm", &[2.0]);
        close(needed(&first(&made), "elemental_sulfur"), 12.0 / 0.9);
    }
}

/// pH in calcium chloride does not say that free lime is there, nor does no pH.
#[test]
fn only_ph_in_water_tells_free_lime() {
    let none = without_ph(sodic(7.5, 20.0));
    let chloride = none.clone().layer(key(Ph, "cacl2", "0-6 in"), "pH", &[7.5]);
    for made in [none, chloride] {
        let zone = first(&made);
        let found = find(&zone, "elemental_sulfur");
        assert!(found.is_none_or(|rate| rate.needed.is_zero()), "{found:?}");
    }
}

// --------------------------------------------------------------------------------------------- carbon, and empty products

fn pools() -> Made {
    Made::one()
        .layer(
            key(CarbonNitrogenRatio, "water-extract", "0-6 in"),
            "ratio",
            &[12.0],
        )
        .layer(key(WaterCarbon, "water-extract", "0-6 in"), "ppm", &[180.0])
        .layer(
            key(WaterNitrogen, "water-extract", "0-6 in"),
            "ppm",
            &[15.0],
        )
}

/// 27 lb of nitrogen to 16:1 are 432 lb of carbon, 108 more than there is; molasses holds 27 % of 11.7 lb/gal and no nitrogen.
#[test]
fn molasses_by_the_mass_balance_goes_by_its_density() {
    let made = pools().layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[140.0]);
    close(needed(&first(&made), "molasses"), 108.0 / (0.27 * 11.7));
}

/// A product that an own rulebook says to hold nothing is refused and not given without end.
#[test]
fn a_product_that_holds_nothing_is_not_given() {
    let zone = first_by(&pools(), "[product.compost]\ncarbon = 0\n");
    assert_eq!(rate(&zone, "compost"), 0.0);
    assert!(note(&zone, "compost").contains("holds no carbon"));
    let lime = "[product.lime]\neffective_neutralizing_value = 0\n";
    assert_eq!(rate(&first_by(&acid_top(70.0), lime), "lime"), 0.0);
    let short = Made::one()
        .sound()
        .with(Phosphorus, &[10.0])
        .with(Ph, &[6.1]);
    let rock = "[product.phosphate_rock]\nphosphate = 0\navailable_phosphate = 0\n";
    assert_eq!(rate(&first_by(&short, rock), "phosphate_rock"), 0.0);
    let short = Made::one()
        .sound()
        .layer(key(Sulfur, "mehlich-3", "0-6 in"), "ppm", &[2.0]);
    let sulfur = "[product.elemental_sulfur]\nsulfur = 0\n";
    assert_eq!(rate(&first_by(&short, sulfur), "elemental_sulfur"), 0.0);
}

// ------------------------------------------------------------------------------------------------ gates, caps and steps

/// What a rule closes is held back, though no cap says so.
#[test]
fn a_product_that_a_rule_closes_is_held_back() {
    let made = Made::one()
        .sound()
        .with(CarbonNitrogenRatio, &[12.0])
        .with(CalciumSaturation, &[60.0]);
    assert!(rate(&first(&made), "gypsum") > 0.0);
    let closed = first_by(
        &made,
        "[rule.carbon_water_extract]\ncloses = [\"starter\", \"gypsum\"]\n",
    );
    assert_eq!(rate(&closed, "gypsum"), 0.0);
    assert!(note(&closed, "gypsum").contains("held back by carbon"));
}

/// Gypsum: 257.74 lb for a percent of calcium below 65, 4,000 lb at most in a season.
fn gypsum_of(pounds: f64) -> Made {
    Made::one()
        .sound()
        .with(CalciumSaturation, &[65.0 - pounds / 257.74])
}

#[test]
fn what_a_season_leaves_is_told_by_the_need() {
    for (need, seasons) in [(4_080.0, 1), (8_080.0, 2)] {
        let prescription = gypsum_of(need).prescribed();
        let found = rate_of(&prescription.zones[0], "gypsum");
        close(found.amount.number_in(UnitSystem::UnitedStates), 4_000.0);
        assert_eq!(found.seasons_after, seasons);
        assert_eq!(found.note, None);
        let told = found.steps.join("; ");
        assert!(told.contains("at most 4000 lb/ac in a season"), "{told}");
        assert!(!has_remark(&prescription, "rate-cut"));
    }
}

/// 292 lb are 290 by the step, less than the 300 that spread evenly; 299 lb are not lifted to a step of 310; and a most of 310 lb leaves
/// nothing between it and 300 for a step of 80.
#[test]
fn what_does_not_spread_evenly_does_not_go_out() {
    let prescription = gypsum_of(292.5).prescribed();
    let zone = &prescription.zones[0];
    assert_eq!(rate(zone, "gypsum"), 0.0);
    assert!(note(zone, "gypsum").contains("less than can be spread evenly"));
    assert!(!has_remark(&prescription, "rate-cut"));
    let coarse = |made: Made, step: &str| {
        made.settings(|settings| settings.machine.dry_step = Some(quantity(step)))
    };
    let zone = first(&coarse(gypsum_of(299.0), "310 lb/ac"));
    assert_eq!(rate(&zone, "gypsum"), 0.0);
    let most = "[product.gypsum]\ncap = \"310 lb/ac\"\nsurface_cap = \"310 lb/ac\"\n";
    let zone = first_by(&coarse(gypsum_of(1_000.0), "80 lb/ac"), most);
    assert_eq!(rate(&zone, "gypsum"), 0.0);
    assert!(note(&zone, "gypsum").contains("less than can be spread evenly"));
}

/// The starter alone brings more phosphate than half a pound: rock of 800 lb is needed, gets nothing, and still has its column.
#[test]
fn what_a_shared_cap_takes_whole_keeps_its_column() {
    let made = Made::one()
        .sound()
        .with(Phosphorus, &[10.0])
        .with(Ph, &[6.1]);
    let zone = first_by(&made, "[number.phosphate_most]\nvalue = 0.5\n");
    assert!(rate(&zone, "starter") > 0.0);
    assert_eq!(rate(&zone, "phosphate_rock"), 0.0);
    close(needed(&zone, "phosphate_rock"), 800.0);
}

/// Bone meal of 208 lb brings 56.2 lb of the 54; gypsum, which brings none, is held to its own 4,000 lb all the same. (0 / 0 sorts as the
/// lowest of all caps only where the processor gives it a minus sign, as x86 does.)
#[test]
fn a_part_that_is_used_up_does_not_open_other_products() {
    let words = [
        ("bone_meal", pounds("208 lb/ac"), true),
        ("gypsum", pounds("4200 lb/ac"), false),
    ];
    let made = with_words(Made::one().sound(), &words);
    let zone = first_by(&made, "[number.phosphate_most]\nvalue = 54\n");
    close(rate(&zone, "bone_meal"), 208.0);
    close(rate(&zone, "gypsum"), 4_000.0);
}

#[test]
fn the_warning_of_a_forced_rate_names_the_safe_one() {
    let words = [("gypsum", pounds("4160 lb/ac"), true)];
    let zone = first(&with_words(Made::one().sound(), &words));
    assert!(
        note(&zone, "gypsum").contains("forced to 4160 lb/ac, past the safe 4000 lb/ac"),
        "{}",
        note(&zone, "gypsum")
    );
}

/// Lime that is not in the shed does not go out, and so does not keep phosphate rock away. Beside lime that goes out the rock does not, and
/// takes nothing of the phosphate that bone meal may bring: 198 lb of 27 % are 53.5 lb of 54.
#[test]
fn what_is_refused_takes_nothing_from_the_others() {
    let acid = || Made::one().sound().with(Ph, &[5.4]).with(BufferPh, &[6.5]);
    let words = [
        ("lime", pounds("2000 lb/ac"), false),
        ("phosphate_rock", pounds("200 lb/ac"), false),
    ];
    let zone = first(&with_shed(with_words(acid(), &words), &["phosphate_rock"]));
    assert_eq!(rate(&zone, "lime"), 0.0);
    close(rate(&zone, "phosphate_rock"), 200.0);
    let words = [
        ("lime", pounds("2000 lb/ac"), false),
        ("phosphate_rock", pounds("100 lb/ac"), false),
        ("bone_meal", pounds("198 lb/ac"), false),
    ];
    let made = with_words(acid(), &words);
    let zone = first_by(&made, "[number.phosphate_most]\nvalue = 54\n");
    close(rate(&zone, "lime"), 2_000.0);
    assert_eq!(rate(&zone, "phosphate_rock"), 0.0);
    close(rate(&zone, "bone_meal"), 198.0);
}

/// Phosphate rock is for what the mix leaves: where bone meal goes out for phosphorus it does not, where only potash goes out it does.
#[test]
fn phosphate_rock_is_for_phosphorus_that_the_mix_leaves() {
    let goal = |made: Made| {
        made.settings(|settings| {
            settings.machine.dry_step = Some(quantity("0.001 lb/ac"));
            settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(180.0))];
        })
    };
    let short = Made::one()
        .sound()
        .with(Phosphorus, &[2.0])
        .with(Ph, &[5.2]);
    let zone = first(&with_shed(goal(short), &["bone_meal", "phosphate_rock"]));
    assert!(rate(&zone, "bone_meal") > 0.0);
    assert!(find(&zone, "phosphate_rock").is_none());
    let short = Made::one()
        .sound()
        .with(Phosphorus, &[10.0])
        .with(Ph, &[6.1])
        .with(CationExchangeCapacity, &[12.0])
        .layer(key(Potassium, "mehlich-3", "0-6 in"), "ppm", &[95.0])
        .settings(|settings| settings.supply.region = Some("tri-state".into()));
    let made = with_shed(goal(short), &["potassium_sulfate", "phosphate_rock"]);
    let rulebook = Rulebook::of_region("tri-state").expect("a region");
    let zone = made.prescribed_by(&rulebook).zones.remove(0);
    assert!(rate(&zone, "potassium_sulfate") > 0.0);
    assert!(needed(&zone, "phosphate_rock") > 0.0);
}

// ------------------------------------------------------------------------------------------------- columns and materials

#[test]
fn columns_stand_in_their_order() {
    let words = [
        ("bone_meal", pounds("0 lb/ac"), false),
        ("elemental_sulfur", pounds("0 lb/ac"), false),
        ("phosphate_rock", pounds("0 lb/ac"), false),
        ("molasses", gallons("0 gal/ac"), false),
        ("compost", pounds("0 lb/ac"), false),
        ("gypsum", pounds("0 lb/ac"), false),
        ("dolomitic_lime", pounds("0 lb/ac"), false),
        ("lime", pounds("0 lb/ac"), false),
    ];
    let prescription = with_words(Made::one().sound(), &words).prescribed();
    let names: Vec<&str> = prescription
        .products
        .iter()
        .map(|p| p.name.as_str())
        .collect();
    let wanted = [
        "starter",
        "lime",
        "dolomitic_lime",
        "gypsum",
        "compost",
        "molasses",
        "phosphate_rock",
        "elemental_sulfur",
        "bone_meal",
    ];
    assert_eq!(names, wanted);
}

/// 10 ha are 24.7105 ac. The blend, lb/gal: liquor 0.25 x 10.1, seaweed 0.05 x 9.3, 12 g/L of sulfate (0.100145) and 70 g/L of ash
/// (0.584181), which displace 0.004552 and 0.024341 of a gallon; water of 8.34 in the other 0.671107: 9.27136. Its price: 0.25 x 2.90 +
/// 0.05 x 11.50 + 0.100145 x 0.62 + 0.584181 x 0.80 = 1.82943 USD/gal.
#[test]
fn what_goes_out_of_liquids_is_weighed_and_paid() {
    let words = [
        ("starter", gallons("4 gal/ac"), false),
        ("molasses", gallons("10 gal/ac"), false),
    ];
    let prescription = with_words(Made::one().sound(), &words).prescribed();
    let product = |name: &str| {
        let mut products = prescription.products.iter();
        products
            .find(|p| p.name == name)
            .expect("a product")
            .clone()
    };
    let pound = 0.453_592_37;
    let (starter, molasses) = (product("starter"), product("molasses"));
    close(
        starter.total_mass.kilograms(),
        4.0 * 24.7105 * 9.27136 * pound,
    );
    close(
        molasses.total_mass.kilograms(),
        10.0 * 24.7105 * 11.7 * pound,
    );
    let density = molasses.density.expect("a density").kilograms_per_litre();
    close(density, 11.7 * pound / 3.785_411_784);
    let (name, size) = molasses.pack.expect("a pack");
    assert_eq!(name, "275 gal tote");
    close(size, 275.0 * 3.785_411_784);
    assert_eq!(starter.pack, None);
    let cost = prescription.zones[0]
        .cost
        .number_in(UnitSystem::UnitedStates);
    close(cost, 4.0 * 1.82943 + 10.0 * 2.60);
    // Weighed are the dry ones only.
    let recipe = prescription.recipe.expect("a recipe");
    for part in &recipe.ingredients {
        let is_dry = matches!(part.product.as_str(), "potassium_sulfate" | "bone_ash");
        assert_eq!(part.is_dry, is_dry, "{}", part.product);
    }
    // The ingredients' cautions, each once, and all of it is organic.
    assert!(starter.is_organic_input);
    let salt = |caution: &&String| caution.contains("is a salt");
    assert_eq!(starter.cautions.iter().filter(salt).count(), 1);
}

#[test]
fn a_product_that_is_no_organic_input_is_told_as_none() {
    let words = [("gypsum", pounds("1000 lb/ac"), false)];
    let made = with_words(Made::one().sound(), &words);
    let text = "[product.gypsum]\norganic_input = false\n";
    let prescription = made.prescribed_by(&rules(text));
    let mut products = prescription.products.iter();
    let gypsum = products.find(|p| p.name == "gypsum").expect("gypsum");
    assert!(!gypsum.is_organic_input);
}

/// What fills the rest weighs by its density: half of 10.1 lb/gal and half of 10 lb/gal.
#[test]
fn the_filler_weighs_by_its_density() {
    let text = "[product.water]\ndensity = \"10 lb/gal\"\n[recipe.starter.ingredient.corn_steep_liquor]\nshare = 0.5\n\
        [recipe.starter.ingredient.seaweed_extract]\nshare = 0\n[recipe.starter.ingredient.potassium_sulfate]\ngrams_per_litre = 0\n\
        [recipe.starter.ingredient.bone_ash]\ngrams_per_litre = 0\n";
    let made = Made::one().sound();
    let recipe = made.prescribed_by(&rules(text)).recipe.expect("a recipe");
    let density = recipe.density.kilograms_per_litre() * 3.785_411_784 / 0.453_592_37;
    close(density, 10.05);
}

/// On ground of 6 dS/m a starter is closed that brings nitrogen or potash, or holds an ingredient that counts as salty; another is not.
#[test]
fn the_recipe_decides_whether_salt_closes_the_starter() {
    let made = Made::one().sound().with(Phosphorus, &[2.0]).layer(
        key(ElectricalConductivity, "paste", "0-6 in"),
        "dS/m",
        &[6.0],
    );
    let of = |nutrients: bool, salty: bool| {
        let mut text = String::new();
        for name in ["corn_steep_liquor", "seaweed_extract", "potassium_sulfate"] {
            text += &format!("[product.{name}]\ncarries_salt = {salty}\n");
            if !nutrients && name != "potassium_sulfate" {
                text += "nitrogen = 0\npotash = 0\n";
            }
        }
        if !nutrients {
            text += "[recipe.starter.ingredient.potassium_sulfate]\ngrams_per_litre = 0\n";
        }
        rate(&first_by(&made, &text), "starter")
    };
    assert_eq!(of(true, true), 0.0);
    assert_eq!(of(true, false), 0.0);
    assert_eq!(of(false, true), 0.0);
    assert!(of(false, false) > 0.0);
}

// ------------------------------------------------------------------------------------------------- balance and errors

/// 180 bu of corn take 0.37 lb of phosphate, 0.23 of potash and 0.07 of sulfur each; nothing is brought. A removal that is not known gives
/// no balance.
#[test]
fn what_is_left_after_harvests_is_what_they_take() {
    let made = Made::one().sound().settings(|settings| {
        settings.supply.yield_goals = vec![("corn".into(), YieldGoal::BushelsPerAcre(180.0))];
    });
    let left = |text: &str| {
        let balance = made.prescribed_by(&rules(text)).balance.expect("a balance");
        let nutrients = balance.zones[0].nutrients.iter();
        let left = nutrients.map(|n| {
            let left = n.left.iter();
            let us = |mass: &MassPerArea| mass.number_in(UnitSystem::UnitedStates);
            left.map(|(harvests, mass)| (*harvests, us(mass))).collect()
        });
        left.collect::<Vec<Vec<(u8, f64)>>>()
    };
    let found = left("");
    for (nutrient, pounds) in found.iter().zip([0.37, 0.23, 0.07]) {
        assert_eq!(nutrient.len(), 3);
        for ((harvests, left), wanted) in nutrient.iter().zip([1, 2, 4]) {
            assert_eq!(*harvests, wanted);
            close(*left, -f64::from(wanted) * 180.0 * pounds);
        }
    }
    assert!(left("[crop.corn.removal]\nsulfur = 0\n")[2].is_empty());
}

fn refused(made: &Made, zones: &Made) -> Vec<RatesError> {
    let rulebook = Rulebook::built_in();
    let diagnosis = zones.diagnosis(&rulebook);
    made.prescribed_with(&diagnosis, &rulebook)
        .expect_err("a fault")
}

#[test]
fn a_shed_with_unknown_names_or_gallons_of_a_dry_product_is_refused() {
    let made = with_shed(Made::one().sound(), &["gipsum"]);
    let errors = refused(&made, &made);
    assert!(
        matches!(errors[..], [RatesError::UnknownProduct { .. }]),
        "{errors:?}"
    );
    let made = Made::one().sound().settings(|settings| {
        settings.supply.shed = Some(Shed {
            on_hand: vec![(
                "gypsum".into(),
                Stock::Volume(quantity::<Volume>("100 gal")),
            )],
            ..Shed::default()
        });
    });
    let errors = refused(&made, &made);
    assert!(
        matches!(errors[..], [RatesError::WrongForm { .. }]),
        "{errors:?}"
    );
}

/// A diagnosis of two zones does not fit a field of one.
#[test]
fn a_diagnosis_of_other_zones_is_refused() {
    let errors = refused(&Made::one().sound(), &Made::new(&[10.0, 10.0]).sound());
    assert!(
        matches!(errors[..], [RatesError::OtherZones { .. }]),
        "{errors:?}"
    );
}

/// A most of 310 lb, a step of 80: the step below is 240, less than the 300 that spread evenly, so nothing may go out.
#[test]
fn a_word_that_is_cut_below_the_floor_does_not_go_out() {
    let words = [("gypsum", pounds("500 lb/ac"), false)];
    let made = with_words(Made::one().sound(), &words)
        .settings(|settings| settings.machine.dry_step = Some(quantity("80 lb/ac")));
    let most = "[product.gypsum]\ncap = \"310 lb/ac\"\nsurface_cap = \"310 lb/ac\"\n";
    assert_eq!(rate(&first_by(&made, most), "gypsum"), 0.0);
}

#[test]
fn what_a_shared_cap_takes_whole_is_noted_and_names_no_seasons() {
    let made = Made::one()
        .sound()
        .with(Phosphorus, &[10.0])
        .with(Ph, &[6.1]);
    let zone = first_by(&made, "[number.phosphate_most]\nvalue = 0.5\n");
    let rock = rate_of(&zone, "phosphate_rock");
    assert_eq!(rock.seasons_after, 0);
    assert!(rock.note.is_some());
}

/// Compost brings phosphorus: past 100 ppm of Mehlich-3, whatever measured it, and past 70 ppm of Olsen none goes out.
#[test]
fn no_compost_on_excess_phosphorus_by_any_method() {
    for (method, adequate, excess) in [
        ("mehlich-3", 90.0, 150.0),
        ("mehlich-3-icp", 90.0, 150.0),
        ("mehlich-3-colour", 90.0, 150.0),
        ("bray-1", 90.0, 150.0),
        ("olsen", 60.0, 90.0),
    ] {
        let compost = |ppm: f64| {
            let made = Made::one()
                .layer(
                    key(CarbonNitrogenRatio, "water-extract", "0-6 in"),
                    "ratio",
                    &[6.0],
                )
                .layer(key(Phosphorus, method, "0-6 in"), "ppm", &[ppm]);
            rate(&first(&made), "compost")
        };
        assert!(
            compost(adequate) > 0.0 && compost(excess) == 0.0,
            "{method}"
        );
    }
}

/// A word past every cap is named with all of them, the seed's first.
#[test]
fn a_forced_starter_names_the_seed_first() {
    let words = [("starter", gallons("45 gal/ac"), true)];
    let zone = first(&with_words(Made::one().sound(), &words));
    let said = note(&zone, "starter");
    let at = |words: &str| {
        said.find(words)
            .unwrap_or_else(|| panic!("{words}: {said}"))
    };
    assert!(at("beside the seed") < at("recipe is made for"), "{said}");
}

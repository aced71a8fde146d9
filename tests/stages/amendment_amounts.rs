//! Stage tests: what an amendment is worked out to before caps and steps, by hand from the rulebook's own figures.
//!
//! A layer of 6 in weighs 1.8 million lb/ac (300,000 lb per acre-inch, the trade's mass).

use lowstave::analyte::Analyte::*;
use lowstave::rates::{RatesError, ZoneRates, prescribe};
use lowstave::rulebook::Rulebook;
use lowstave::units::UnitSystem;

use crate::made_zones::{Made, find, key};

/// To a tenth of a percent.
#[track_caller]
fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() <= 1e-3 * wanted.abs(),
        "{found} is not {wanted}"
    );
}

fn first(made: &Made) -> ZoneRates {
    made.prescribed().zones.remove(0)
}

fn needed(zone: &ZoneRates, product: &str) -> f64 {
    let rate = find(zone, product).expect("a rate");
    rate.needed.number_in(UnitSystem::UnitedStates)
}

fn steps(zone: &ZoneRates, product: &str) -> String {
    find(zone, product).expect("a rate").steps.join("; ")
}

/// pH 8.5 is 0.2 over 8.3; 700 lb of sulfur for a unit of pH, 90 % of the product: 155.6 lb.
#[test]
fn sulfur_against_alkalinity_goes_by_the_ph_over_the_threshold() {
    let zone = first(&Made::one().sound().with(Ph, &[8.5]));
    close(needed(&zone, "elemental_sulfur"), 700.0 * 0.2 / 0.9);
    assert!(steps(&zone, "elemental_sulfur").contains("pH 0.2 over"));
}

/// Calcium 304 ppm by Mehlich-3 is 200 short of 504: 360 lb of 1.8 million; / 0.2328 / 0.9 = 1,718 lb of gypsum.
#[test]
fn gypsum_for_calcium_that_is_short_in_ppm() {
    let made = Made::one()
        .sound()
        .layer(key(Calcium, "mehlich-3", "0-6 in"), "ppm", &[304.0]);
    let zone = first(&made);
    close(needed(&zone, "gypsum"), 360.0 / 0.2328 / 0.9);
    assert!(
        steps(&zone, "gypsum").contains("(504 - 304) ppm"),
        "{}",
        steps(&zone, "gypsum")
    );
}

/// Magnesium 25 % of CEC 15 is 5 % over 20: 0.75 meq/100 g; 86.09 g of gypsum for an equivalent, 1.8 million lb, 90 %: 1,291 lb.
#[test]
fn gypsum_against_magnesium_is_charge_for_charge() {
    let zone = first(&Made::one().sound().with(MagnesiumSaturation, &[25.0]));
    close(needed(&zone, "gypsum"), 0.0075 * 0.08609 * 1.8e6 / 0.9);
    assert!(
        steps(&zone, "gypsum").contains("0.75 meq/100 g"),
        "{}",
        steps(&zone, "gypsum")
    );
}

/// The equation of Oster is made for up to 50 % exchangeable sodium: more is calculated as 50.
#[test]
fn more_than_half_sodium_is_calculated_as_half() {
    let of = |pct: f64| {
        needed(
            &first(&Made::one().sound().with(SodiumSaturation, &[pct])),
            "gypsum",
        )
    };
    // 8.6 x 1.2 x 0.1524 m x 1.324 x 15 x (50 - 6) / 90 Mg/ha, 892.18 lb/ac in one of them.
    let half = 8.6 * 1.2 * 0.1524 * 1.324 * 15.0 * 44.0 / 90.0 * 892.18;
    close(of(50.0), half);
    close(of(60.0), half);
    close(of(49.0), half * 43.0 / 44.0);
}

/// The steps name masses with one decimal below 20 lb/ac and none from there on.
#[test]
fn steps_of_gypsum_name_the_masses() {
    let zone = first(&Made::one().sound().with(CalciumSaturation, &[60.0]));
    let told = steps(&zone, "gypsum");
    assert!(told.contains("= 270 lb/ac"), "{told}");
    assert!(
        told.contains("1,289 lb/ac") || told.contains("1289 lb/ac"),
        "{told}"
    );
}

/// P 2 ppm, threshold as the finding tells: 20 lb P2O5 for a ppm, 20 % of the rock; the step names the ppm that are short.
#[test]
fn phosphate_rock_goes_by_the_ppm_that_are_short() {
    let made = Made::one()
        .sound()
        .with(Phosphorus, &[2.0])
        .with(Ph, &[5.2]);
    let zone = first(&made);
    let threshold = made.diagnosed()[0]
        .findings
        .iter()
        .find(|finding| finding.rule == "phosphorus_mehlich_3")
        .expect("a finding")
        .threshold;
    close(
        needed(&zone, "phosphate_rock"),
        20.0 * (threshold - 2.0) / 0.20,
    );
    let told = steps(&zone, "phosphate_rock");
    assert!(
        told.contains(&format!("{} ppm short", threshold - 2.0)),
        "{told}"
    );
}

/// Sulfur 2 ppm short of its threshold: 2 lb for a ppm, 90 %. Gypsum that goes out besides brings 16.8 % sulfur, and that is taken off.
#[test]
fn sulfur_as_a_nutrient_takes_off_what_gypsum_brings() {
    let short = Made::one()
        .sound()
        .layer(key(Sulfur, "mehlich-3", "0-6 in"), "ppm", &[2.0]);
    let zone = first(&short);
    let threshold = short.diagnosed()[0]
        .findings
        .iter()
        .find(|finding| finding.factor.name().contains("sulfur"))
        .expect("a finding")
        .threshold;
    close(
        needed(&zone, "elemental_sulfur"),
        2.0 * (threshold - 2.0) / 0.9,
    );
    // 1,280 lb of gypsum bring 215 lb of sulfur: none is left to bring.
    let with_gypsum = first(&short.with(CalciumSaturation, &[60.0]));
    let left = find(&with_gypsum, "elemental_sulfur")
        .map_or(0.0, |rate| rate.needed.number_in(UnitSystem::UnitedStates));
    assert_eq!(left, 0.0);
}

fn rules(text: &str) -> Rulebook {
    Rulebook::from_text(text, "blend.toml").expect("rules")
}

/// The mix of two liquids and water: 0.25 of 10.1 lb/gal and 0.05 of seaweed, 12 and 70 g/L of dry ones.
#[test]
fn a_blend_weighs_what_its_ingredients_weigh() {
    let rulebook = rules(
        "[recipe.starter.ingredient.corn_steep_liquor]\nshare = 0.5\n[recipe.starter.ingredient.seaweed_extract]\nshare = 0\n\
        [recipe.starter.ingredient.potassium_sulfate]\ngrams_per_litre = 0\n[recipe.starter.ingredient.bone_ash]\ngrams_per_litre = 0\n\
        [product.corn_steep_liquor]\ndensity = \"10 lb/gal\"\nnitrogen = 20\npotash = 0\n",
    );
    let recipe = Made::one()
        .sound()
        .with(Phosphorus, &[2.0])
        .prescribed_by(&rulebook)
        .recipe
        .expect("a recipe");
    // Half of 10 lb/gal and half of water.
    let water = lowstave::soil::WATER.kilograms_per_litre();
    let liquor = 10.0 * 0.453_592_37 / 3.785_411_784;
    let density = recipe.density.kilograms_per_litre();
    assert!((density - 0.5 * (liquor + water)).abs() < 0.01, "{density}");
    close(recipe.seed_salt_per_litre, 0.5 * liquor * 0.2);
    let share = |name: &str| {
        let part = recipe.ingredients.iter().find(|part| part.product == name);
        part.expect("a part").volume_share
    };
    close(share("corn_steep_liquor"), 0.5);
    close(share("water"), 0.5);
}

/// Ingredients that fill more than the whole are refused: liquids of 0.6 and 0.4, and a dry one of 2 kg/L that displaces 2 %.
#[test]
fn a_recipe_of_more_than_the_whole_is_refused() {
    let with = |grams: u32| {
        rules(&format!(
            "[recipe.starter.ingredient.corn_steep_liquor]\nshare = 0.6\n[recipe.starter.ingredient.seaweed_extract]\nshare = 0.4\n\
            [recipe.starter.ingredient.potassium_sulfate]\ngrams_per_litre = 0\n[recipe.starter.ingredient.bone_ash]\n\
            grams_per_litre = {grams}\n[product.bone_ash]\ndensity = \"2 kg/L\"\n"
        ))
    };
    let made = Made::one().sound().with(Phosphorus, &[2.0]);
    let told = |grams| {
        let rulebook = with(grams);
        let diagnosis = made.diagnosis(&rulebook);
        prescribe(
            &made.settings,
            &made.field,
            &made.surfaces,
            &made.zones,
            &diagnosis,
            &rulebook,
        )
    };
    let full = told(0).expect("a prescription").recipe.expect("a recipe");
    let water = full.ingredients.iter().find(|part| part.product == "water");
    assert!(water.is_none_or(|water| water.volume_share.abs() < 1e-9));
    let errors = told(40).expect_err("too full");
    let is_told = errors.iter().any(
        |error| matches!(error, RatesError::RecipeTooFull { percent, .. } if percent == "102"),
    );
    assert!(is_told, "{errors:?}");
}

/// Without a buffer pH the note guesses by texture: 6 t/ha for a unit of pH on sand, 8 on clay (40 %), half a unit of the factor either
/// side, over 6 of 20 cm: pH 5.5 is 1 below 6.5.
#[test]
fn the_rough_guide_to_lime_goes_by_texture() {
    let bare = |clay: Option<f64>, sand: Option<f64>| {
        let mut made = Made::one().sound();
        let is_buffer = |key: &lowstave::analyte::LayerKey| key.analyte == BufferPh;
        made.surfaces
            .surfaces
            .retain(|surface| !is_buffer(&surface.key));
        made.field.layers.retain(|layer| !is_buffer(&layer.key));
        let mut made = made.with(Ph, &[5.5]);
        if let Some(clay) = clay {
            made = made.layer(key(Clay, "", "0-6 in"), "%", &[clay]);
        }
        if let Some(sand) = sand {
            made = made.layer(key(Sand, "", "0-6 in"), "%", &[sand]);
        }
        let zone = first(&made);
        let rate = find(&zone, "lime").expect("a rate");
        rate.note.clone().unwrap_or_default()
    };
    // 6 in of 20 cm: 0.762; a tonne per hectare is 892.18 lb/ac.
    let pounds = |factor: f64| (factor * 0.762 * 892.18).round();
    let says = |note: String, least: f64, most: f64| {
        let (least, most) = (pounds(least), pounds(most));
        let plain = note.replace(',', "");
        assert!(
            plain.contains(&format!("{least} lb/ac to {most} lb/ac")),
            "{least} to {most}: {note}"
        );
    };
    says(bare(None, None), 6.0, 8.0);
    // 20 % clay is half way: 0.25 to 0.75 of the way from 6 to 8.
    says(bare(Some(20.0), None), 6.5, 7.5);
    says(bare(Some(20.0), Some(10.0)), 6.5, 7.5);
    says(bare(Some(4.0), None), 6.0, 6.7);
    says(bare(Some(38.0), None), 7.4, 8.0);
    // 60 % sand is 0.4 of the way.
    says(bare(None, Some(60.0)), 6.3, 7.3);
}

/// 1,288.7 lb of gypsum go down to the step of 10 lb. 305 lb with a step of 80 go up to 320: 240 would not spread evenly, and 15 lb are less
/// than 5 %; 302 lb would need more than that, and nothing goes out.
#[test]
fn the_step_of_the_controller_is_told_with_its_way() {
    let gypsum = |saturation: f64, step: Option<&str>| {
        let made = Made::one().sound().with(CalciumSaturation, &[saturation]);
        let zone = first(&made.settings(|settings| {
            settings.machine.dry_step = step.map(crate::made_zones::quantity);
        }));
        let rate = find(&zone, "gypsum").expect("a rate");
        let amount = rate.amount.number_in(UnitSystem::UnitedStates);
        let told = rate.steps.iter().find(|step| step.starts_with("rounded"));
        (amount, told.cloned().unwrap_or_default())
    };
    let (amount, told) = gypsum(60.0, None);
    close(amount, 1_280.0);
    assert!(
        told.starts_with("rounded down to the step of 10 lb/ac"),
        "{told}"
    );
    let of = |pounds: f64| 65.0 - 5.0 * pounds / 1_288.7;
    let (amount, told) = gypsum(of(305.0), Some("80 lb/ac"));
    close(amount, 320.0);
    assert!(
        told.starts_with("rounded up to the step of 80 lb/ac"),
        "{told}"
    );
    let (amount, told) = gypsum(of(302.0), Some("80 lb/ac"));
    assert_eq!(amount, 0.0);
    assert!(told.starts_with("rounded down"), "{told}");
}

//! Strips with rates of their own, counted into the totals by hand. 20 ha of zone 1 get 30 L/ha of starter, 100 L/ha of molasses and
//! 1,000 kg/ha of gypsum, 10 ha of zone 2 get 20 L/ha, none and 400 kg/ha: 800 L, 2,000 L and 24,000 kg.

use lowstave::rates::{Prescription, StripRates};
use lowstave::rulebook::Rulebook;
use lowstave::units::{ProductRate, Volume};

use crate::ground::{close, mass, volume, with_words};
use crate::made_zones::{Made, quantity};

fn prescribed() -> Prescription {
    let words = [
        (1, "starter", volume("30 L/ha"), false),
        (1, "molasses", volume("100 L/ha"), false),
        (1, "gypsum", mass("1000 kg/ha"), false),
        (2, "starter", volume("20 L/ha"), false),
        (2, "gypsum", mass("400 kg/ha"), false),
    ];
    let made = with_words(Made::new(&[20.0, 10.0]).sound(), &words).settings(|settings| {
        settings.machine.dry_step = Some(quantity("1 kg/ha"));
        settings.machine.liquid_step = Some(quantity("1 L/ha"));
    });
    let prescription = made.prescribed();
    for (name, litres, kilograms) in [
        ("starter", 800.0, None),
        ("molasses", 2_000.0, None),
        ("gypsum", 0.0, Some(24_000.0)),
    ] {
        close(of(&prescription, name).0, litres);
        if let Some(kilograms) = kilograms {
            close(of(&prescription, name).1, kilograms);
        }
    }
    prescription
}

/// Litres and kilograms of a product on the whole field.
fn of(prescription: &Prescription, name: &str) -> (f64, f64) {
    let product = prescription.products.iter().find(|p| p.name == name);
    let product = product.expect("a product");
    (
        product.total_volume.litres(),
        product.total_mass.kilograms(),
    )
}

/// The rates of a strip in the order of the columns.
fn rates(
    prescription: &Prescription,
    starter: &str,
    molasses: &str,
    gypsum: &str,
) -> Vec<ProductRate> {
    let columns = prescription.products.iter();
    let rate = columns.map(|product| match product.name.as_str() {
        "starter" => volume(starter),
        "molasses" => volume(molasses),
        "gypsum" => mass(gypsum),
        other => panic!("{other}"),
    });
    rate.collect()
}

fn count(prescription: &mut Prescription, strips: &[(u32, f64, Vec<ProductRate>)], litres: f64) {
    let strips: Vec<StripRates<'_>> = strips
        .iter()
        .map(|(zone, hectares, rates)| StripRates {
            zone: *zone,
            hectares: *hectares,
            rates,
        })
        .collect();
    prescription.count_strips(&strips, Volume::from_litres(litres), &Rulebook::built_in());
}

/// Half a hectare of zone 1 with 40 L, 60 L and no gypsum: 5 L more, 20 L less, 500 kg less. Half a hectare of zone 2 with no starter, 30 L and
/// 800 kg: 10 L less, 15 L and 200 kg more. 795 L are seven tanks of 100 L and 95 L; the highest rate of starter is the 40 L of the strip.
#[test]
fn strips_change_the_totals_the_recipe_and_the_loads() {
    let mut prescription = prescribed();
    let strips = [
        (
            1,
            0.5,
            rates(&prescription, "40 L/ha", "60 L/ha", "0 kg/ha"),
        ),
        (
            2,
            0.5,
            rates(&prescription, "0 L/ha", "30 L/ha", "800 kg/ha"),
        ),
    ];
    count(&mut prescription, &strips, 100.0);
    close(of(&prescription, "gypsum").1, 23_700.0);
    close(of(&prescription, "molasses").0, 1_995.0);
    // 11.7 lb/gal.
    close(
        of(&prescription, "molasses").1,
        1_995.0 * 11.7 * 0.453_592_37 / 3.785_411_784,
    );
    let (litres, kilograms) = of(&prescription, "starter");
    close(litres, 795.0);
    let recipe = prescription.recipe.expect("a recipe");
    close(kilograms, 795.0 * recipe.density.kilograms_per_litre());
    let liquor = recipe
        .ingredients
        .iter()
        .find(|i| i.product == "corn_steep_liquor");
    close(liquor.expect("liquor").total_volume.litres(), 795.0 * 0.25);
    close(
        recipe.seed_salt.kilograms_per_hectare(),
        40.0 * recipe.seed_salt_per_litre,
    );
    let loads: Vec<(u32, f64)> = (recipe.loads.iter())
        .map(|load| (load.count, load.volume.litres()))
        .collect();
    assert_eq!(loads.len(), 2, "{loads:?}");
    assert_eq!((loads[0].0, loads[1].0), (7, 1));
    close(loads[0].1, 100.0);
    close(loads[1].1, 95.0);
}

/// A strip that is said to be larger than its zone leaves nothing of it, not less than nothing.
#[test]
fn no_total_falls_below_nothing() {
    let mut prescription = prescribed();
    let strips = [
        (1, 40.0, rates(&prescription, "0 L/ha", "0 L/ha", "0 kg/ha")),
        (2, 40.0, rates(&prescription, "0 L/ha", "0 L/ha", "0 kg/ha")),
    ];
    count(&mut prescription, &strips, 100.0);
    for name in ["starter", "molasses", "gypsum"] {
        assert_eq!(of(&prescription, name), (0.0, 0.0), "{name}");
    }
    assert!(prescription.recipe.expect("a recipe").loads.is_empty());
}

/// 800 L are 795 with half a hectare of zone 1 at 20 L/ha: one full tank of 795 L, or five of 159 L, and no part load; a tank that holds
/// nothing is never filled.
#[test]
fn a_whole_number_of_tanks_has_no_part_load() {
    for (tank, full) in [(795.0, Some(1)), (159.0, Some(5)), (0.0, None)] {
        let mut prescription = prescribed();
        let own = rates(&prescription, "20 L/ha", "100 L/ha", "1000 kg/ha");
        count(&mut prescription, &[(1, 0.5, own)], tank);
        close(of(&prescription, "starter").0, 795.0);
        let recipe = prescription.recipe.expect("a recipe");
        let loads: Vec<u32> = recipe.loads.iter().map(|load| load.count).collect();
        assert_eq!(loads, full.into_iter().collect::<Vec<u32>>(), "{tank}");
    }
}

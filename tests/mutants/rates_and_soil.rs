//! Numbers by hand for faults that the other tests let pass; each test names the row of docs/mutation-survivors.tsv that it is for.

use lowstave::rates::{MixProblem, MixProduct, MixZone, cheapest_mix};
use lowstave::soil::{
    Acidity, CationExchange, RateEquation, TextureClass, north_carolina_tons_per_acre,
    relative_yield, texture_class,
};

#[track_caller]
fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() <= 1e-6 * wanted.abs().max(1.0),
        "{found} is not {wanted}"
    );
}

/// `src/soil/texture.rs` light, `clay >= 7.0` x 0.95.
#[test]
fn loam_begins_at_seven_percent_clay() {
    assert_eq!(texture_class(48.0, 45.2, 6.8), Ok(TextureClass::SandyLoam));
    assert_eq!(texture_class(48.0, 44.8, 7.2), Ok(TextureClass::Loam));
}

/// `src/soil/lime_requirement/north_carolina.rs`, `ph >= target` x 1.05: (6.5 - 6.7) / (6.6 - 6.7) would be 2.
#[test]
fn ground_above_the_fixed_ph_of_the_buffer_gets_no_lime() {
    assert_eq!(north_carolina_tons_per_acre(1.0, 6.7, 6.5, 0.0), Ok(0.0));
}

/// `src/soil/nutrient_rate.rs` `first_zero`, `b < 0.0` to `<=`.
#[test]
fn a_rate_that_does_not_hang_on_the_test_is_given() {
    let equation = RateEquation {
        constant: 40.0,
        ..RateEquation::default()
    };
    assert_eq!(equation.rate(10.0, 0.0, 0.0), Ok(40.0));
}

/// `src/soil/nutrient_rate.rs` `first_zero`: `4.0 * a * c` and `2.0`.
#[test]
fn a_parabola_gives_its_rate_up_to_its_first_zero_or_vertex() {
    let rate = |constant, per_test, per_test_squared, test| {
        let equation = RateEquation {
            constant,
            per_test,
            per_test_squared,
            ..RateEquation::default()
        };
        equation.rate(test, 0.0, 0.0).unwrap()
    };
    // Zero at (20 - sqrt(200)) / 10 = 0.586: 10 - 6 + 0.45.
    close(rate(10.0, -20.0, 5.0, 0.3), 4.45);
    // Zero at 85.08: 150 - 228.25 + 79.9124.
    close(rate(150.0, -2.75, 0.0116, 83.0), 1.662_4);
    // No zero, vertex at 118.5: 200 - 316.25 + 153.41.
    close(rate(200.0, -2.75, 0.0116, 115.0), 37.16);
}

/// `src/soil/salinity.rs` `relative_yield`: 100 % is the most.
#[test]
fn sound_ground_yields_no_more_than_all() {
    assert_eq!(relative_yield(0.0, 2.0, 7.3), Ok(100.0));
}

fn product(price: f64, brings: &[f64], on_hand: Option<f64>) -> MixProduct {
    MixProduct {
        price,
        brings: brings.to_vec(),
        counts: vec![0.0],
        on_hand,
    }
}

fn zone(hectares: f64, needs: &[f64], most: f64) -> MixZone {
    MixZone {
        hectares,
        needs: needs.to_vec(),
        worth: needs.iter().map(|need| 500.0 / need).collect(),
        ceilings: vec![1_000.0],
        most: vec![most; needs.len()],
        least: vec![20.0; needs.len()],
    }
}

fn problem(products: Vec<MixProduct>, zones: Vec<MixZone>) -> MixProblem {
    MixProblem {
        products,
        zones,
        pass: 15.0,
        passes: 1,
    }
}

/// The rate of the one product in the one zone.
fn only_rate(product: MixProduct, zone: MixZone) -> f64 {
    let (best, _) = cheapest_mix(&problem(vec![product], vec![zone]));
    best.rates[0][0]
}

/// program.rs solve, `used > stock` x 1.05: 51.5 kg/ha at 0.5 a kilogram would take 103 kg of 100.
#[test]
fn three_percent_more_than_is_on_hand_does_not_go_out() {
    let rate = only_rate(product(1.0, &[0.5], Some(100.0)), zone(1.0, &[51.5], 400.0));
    close(rate, 100.0);
}

/// `program.rs`, `zone_mix` and `add_zone`: 100 kg at 4.80 and a pass of 15 are 495 against 500 for doing nothing.
#[test]
fn a_mix_that_saves_one_percent_is_taken() {
    let rate = only_rate(product(4.8, &[0.5], None), zone(1.0, &[50.0], 400.0));
    close(rate, 100.0);
}

/// `program.rs`, `zone_mix`, the least that spreads: 9.7 kg/ha would take 19.4, and 20 is the least.
#[test]
fn a_rate_just_under_the_least_is_lifted_where_the_cap_lets_it() {
    let rate = |most| only_rate(product(1.0, &[0.5], None), zone(1.0, &[9.7], most));
    close(rate(400.0), 20.0);
    close(rate(20.5), 20.0);
    close(rate(19.5), 0.0);
}

/// program.rs gather, `mix.cost * zone.hectares`: with one pass, A costs 115 + 10 x 500 = 5,115 and B 500 + 10 x 115 = 1,650.
#[test]
fn the_larger_zone_weighs_more_in_the_choice_of_products() {
    let products = vec![
        product(1.0, &[0.5, 0.0], None),
        product(1.0, &[0.0, 0.5], None),
    ];
    let zones = vec![
        zone(1.0, &[50.0, 0.0], 400.0),
        zone(10.0, &[0.0, 50.0], 400.0),
    ];
    let (best, _) = cheapest_mix(&problem(products, zones));
    assert_eq!(best.products, [1]);
    close(best.rates[1][1], 100.0);
}

/// `src/soil/cation_exchange.rs` `share_pct`: a soil without any exchange has no shares.
#[test]
fn shares_of_nothing_are_not_told() {
    let none = CationExchange::from_meq(0.0, 0.0, 0.0, 0.0, Acidity::Known(0.0)).unwrap();
    assert_eq!(none.base_saturation_pct(), None);
}

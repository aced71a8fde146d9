use super::*;

const WEIGHTS: Weights = Weights {
    under: 2.0,
    salt: 500.0,
};

fn given(products: &[(&str, f64, bool)]) -> Given {
    let share = |(name, dollars, is_lime): &(&str, f64, bool)| {
        let share = Share {
            dollars: *dollars,
            amount: *dollars,
            step: 1.0,
            is_lime: *is_lime,
        };
        ((*name).to_owned(), share)
    };
    Given {
        rates: products.iter().map(share).collect(),
        is_saline: false,
    }
}

fn loss(given: &Given, own: &Given) -> f64 {
    given.losses(own, WEIGHTS).values().sum()
}

#[test]
fn one_lime_makes_up_for_another() {
    let calcitic = given(&[("lime", 100.0, true)]);
    let dolomitic = given(&[("dolomitic_lime", 110.0, true)]);
    // 100 of the 110 are there; the ten that are missing count twice.
    assert_eq!(loss(&calcitic, &dolomitic), 20.0);
    // 100 of the 110 are needed; ten are too much.
    assert_eq!(loss(&dolomitic, &calcitic), 10.0);
    // Lime on ground that asks for none is lost, and missing lime is missing.
    let nothing = given(&[]);
    assert_eq!(loss(&calcitic, &nothing), 100.0);
    assert_eq!(loss(&nothing, &calcitic), 200.0);
}

#[test]
fn other_products_do_not_make_up_for_each_other() {
    let gypsum = given(&[("gypsum", 100.0, false)]);
    let lime = given(&[("lime", 100.0, true)]);
    assert_eq!(loss(&gypsum, &lime), 300.0);
    assert_eq!(loss(&lime, &gypsum), 300.0);
}

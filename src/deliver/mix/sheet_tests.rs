use super::{Measured, Purchase};
use crate::rulebook::PriceSource;
use crate::units::Mass;

fn bought(pounds: f64, on_hand: Option<f64>) -> (Option<u64>, f64) {
    let mass = |pounds: f64| Measured::Mass(Mass::from_kilograms(pounds));
    let pack = ("bag of 50".to_owned(), 50.0);
    let price = (Some(2.0 * pounds), PriceSource::Given);
    let line = Purchase::new("kelp", mass(pounds), Some(&pack), price);
    let line = line.with_stock(on_hand.map(mass));
    (line.packs.map(|(count, _)| count), line.packs_more())
}

#[test]
fn packs_are_bought_for_what_is_not_on_hand() {
    assert_eq!(bought(110.0, None), (Some(3), 80.0));
    assert_eq!(bought(110.0, Some(70.0)), (Some(1), 20.0));
    assert_eq!(bought(110.0, Some(10.0)), (Some(2), 0.0));
    assert_eq!(bought(110.0, Some(110.0)), (None, 0.0));
}

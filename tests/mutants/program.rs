//! The least-cost mix by hand: small programmes whose answer follows from prices, worth and bounds alone; see docs/mutation-testing.md.
//!
//! A kilogram of a product that brings `b` of a need of `n` saves `500 b / n`, where leaving the need wholly unmet counts 500 a hectare.

use lowstave::rates::{Choice, MixProblem, MixProduct, MixZone, cheapest_mix};

#[track_caller]
fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() <= 1e-6 * wanted.abs().max(1.0),
        "{found} is not {wanted}"
    );
}

fn product(price: f64, brings: &[f64], on_hand: Option<f64>) -> MixProduct {
    MixProduct {
        price,
        brings: brings.to_vec(),
        counts: vec![0.0],
        on_hand,
    }
}

/// A zone of one hectare where every product may go out from `least` to `most`.
fn zone(needs: &[f64], products: usize, (least, most): (f64, f64)) -> MixZone {
    MixZone {
        hectares: 1.0,
        needs: needs.to_vec(),
        worth: needs.iter().map(|need| 500.0 / need).collect(),
        ceilings: vec![1_000.0],
        most: vec![most; products],
        least: vec![least; products],
    }
}

fn solved(products: Vec<MixProduct>, zones: Vec<MixZone>, pass: f64, passes: usize) -> Choice {
    let problem = MixProblem {
        products,
        zones,
        pass,
        passes,
    };
    cheapest_mix(&problem).0
}

/// `zone_mix`, `found.cost >= best.cost - 1e-9`. 10 kg would do, and 20 is the least: 490 and a pass of 5 are less than 500. The branch
/// without the product, which costs 500, is looked at after it and must not take its place.
#[test]
fn a_branch_that_costs_more_does_not_take_the_place_of_a_cheaper_one() {
    let best = solved(
        vec![product(24.5, &[0.5], None)],
        vec![zone(&[5.0], 1, (20.0, 400.0))],
        5.0,
        1,
    );
    close(best.rates[0][0], 20.0);
    close(best.cost, 495.0);
}

/// `shared`: 60 kg for a need of 100: 120 USD, a pass of 15, and 500 x (1 - 30 / 50) unmet. The zone that needs nothing costs nothing, and
/// the product that is not used costs nothing.
#[test]
fn what_a_shared_stock_costs_is_price_pass_and_what_is_unmet() {
    let best = solved(
        vec![
            product(2.0, &[0.5], Some(60.0)),
            product(900.0, &[0.5], None),
        ],
        vec![
            zone(&[50.0], 2, (20.0, 400.0)),
            zone(&[0.0], 2, (20.0, 400.0)),
        ],
        15.0,
        1,
    );
    assert_eq!(best.products, [0]);
    close(best.rates[0][0], 60.0);
    close(best.rates[1][0], 0.0);
    close(best.cost, 120.0 + 15.0 + 200.0);
}

/// `shared`, `rates[*at] <= 0.0`: at 4.50 a kilogram the second zone saves 1.75 on each of its 8 kg, which is less than its pass of 15, so it
/// gets none; nor does it where the first zone, which needs 100 kg and saves 0.50 on each, finds 50 on hand.
#[test]
fn a_zone_that_is_not_worth_its_pass_gets_nothing_of_a_shared_stock() {
    let best = solved(
        vec![product(4.5, &[0.5], Some(50.0))],
        vec![zone(&[50.0], 1, (1.0, 400.0)), zone(&[40.0], 1, (1.0, 8.0))],
        15.0,
        1,
    );
    close(best.rates[0][0], 50.0);
    close(best.rates[1][0], 0.0);
    close(best.cost, 225.0 + 15.0 + 250.0 + 500.0);
}

/// `shared`, `found[*at] < zone.least[*at] * (1.0 - 1e-9)`: of 20.5 kg on hand the least of 20 goes out, of 19.5 none.
#[test]
fn the_least_that_spreads_holds_where_stock_is_shared() {
    let rate = |on_hand| {
        let best = solved(
            vec![product(1.0, &[0.5], Some(on_hand))],
            vec![zone(&[50.0], 1, (20.0, 400.0))],
            15.0,
            1,
        );
        best.rates[0][0]
    };
    close(rate(20.5), 20.5);
    close(rate(20.0), 20.0);
    close(rate(19.5), 0.0);
}

/// `shared`, how many rounds: of A 105 kg are on hand, 100 for the first zone, which saves most by it, and 5 for the second; that is less than
/// spreads, so it is offered to the third, where it is as little; only the third round stands. B feeds all three.
#[test]
fn what_falls_below_the_least_is_taken_off_zone_by_zone() {
    let of = |need: f64| zone(&[need, 50.0], 2, (20.0, 400.0));
    let best = solved(
        vec![
            product(1.0, &[0.5, 0.0], Some(105.0)),
            product(1.0, &[0.0, 0.5], None),
        ],
        vec![of(50.0), of(60.0), of(70.0)],
        15.0,
        2,
    );
    assert_eq!(best.products, [0, 1]);
    for (zone, wanted) in best.rates.iter().zip([100.0, 0.0, 0.0]) {
        close(zone[0], wanted);
        close(zone[1], 100.0);
    }
    // The first zone: 200 and two passes; the others: 100, a pass and 500 unmet.
    close(best.cost, 230.0 + 2.0 * 615.0);
}

/// `shared`, how many rounds: seven zones and two products, both scarce, where rates fall below what spreads one after the other and more of them
/// than there are zones and products together. The fifth zone is left: all 35 kg of A bring 12.95 of the 24 kg that it needs, (24 - 12.95) / 0.2 =
/// 55.25 kg of B the rest, and more than the 24 kg of the other need: 42 and 55.25 USD and two passes. The others leave two needs unmet each.
#[test]
fn as_many_rounds_are_made_as_there_are_rates() {
    let of = |needs: [f64; 2], ceiling: f64, most: [f64; 2], least: [f64; 2]| MixZone {
        hectares: 1.0,
        needs: needs.to_vec(),
        worth: needs.iter().map(|need| 500.0 / need).collect(),
        ceilings: vec![ceiling],
        most: most.to_vec(),
        least: least.to_vec(),
    };
    let counted = |price, brings: &[f64], counts, on_hand| MixProduct {
        counts: vec![counts],
        ..product(price, brings, Some(on_hand))
    };
    let best = solved(
        vec![
            counted(1.2, &[0.37, 0.0], 0.22, 35.0),
            counted(1.0, &[0.2, 0.5], 0.35, 65.0),
        ],
        vec![
            of([57.0, 24.0], 42.0, [69.0, 363.0], [23.0, 48.0]),
            of([64.0, 56.0], 27.0, [257.0, 66.0], [12.0, 40.0]),
            of([69.0, 23.0], 79.0, [35.0, 230.0], [60.0, 37.0]),
            of([64.0, 59.0], 58.0, [135.0, 329.0], [54.0, 43.0]),
            of([24.0, 24.0], 75.0, [94.0, 139.0], [26.0, 35.0]),
            of([78.0, 75.0], 66.0, [49.0, 336.0], [17.0, 35.0]),
            of([47.0, 65.0], 39.0, [231.0, 368.0], [59.0, 57.0]),
        ],
        1.0,
        2,
    );
    assert_eq!(best.products, [0, 1]);
    for (zone, rates) in best.rates.iter().enumerate() {
        let wanted = if zone == 4 { [35.0, 55.25] } else { [0.0, 0.0] };
        close(rates[0], wanted[0]);
        close(rates[1], wanted[1]);
    }
    close(best.cost, 42.0 + 55.25 + 2.0 + 6.0 * 2.0 * 500.0);
}

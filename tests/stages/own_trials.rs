//! What the farm's own strips said opens or closes the starter's gate only with enough trials, and never on salt or on what is not known.

use lowstave::analyte::Analyte::{
    BufferPh, CarbonNitrogenRatio, CationExchangeCapacity, ElectricalConductivity, Ph, Phosphorus,
};
use lowstave::rates::Rate;
use lowstave::rulebook::{OwnHarvest, OwnTrial, Rulebook};

use crate::made_zones::{Made, key};

/// A trial of the starter under a gate: these gains in kg/ha, each with an error of 40.
fn with_trials(gate: &str, gains: &[f64]) -> Rulebook {
    let mut rulebook = Rulebook::built_in();
    rulebook.own_trials = vec![OwnTrial {
        product: "starter".to_owned(),
        gate: gate.to_owned(),
        crop: "corn".to_owned(),
        harvests: gains
            .iter()
            .zip(2024..)
            .map(|(gain, season)| OwnHarvest {
                season,
                gain: *gain,
                standard_error: 40.0,
                strips: 4,
            })
            .collect(),
        pays_from: Some(60.0),
    }];
    rulebook
}

/// The starter of a zone that carbon holds back and that was not tested for salt.
fn untested(rulebook: &Rulebook) -> Rate {
    let prescription = Made::one()
        .layer(key(Ph, "water", "0-6 in"), "pH", &[6.6])
        .layer(
            key(CationExchangeCapacity, "sum", "0-6 in"),
            "meq/100 g",
            &[15.0],
        )
        .layer(
            key(CarbonNitrogenRatio, "water-extract", "0-6 in"),
            "ratio",
            &[WORN],
        )
        .layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[10.0])
        .prescribed_by(rulebook);
    let mut rates = prescription.zones[0].rates.clone().into_iter();
    rates.find(|rate| rate.product == "starter").unwrap()
}

/// One sound zone of corn with this C:N ratio, phosphorus and conductivity.
fn starter(ratio: f64, phosphorus: Option<f64>, salt: f64, rulebook: &Rulebook) -> Rate {
    let mut made = Made::one()
        .layer(key(Ph, "water", "0-6 in"), "pH", &[6.6])
        .layer(
            key(CationExchangeCapacity, "sum", "0-6 in"),
            "meq/100 g",
            &[15.0],
        )
        .layer(
            key(CarbonNitrogenRatio, "water-extract", "0-6 in"),
            "ratio",
            &[ratio],
        )
        .layer(
            key(ElectricalConductivity, "paste", "0-6 in"),
            "dS/m",
            &[salt],
        );
    if let Some(phosphorus) = phosphorus {
        made = made.layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[phosphorus]);
    }
    let prescription = made.prescribed_by(rulebook);
    let mut rates = prescription.zones[0].rates.clone().into_iter();
    rates.find(|rate| rate.product == "starter").unwrap()
}

const WORN: f64 = 12.0;
const SOUND: f64 = 20.0;

#[test]
fn a_carbon_gate_opens_where_two_harvests_pay_and_the_line_says_so() {
    let closed = starter(WORN, Some(10.0), 0.3, &Rulebook::built_in());
    assert!(closed.amount.is_zero(), "{closed:?}");
    let open = starter(
        WORN,
        Some(10.0),
        0.3,
        &with_trials("closed by carbon", &[800.0, 700.0]),
    );
    assert!(!open.amount.is_zero(), "{open:?}");
    let own = open.own.unwrap();
    assert!(
        own.opens
            && own
                .line
                .starts_with("on this farm, tried where carbon holds it back: +"),
        "{own:?}"
    );
    assert!(own.line.contains("2 trials, 8 strips"), "{own:?}");
    assert!(
        open.steps
            .iter()
            .any(|step| step.contains("opened by the farm's own trials")),
        "{:?}",
        open.steps
    );
    // Inside the caps all the same.
    let cap = open.cap.unwrap();
    assert!(open.amount.per_hectare() <= cap.most.per_hectare() + 1e-9);
}

#[test]
fn one_harvest_opens_nothing_however_much_it_brought() {
    let rate = starter(
        WORN,
        Some(10.0),
        0.3,
        &with_trials("closed by carbon", &[3_000.0]),
    );
    assert!(rate.amount.is_zero(), "{rate:?}");
    assert!(rate.note.unwrap().contains("too few trials to decide by"));
}

#[test]
fn trials_under_another_gate_or_with_another_crop_say_nothing() {
    let other_gate = with_trials("open", &[800.0, 700.0]);
    assert!(starter(WORN, Some(10.0), 0.3, &other_gate).own.is_none());
    let mut other_crop = with_trials("closed by carbon", &[800.0, 700.0]);
    other_crop.own_trials[0].crop = "wheat".to_owned();
    assert!(starter(WORN, Some(10.0), 0.3, &other_crop).own.is_none());
}

#[test]
fn trials_that_do_not_pay_close_an_open_gate() {
    let open = starter(SOUND, Some(10.0), 0.3, &Rulebook::built_in());
    assert!(!open.amount.is_zero(), "{open:?}");
    let rulebook = with_trials("open", &[-900.0, -800.0, -850.0]);
    let closed = starter(SOUND, Some(10.0), 0.3, &rulebook);
    assert!(closed.amount.is_zero(), "{closed:?}");
    assert!(closed.own.unwrap().closes);
    assert!(
        closed
            .note
            .unwrap()
            .contains("held back by the farm's own trials")
    );
}

#[test]
fn salt_and_what_is_not_known_stay_closed() {
    for gate in [
        "closed by salt",
        "closed by carbon",
        "nothing short",
        "open",
    ] {
        let salty = starter(
            SOUND,
            Some(10.0),
            9.0,
            &with_trials(gate, &[3_000.0, 3_000.0]),
        );
        assert!(salty.amount.is_zero(), "{gate}: {salty:?}");
        assert!(salty.own.is_none(), "{gate}: {salty:?}");
    }
    let rulebook = with_trials("not known", &[3_000.0, 3_000.0]);
    let unknown = starter(SOUND, None, 0.3, &rulebook);
    assert!(unknown.amount.is_zero(), "{unknown:?}");
}

/// One zone that is short of potassium, its potash tried at a loss.
#[test]
fn a_fix_that_works_for_years_is_not_closed_by_harvests_and_the_line_says_why() {
    let mut rulebook = with_trials("open", &[-900.0, -800.0, -850.0]);
    rulebook.own_trials[0].product = "lime".to_owned();
    let made = Made::one()
        .layer(key(Ph, "water", "0-6 in"), "pH", &[5.4])
        .layer(key(BufferPh, "smp", "0-6 in"), "pH", &[6.4]);
    let prescription = made.prescribed_by(&rulebook);
    let lime = prescription.zones[0]
        .rates
        .iter()
        .find(|rate| rate.product == "lime")
        .unwrap();
    assert!(!lime.amount.is_zero(), "{lime:?}");
    let own = lime.own.as_ref().unwrap();
    assert!(
        !own.closes && own.line.ends_with("which no single harvest judges"),
        "{own:?}"
    );
}

#[test]
fn own_trials_open_nothing_while_salt_is_not_known() {
    let rulebook = with_trials("closed by carbon", &[800.0, 700.0]);
    assert!(!starter(WORN, Some(10.0), 0.3, &rulebook).amount.is_zero());
    let rate = untested(&rulebook);
    assert!(rate.amount.is_zero(), "{rate:?}");
    let own = rate.own.unwrap();
    assert!(!own.opens, "{own:?}");
    assert!(
        own.line
            .ends_with("salt is not known here, and own trials open nothing until it is tested"),
        "{own:?}"
    );
}

#[test]
fn salt_of_an_earlier_run_keeps_the_starter_back_until_a_test_says_that_it_is_gone() {
    let mut rulebook = with_trials("closed by carbon", &[800.0, 700.0]);
    rulebook.earlier_salt = vec![Some(2027); 16];
    let rate = untested(&rulebook);
    assert!(rate.amount.is_zero() && rate.own.is_none(), "{rate:?}");
    assert!(rate.strip.is_none(), "nobody tries salt there: {rate:?}");
    let note = rate.note.unwrap();
    assert!(
        note.contains("the run of 2027 found salt on this ground"),
        "{note}"
    );
    // Tested and found sound this year.
    assert!(!starter(WORN, Some(10.0), 0.3, &rulebook).amount.is_zero());
    // A single cell in twenty is the drawing of an edge; here none.
    rulebook.earlier_salt = vec![None; 16];
    assert!(untested(&rulebook).own.is_some());
}

#[test]
fn harvests_that_disagree_decide_nothing_and_stand_one_by_one() {
    let rulebook = with_trials("closed by carbon", &[-376.6, 2_500.0]);
    let rate = starter(WORN, Some(10.0), 0.3, &rulebook);
    assert!(rate.amount.is_zero(), "{rate:?}");
    let own = rate.own.unwrap();
    assert!(!own.opens && !own.closes, "{own:?}");
    for words in ["-6", "in 2024", "in 2025", "the harvests disagree"] {
        assert!(own.line.contains(words), "{words}: {own:?}");
    }
}

//! Cores on the other side of a threshold than their zone's mean are told of (all fields are invented).

use lowstave::analyte::Analyte;
use lowstave::remark::{Level, Remark};
use lowstave::rulebook::Rulebook;

use crate::made_zones::{Made, key};

/// A zone with a mean and these cores.
fn field(analyte: Analyte, method: &str, unit: &str, mean: f64, cores: &[f64]) -> Made {
    let layer = key(analyte, method, "0-6 in");
    let mut made = Made::one().doubtful_layer(layer, unit, &[mean], 1e-4, cores.len());
    let last = made.field.layers.last_mut().expect("the layer");
    last.values = cores.to_vec();
    made
}

fn told(made: &Made, code: &str) -> Option<Remark> {
    let remarks = made.diagnosis(&Rulebook::built_in()).remarks;
    remarks.into_iter().find(|remark| remark.code == code)
}

#[test]
fn half_a_field_of_acid_cores_is_said_though_the_mean_is_sound() {
    let half = [5.2, 6.9, 5.2, 6.9, 5.2, 6.9, 5.2, 6.9];
    let remark = told(
        &field(Analyte::Ph, "water", "pH", 6.05, &half),
        "cores-differ",
    )
    .expect("the remark");
    assert!(
        remark
            .what
            .contains("4 of 8 cores are below 6 in pH (water, 0-6 in) (mean 6.05)"),
        "{}",
        remark.what
    );
    assert!(
        remark
            .what
            .contains("one rate is wrong on part of the field")
    );
    // One of eight is the noise of sampling.
    let one = [5.9, 6.9, 6.9, 6.9, 6.9, 6.9, 6.9, 6.9];
    let few = told(
        &field(Analyte::Ph, "water", "pH", 6.7, &one),
        "cores-differ",
    );
    assert!(few.is_none(), "{few:?}");
}

/// A map smooths over a step: every core of the zone reads less than what the zone goes by.
#[test]
fn a_zone_whose_value_all_its_cores_contradict_is_told_before_anybody_drives() {
    let read = |cores: &[f64]| field(Analyte::Magnesium, "mehlich-3", "ppm", 53.0, cores);
    let against = read(&[36.0, 43.0, 38.0, 41.0, 40.0, 42.0]);
    let remark = told(&against, "cores-against-map").expect("the remark");
    assert_eq!(remark.level, Level::Warning);
    assert!(
        remark.what.starts_with(
            "6 of 6 cores are below 50 ppm in magnesium (mehlich-3, 0-6 in) (mean 53 ppm)"
        ),
        "{}",
        remark.what
    );
    assert_eq!(told(&against, "cores-differ"), None);
    // One core that agrees makes it a matter of part of the zone.
    let split = read(&[36.0, 43.0, 38.0, 41.0, 40.0, 60.0]);
    assert_eq!(told(&split, "cores-against-map"), None);
    assert!(told(&split, "cores-differ").is_some());
}

/// A mean of 28 ppm lies between the states' limits for phosphorus; four of the ten cores are short in every one of them.
#[test]
fn cores_that_are_short_in_every_state_are_said_where_the_states_disagree_on_the_mean() {
    let field = |cores: &[f64]| field(Analyte::Phosphorus, "mehlich-3", "ppm", 28.0, cores);
    let half = [10.0, 40.0, 10.0, 40.0, 10.0, 40.0, 10.0, 40.0, 40.0, 40.0];
    let remark = told(&field(&half), "cores-differ").expect("the remark");
    let what = &remark.what;
    assert!(what.contains("4 of 10 cores are below "), "{what}");
    assert!(
        what.contains("in phosphorus (mehlich-3, 0-6 in) (mean 28 ppm)"),
        "{what}"
    );
    // What lies between the limits itself is short in some states alone: the region decides, and that is said elsewhere.
    let between = [24.0, 32.0, 24.0, 32.0, 24.0, 32.0, 24.0, 32.0, 24.0, 32.0];
    let few = told(&field(&between), "cores-differ");
    assert!(few.is_none(), "{few:?}");
}

#[test]
fn sound_cores_are_said_where_the_mean_is_just_past_the_threshold() {
    let half = [5.2, 6.78, 5.2, 6.78, 5.2, 6.78];
    let remark = told(
        &field(Analyte::Ph, "water", "pH", 5.99, &half),
        "cores-differ",
    )
    .expect("the remark");
    assert!(
        remark.what.contains("3 of 6 cores are not below 6 in pH"),
        "{}",
        remark.what
    );
}

#[test]
fn one_saline_core_of_twenty_is_said_where_the_mean_holds_nothing_back() {
    let mut cores = [0.6; 20];
    let salt = |cores: &[f64]| {
        let made = field(Analyte::ElectricalConductivity, "paste", "dS/m", 0.9, cores);
        told(&made, "cores-past-gate")
    };
    assert!(salt(&cores).is_none());
    cores[7] = 6.0;
    let remark = salt(&cores).expect("the remark");
    assert!(
        remark
            .what
            .starts_with("1 of 20 cores (row 9) is above 2.5"),
        "{}",
        remark.what
    );
    assert!(remark.what.contains("nothing that carries salt goes out"));
}

/// Two layers on a field of one zone: the first on the places from the west, the second on the rest.
fn halves(
    one: (lowstave::analyte::LayerKey, f64),
    other: (lowstave::analyte::LayerKey, f64),
) -> Made {
    let unit = |key: &lowstave::analyte::LayerKey| {
        if key.analyte == Analyte::Ph {
            "pH"
        } else {
            "ppm"
        }
    };
    let (first, second) = (unit(&one.0), unit(&other.0));
    let mut made = Made::one()
        .doubtful_layer(one.0, first, &[one.1], 1e-4, 8)
        .doubtful_layer(other.0, second, &[other.1], 1e-4, 8);
    for (at, x) in made.field.places[1].x.iter_mut().enumerate() {
        *x = (at + 8) as f64 * 10.0 + 5.0;
    }
    made
}

#[test]
fn two_methods_each_on_its_own_half_are_told_and_nothing_is_sure() {
    let water = key(Analyte::Ph, "water", "0-6 in");
    let chloride = key(Analyte::Ph, "cacl2", "0-6 in");
    let made = halves((water.clone(), 5.4), (chloride, 6.8));
    let remark = told(&made, "methods-apart").expect("the remark");
    assert!(
        remark
            .what
            .contains("by cacl2 at 8 cores and by water at 8 cores"),
        "{}",
        remark.what
    );
    assert!(remark.what.contains("say the contrary"), "{}", remark.what);
    let zone = made.diagnosed().remove(0);
    let acid = zone.finding("acidity").expect("acidity");
    assert!(acid.confidence < 0.6, "{}", acid.confidence);
    // Single cores by the method that decides nothing, on its ground, change nothing.
    let water = key(Analyte::Ph, "water", "0-6 in");
    let chloride = key(Analyte::Ph, "cacl2", "0-6 in");
    let few = Made::one()
        .doubtful_layer(water, "pH", &[5.4], 1e-4, 16)
        .doubtful_layer(chloride, "pH", &[4.9], 1e-4, 2);
    assert!(told(&few, "methods-apart").is_none());
    // Side by side they cover the same ground.
    let mut beside = made;
    beside.field.places[1].x = beside.field.places[0].x.clone();
    assert!(told(&beside, "methods-apart").is_none());
}

#[test]
fn cores_of_another_allowed_depth_that_decide_nothing_are_told_with_their_number() {
    let shallow = key(Analyte::Ph, "water", "0-6 in");
    let deep = key(Analyte::Ph, "water", "0-8 in");
    let made = halves((shallow, 5.4), (deep, 6.6));
    let remark = told(&made, "cores-of-another-depth").expect("the remark");
    assert!(
        remark
            .what
            .contains("8 cores sampled 0-8 in decide nothing (pH): the 8 cores sampled 0-6 in"),
        "{}",
        remark.what
    );
    // At the same places nothing is lost.
    let mut both = made;
    both.field.places[1].x = both.field.places[0].x.clone();
    assert!(told(&both, "cores-of-another-depth").is_none());
}

/// Whether a remark is said where a number of the rulebook has another value.
fn is_told_from(made: &Made, code: &str, number: &str, value: f64) -> bool {
    let text = format!("[number.{number}]\nvalue = {value}\n");
    let rulebook = Rulebook::from_text(&text, "mine.toml").expect("sound");
    let remarks = made.diagnosis(&rulebook).remarks;
    remarks.iter().any(|remark| remark.code == code)
}

#[test]
fn the_shares_from_which_cores_are_told_of_are_the_rulebooks() {
    let acid = [5.9, 6.9, 6.9, 6.9, 6.9, 6.9, 6.9, 6.9];
    let acid = field(Analyte::Ph, "water", "pH", 6.7, &acid);
    let salty = [6.0, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 0.6];
    let salty = field(
        Analyte::ElectricalConductivity,
        "paste",
        "dS/m",
        0.9,
        &salty,
    );
    let water = key(Analyte::Ph, "water", "0-6 in");
    let chloride = key(Analyte::Ph, "cacl2", "0-6 in");
    let apart = halves((water, 5.4), (chloride, 6.8));
    for (made, code, number, told, not_told) in [
        (&acid, "cores-differ", "cores_across_from", 0.12, 0.13),
        (
            &salty,
            "cores-past-gate",
            "cores_past_gate_from",
            0.12,
            0.13,
        ),
        (&apart, "methods-apart", "cores_elsewhere_from", 0.3, 0.5),
    ] {
        assert!(is_told_from(made, code, number, told), "{number}");
        assert!(!is_told_from(made, code, number, not_told), "{number}");
    }
}

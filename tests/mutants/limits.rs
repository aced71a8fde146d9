//! Findings where a condition, a bound or another unit decides; see docs/mutation-testing.md.

use lowstave::analyte::Analyte::*;
use lowstave::diagnosis::{Finding, Outcome, ZoneDiagnosis};
use lowstave::rulebook::Factor;

use crate::ground::rules;
use crate::made_zones::{Made, key};

#[track_caller]
fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() < 1e-5 * wanted.abs().max(1.0),
        "{found} is not {wanted}"
    );
}

fn by(made: &Made, text: &str) -> ZoneDiagnosis {
    made.diagnosis(&rules(text)).zones.remove(0)
}

/// The rule of alkalinity for lean ground alone: organic matter below 5 %.
fn lean_only(if_unknown: bool) -> String {
    format!(
        "[rule.alkalinity.only_where.lean]\nanalyte = \"organic_matter\"\nside = \"below\"\nvalue = 5\nunit = \"%\"\nif_unknown = {if_unknown}\n\
         why = \"a test\"\nbasis = \"own\"\nsource = \"a test\"\n"
    )
}

/// 0-23 cm ends at the depth of the topsoil, 23 cm, and belongs to it: of two depths it is the deeper one, and tells.
#[test]
fn a_layer_that_ends_with_the_topsoil_is_of_it() {
    let made = Made::one()
        .layer(key(Ph, "water", "0-6 in"), "pH", &[9.0])
        .layer(key(OrganicMatter, "loi", "0-23 cm"), "%", &[1.0])
        .layer(key(OrganicMatter, "loi", "0-6 in"), "%", &[9.0]);
    let zone = by(&made, &lean_only(false));
    let found = zone.finding("alkalinity").expect("it");
    assert_eq!(found.outcome, Outcome::Limiting);
}

/// The one rule of a factor whose condition nobody measured says that it is not judged; it is not silent.
#[test]
fn the_only_rule_of_a_factor_tells_that_it_is_not_judged() {
    let made = Made::one().layer(key(Ph, "water", "0-6 in"), "pH", &[9.0]);
    let zone = by(&made, &lean_only(false));
    let mut findings = zone.findings.iter();
    let found = findings.find(|f| f.factor == Factor::Alkalinity);
    let found = found.unwrap_or_else(|| panic!("{:#?}", zone.findings));
    assert_eq!(found.value, Some(9.0));
    assert!(!found.is_settled());
}

/// Without a pH the test is asked for where the condition is not known, and not where it is known not to hold.
#[test]
fn a_test_is_asked_for_unless_the_rule_is_known_not_to_hold() {
    let is_asked = |made: &Made| {
        let zone = by(made, &lean_only(false));
        zone.not_known
            .iter()
            .any(|n| n.factor == Factor::Alkalinity)
    };
    let unknown = Made::one().layer(key(Phosphorus, "mehlich-3", "0-6 in"), "ppm", &[40.0]);
    assert!(is_asked(&unknown));
    let matter = |share: f64| {
        unknown
            .clone()
            .layer(key(OrganicMatter, "loi", "0-6 in"), "%", &[share])
    };
    assert!(is_asked(&matter(1.0)));
    assert!(!is_asked(&matter(9.0)));
}

/// The fewer observations of manganese and pH count, whichever it is: 101.7 + 3.75 x 5 - 15.2 x 6.6 is made of both.
#[test]
fn the_index_of_manganese_rests_on_the_fewer_observations() {
    for (manganese, ph) in [(1, 3), (3, 1)] {
        let made = Made::one()
            .doubtful_layer(
                key(Manganese, "mehlich-3", "0-6 in"),
                "ppm",
                &[5.0],
                0.1,
                manganese,
            )
            .doubtful_layer(key(Ph, "water", "0-6 in"), "pH", &[6.6], 0.01, ph);
        let zone = made.diagnosed().remove(0);
        assert_eq!(zone.finding("manganese_mehlich_3").expect("it").cores, 1);
    }
}

fn salt(made: &Made, text: &str) -> Finding {
    let zone = by(made, text);
    let mut findings = zone.findings.into_iter();
    findings.find(|f| f.factor == Factor::Salt).expect("salt")
}

fn extract(reading: f64, standard_error: f64) -> Made {
    let layer = key(ElectricalConductivity, "1:1", "0-6 in");
    Made::one().doubtful_layer(layer, "dS/m", &[reading], standard_error / reading, 4)
}

/// A rulebook that takes a 1:1 extract for no more than 1.5 times as salty in the paste: 0.6 dS/m are 0.6 to 0.9. To a crop that bears 0.5 that is too
/// much at the mildest: at least 0.6, though both ends are less than 1 apart.
#[test]
fn the_milder_end_of_a_narrow_range_is_told_as_at_least() {
    let text = "[crop.corn]\nsalt_threshold = 0.5\n[inference.ec_one_to_one]\nmost = [[1.5, 0]]\n";
    let found = salt(&extract(0.6, 1e-5), text);
    assert_eq!(found.outcome, Outcome::Limiting);
    close(found.value.expect("a value"), 0.6);
    assert!(
        found.sentence.contains("at least 0.6"),
        "{}",
        found.sentence
    );
}

/// 0.6 dS/m are 0.96 to 2.01: corn bears 1.7, so the limit is not settled; the gate, where a tenth of the yield is lost or more, is not passed.
#[test]
fn a_reading_on_the_sound_side_of_the_gate_closes_nothing() {
    let found = salt(&extract(0.6, 1e-5), "");
    assert_eq!(found.outcome, Outcome::NotComparable, "{found:#?}");
    assert!(!found.is_closing, "{found:#?}");
}

/// The lower bound of a 1:1 extract is the least of the rulebook's lines. At 1.6 dS/m that is 1.93 x - 0.57 = 2.518; from 1.727 on it is 1.6 x, so
/// that an error of 0.4 leads up to 3.2, by 0.682, where it would lead down by 0.772. The bound is as sure as a paste of 2.518 with that error.
#[test]
fn the_error_of_a_bound_is_that_of_a_step_up() {
    let paste = key(ElectricalConductivity, "paste", "0-6 in");
    let paste = Made::one().doubtful_layer(paste, "dS/m", &[2.518], 0.682 / 2.518, 4);
    let (bound, reading) = (salt(&extract(1.6, 0.4), ""), salt(&paste, ""));
    assert_eq!(bound.outcome, Outcome::Limiting);
    close(bound.value.expect("a value"), 2.518);
    assert!(
        (bound.confidence - reading.confidence).abs() < 1e-4,
        "{} is not {}",
        bound.confidence,
        reading.confidence
    );
}

/// 0.6894757 megapascals are 100 psi.
#[test]
fn a_cone_reading_in_megapascals_is_told_in_psi() {
    let made = Made::one().layer(key(ConeIndex, "average", "0-6 in"), "MPa", &[0.689_475_7]);
    let zone = made.diagnosed().remove(0);
    let mut findings = zone.findings.iter();
    let found = findings.find(|f| f.factor == Factor::Air && f.value.is_some());
    let found = found.unwrap_or_else(|| panic!("{:#?}", zone.findings));
    close(found.value.expect("a value"), 100.0);
    assert_eq!(found.unit, "psi");
}

//! Numbers of a zone by hand.

use lowstave::analyte::Analyte::*;
use lowstave::diagnosis::{Finding, Outcome};
use lowstave::rulebook::Factor;

use crate::made_zones::{Made, key};

fn close(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() < 1e-5 * wanted.abs().max(1.0),
        "{found} is not {wanted}"
    );
}

fn finding(made: &Made, factor: Factor) -> Finding {
    let zone = made.diagnosed().remove(0);
    let found = zone
        .findings
        .iter()
        .find(|f| f.factor == factor && matches!(f.outcome, Outcome::Limiting | Outcome::Adequate));
    found
        .unwrap_or_else(|| panic!("{:#?}", zone.findings))
        .clone()
}

/// Sixteen cells of a zone, alike in size: 5, 6, 7 and 9 four times each. The mean is 6.75, the spread sqrt((25 + 36 + 49 + 81) / 4 - 6.75²)
/// = sqrt(2.1875). The second zone has 100 and 104: 102 and 2.
#[test]
fn mean_and_spread_of_a_zone_are_those_of_its_cells() {
    let made = Made::new(&[10.0, 10.0]).cell_layer(
        key(Phosphorus, "mehlich-3", "0-6 in"),
        "ppm",
        |cell| {
            if cell < 16 {
                [5.0, 6.0, 7.0, 9.0][cell % 4]
            } else {
                [100.0, 104.0][cell % 2]
            }
        },
    );
    let mut found: Vec<(f64, f64, (f64, f64))> = (made.diagnosed().iter())
        .map(|zone| &zone.profile[0])
        .map(|layer| (layer.mean, layer.spread, layer.range))
        .collect();
    found.sort_by(|a, b| a.0.total_cmp(&b.0));
    close(found[0].0, 6.75);
    close(found[0].1, 2.1875_f64.sqrt());
    assert_eq!(found[0].2, (5.0, 9.0));
    close(found[1].0, 102.0);
    close(found[1].1, 2.0);
    assert_eq!(found[1].2, (100.0, 104.0));
}

/// A 1:1 extract at 0.2 dS/m: 0.32 to 0.67 in the paste (1.6 and 3.35 times the reading, the rulebook's own bounds), which harms nothing.
#[test]
fn the_upper_bound_of_a_diluted_extract_is_told_as_at_most() {
    let made = Made::one().layer(key(ElectricalConductivity, "1:1", "0-6 in"), "dS/m", &[0.2]);
    let found = finding(&made, Factor::Salt);
    assert_eq!(found.outcome, Outcome::Adequate);
    close(found.value.unwrap(), 0.67);
    assert!(
        found.sentence.contains("at most 0.67"),
        "{}",
        found.sentence
    );
    assert!(found.sentence.contains("0.2 dS/m"), "{}", found.sentence);
}

/// Calcium chloride at 4.3 bounds pH in water by 5.5: as sure as a reading of 5.5 in water that is known as well.
#[test]
fn a_bound_is_as_sure_as_a_reading_at_it() {
    let confidence = |method: &str, ph: f64| {
        let made = Made::one().doubtful_layer(key(Ph, method, "0-6 in"), "pH", &[ph], 0.3 / ph, 4);
        let found = finding(&made, Factor::Acidity);
        assert_eq!(found.outcome, Outcome::Limiting);
        found.confidence
    };
    let (bound, reading) = (confidence("cacl2", 4.3), confidence("water", 5.5));
    close(bound, reading);
    assert!(reading > 0.6 && reading < 0.999, "{reading}");
}

/// Fewer than three observations in a zone are told; three are not.
#[test]
fn few_observations_are_told_by_their_number() {
    let cautions = |cores: usize| {
        let layer = key(Phosphorus, "mehlich-3", "0-6 in");
        let made = Made::one().doubtful_layer(layer, "ppm", &[5.0], 0.01, cores);
        finding(&made, Factor::Phosphorus).cautions.join("; ")
    };
    assert!(cautions(0).contains("no observation lies inside this zone"));
    assert!(cautions(1).contains("rests on one observation inside this zone"));
    assert!(cautions(2).contains("rests on 2 observations inside this zone"));
    assert!(!cautions(3).contains("inside this zone"));
}

//! A core by itself that is past a threshold, and organic matter that no rule judges, are told of (all fields are invented).

use lowstave::analyte::Analyte;
use lowstave::remark::{Level, Remark};
use lowstave::rulebook::Rulebook;
use lowstave::surface::OddCore;

use crate::made_zones::{Made, key};

fn told(made: &Made, rulebook: &Rulebook, code: &str) -> Option<Remark> {
    let remarks = made.diagnosis(rulebook).remarks;
    remarks.into_iter().find(|remark| remark.code == code)
}

/// A sound field in which core A7 differs from its neighbours in so many layers; its pH is this.
fn with_odd_core(layers: usize, ph: f64) -> Made {
    let mut made = Made::one().sound();
    let of = [
        (key(Analyte::Ph, "water", "0-6 in"), "pH", ph, 6.6),
        (key(Analyte::BufferPh, "smp", "0-6 in"), "pH", 6.1, 6.8),
        (
            key(Analyte::CationExchangeCapacity, "sum", "0-6 in"),
            "meq/100 g",
            19.0,
            15.0,
        ),
        (
            key(Analyte::Magnesium, "ammonium-acetate", "0-6 in"),
            "ppm",
            150.0,
            200.0,
        ),
    ];
    for (key, unit, observed, predicted) in of.into_iter().take(layers) {
        made.surfaces.odd_cores.push(OddCore {
            key,
            unit: unit.into(),
            name: "core A7".into(),
            place: None,
            at: (25.0, 5.0),
            observed,
            predicted,
        });
    }
    made
}

#[test]
fn a_core_that_is_acid_among_sound_ones_in_many_layers_is_on_the_sheet() {
    let rulebook = Rulebook::built_in();
    let remark = told(&with_odd_core(4, 4.9), &rulebook, "lone-core").expect("the remark");
    assert_eq!(remark.level, Level::Warning);
    assert!(
        remark.what.starts_with("core A7 has pH (water, 0-6 in) 4.9, below 6, where its neighbours suggest 6.6; 4 of its results differ"),
        "{}",
        remark.what
    );
    // On the sound side of every threshold it is a note in the details, as before.
    assert!(told(&with_odd_core(4, 6.1), &rulebook, "lone-core").is_none());
}

#[test]
fn from_how_many_layers_a_core_is_told_of_is_the_rulebooks() {
    let two = with_odd_core(2, 4.9);
    assert!(told(&two, &Rulebook::built_in(), "lone-core").is_none());
    let text = "[number.lone_core_layers]\nvalue = 2\n";
    let looser = Rulebook::from_text(text, "mine.toml").expect("sound");
    assert!(told(&two, &looser, "lone-core").is_some());
}

#[test]
fn organic_matter_that_is_very_low_and_not_judged_is_told_with_the_key_that_judges_it() {
    let matter = |percent: f64| {
        let key = key(Analyte::OrganicMatter, "loi", "0-6 in");
        Made::one().sound().layer(key, "%", &[percent])
    };
    let rulebook = Rulebook::built_in();
    let remark = told(&matter(0.7), &rulebook, "organic-matter-not-judged").expect("the remark");
    assert!(remark.what.contains("0.7 %, very low"), "{}", remark.what);
    assert!(remark.what.contains("0.41 % carbon"), "{}", remark.what);
    let help = remark.help.expect("a way out");
    assert!(
        help.contains("organic_carbon = \"from organic matter\""),
        "{help}"
    );
    assert!(told(&matter(1.2), &rulebook, "organic-matter-not-judged").is_none());
    // Where carbon is known, it is judged.
    let carbon = key(Analyte::OrganicCarbon, "combustion", "0-6 in");
    let known = matter(0.7).layer(carbon, "%", &[0.4]);
    assert!(told(&known, &rulebook, "organic-matter-not-judged").is_none());
}

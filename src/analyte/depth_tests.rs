use super::*;

fn depth(text: &str) -> DepthRange {
    DepthRange::parse(text, None).unwrap()
}

#[test]
fn a_depth_is_told_as_it_was_sampled() {
    assert_eq!(depth("0-6 in").as_sampled(), "0-6 in");
    assert_eq!(depth("0-30 cm").as_sampled(), "0-30 cm");
    assert_eq!(depth("0 to 2\"").as_sampled(), "0-2 in");
}

#[test]
fn one_depth_in_two_spellings_is_one_depth() {
    assert_eq!(depth("0 – 6 inches"), depth("0-6 in"));
    assert_eq!(depth("15-30 cm"), depth("150-300 mm"));
    assert_ne!(depth("0-15 cm"), depth("0-6 in"));
    assert_eq!(depth("0-6 in").show(UnitSystem::Metric), "0-15 cm");
}

#[test]
fn what_is_no_depth_is_refused() {
    for text in ["6", "6-0 in", "0-6", "0-6 lb", "-", "0-900 in", ""] {
        assert!(DepthRange::parse(text, None).is_err(), "{text}");
    }
    assert!(DepthRange::parse("0-6", Some("in")).is_ok());
}

#[test]
fn depths_in_other_languages_are_read() {
    for text in [
        "0 a 20 cm",
        "de 0 a 20 cm",
        "0 bis 20 cm",
        "von 0 bis 20 cm",
        "0 à 20 cm",
        "0 até 20 cm",
        "0 hasta 20 cm",
    ] {
        assert_eq!(depth(text), depth("0-20 cm"), "{text}");
    }
}

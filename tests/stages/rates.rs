//! Stage tests: rates.

use lowstave::analyte::Analyte;

use crate::made_zones::{Made, find, key, quantity, rate};

fn close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1e-6, "{found} is not {wanted}");
}

#[test]
fn sound_ground_gets_the_usual_starter_and_nothing_else() {
    let prescription = Made::one().sound().prescribed();
    let zone = &prescription.zones[0];
    assert_eq!(prescription.products.len(), 1, "{:?}", prescription.products);
    close(rate(zone, "starter"), 3.0);
    println!("{}\n{:#?}", zone.reason, zone);
}

#[test]
fn short_carbon_closes_the_starter_and_brings_carbon() {
    let prescription = Made::one().sound().with(Analyte::CarbonNitrogenRatio, &[12.0]).prescribed();
    let zone = &prescription.zones[0];
    close(rate(zone, "starter"), 0.0);
    assert!(find(zone, "starter").unwrap().note.as_ref().unwrap().contains("check strip"));
    assert!(rate(zone, "compost") > 0.0);
    assert!(zone.reason.contains("12:1") && zone.reason.contains("16:1"), "{}", zone.reason);
    println!("{:#?}", zone);
}

#[test]
fn acid_ground_is_limed_by_the_buffers_rule() {
    let made = Made::one().sound().with(Analyte::Ph, &[5.4]).with(Analyte::BufferPh, &[6.5]);
    let prescription = made.prescribed();
    let zone = &prescription.zones[0];
    // Tri-State 1995, LTI 65 to pH 6.5: 60.4 - 0.87 x 65 = 3.85 ton/ac in 8 in of lime of 90 %; 6 in and 80 %: x 6/8 x 90/80 = 3.248 ton/ac.
    close(rate(zone, "lime"), 6490.0);
    println!("{:#?}", zone);
}

#[test]
fn calcium_short_on_neutral_ground_gets_gypsum() {
    let made = Made::one().sound().with(Analyte::CalciumSaturation, &[60.0]);
    let zone = &made.prescribed().zones[0];
    // 5 % of CEC 15 = 0.75 meq = 150 ppm of 1.8 million lb = 270 lb Ca; / 0.2328 / 0.9 = 1288.7 lb.
    close(rate(zone, "gypsum"), 1280.0);
    println!("{:#?}", zone);
    let _ = (key(Analyte::Ph, "", ""), quantity::<lowstave::units::Mass>("1 lb"));
}

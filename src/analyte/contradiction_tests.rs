use super::*;

fn said(name: &str, analyte: Analyte, method: Option<&str>) -> Option<String> {
    contradiction(name, &analyte, method.map(Method::new).as_ref())
}

#[test]
fn a_name_that_says_another_analyte_or_method_contradicts() {
    for (name, analyte, method) in [
        ("Buffer pH", Analyte::Ph, Some("water")),
        ("pH CaCl2", Analyte::Ph, Some("water")),
        ("Olsen P", Analyte::Phosphorus, Some("mehlich-3")),
        ("OM %", Analyte::OrganicCarbon, None),
        (
            "Olsen P spring 2026",
            Analyte::Phosphorus,
            Some("mehlich-3"),
        ),
        ("Organic matter of block 3", Analyte::OrganicCarbon, None),
        ("P2O5 ppm", Analyte::Potassium, None),
        ("Lime rec", Analyte::Calcium, None),
        ("K ppm", Analyte::Calcium, None),
    ] {
        assert!(
            said(name, analyte.clone(), method).is_some(),
            "{name} as {analyte}"
        );
    }
}

#[test]
fn a_name_that_agrees_or_says_nothing_does_not_contradict() {
    for (name, analyte, method) in [
        ("pH", Analyte::Ph, Some("cacl2")),
        ("pH CaCl2", Analyte::Ph, Some("cacl2")),
        ("Sikora buffer pH", Analyte::BufferPh, Some("sikora-2")),
        ("P1", Analyte::Phosphorus, Some("bray-1")),
        ("P1", Analyte::Phosphorus, None),
        ("Carbon %", Analyte::OrganicCarbon, None),
        ("Block B pH", Analyte::Ph, Some("water")),
        ("Ca-Sättigung", Analyte::CalciumSaturation, None),
        ("x17", Analyte::Zinc, Some("dtpa")),
        ("OM %", Analyte::Covariate("humus".into()), None),
    ] {
        assert_eq!(
            said(name, analyte.clone(), method),
            None,
            "{name} as {analyte}"
        );
    }
}

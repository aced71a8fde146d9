use super::*;

fn result(name: &str) -> (String, Option<String>, Option<String>) {
    match meaning_of(name) {
        Meaning::Result(found) => (
            found.analyte.name(),
            found.method.map(|m| m.name().to_owned()),
            found.unit,
        ),
        other => panic!("\"{name}\" was read as {other:?}"),
    }
}

#[test]
fn names_that_labs_print_are_split_in_analyte_method_and_unit() {
    for (name, analyte, method, unit) in [
        ("pH", "ph", None, None),
        ("Soil pH 1:1", "ph", Some("water"), None),
        ("CaCl2 pH", "ph", Some("cacl2"), None),
        ("ph_cacl2", "ph", Some("cacl2"), None),
        ("Buffer pH", "buffer_ph", None, None),
        ("SMP Buffer pH", "buffer_ph", Some("smp"), None),
        (
            "Organic Matter LOI %",
            "organic_matter",
            Some("loi"),
            Some("%"),
        ),
        ("Zinc ppm Zn", "zn", None, Some("ppm")),
        (
            "CEC/Sum of Cations me/100g",
            "cec",
            Some("sum"),
            Some("me/100g"),
        ),
        ("CEC (meq/100 g)", "cec", None, Some("meq/100g")),
        ("1:1 S Salts mmho/cm", "ec", Some("1:1"), Some("mmho/cm")),
        ("Ca_mg.kg", "ca", None, Some("mg.kg")),
        ("Mg ppm", "mg", None, Some("ppm")),
        ("Ca_ppm", "ca", None, Some("ppm")),
        ("Bray P1 (ppm)", "p", Some("bray-1"), Some("ppm")),
        ("Bray P-1", "p", Some("bray-1"), None),
        ("Olsen P", "p", Some("olsen"), None),
        ("Mehlich P-III", "p", Some("mehlich-3"), None),
        ("Mehlich\u{a0}3 K", "k", Some("mehlich-3"), None),
        ("%Ca Sat", "ca_pct", None, None),
        ("PERCA", "ca_pct", None, None),
        ("K % Base Saturation", "k_pct", None, None),
        ("C:N", "cn_ratio", None, None),
        ("Organic C:N", "cn_ratio", Some("water-extract"), None),
        ("soc_pct", "organic_carbon", None, Some("pct")),
        ("clay_pct", "clay", None, Some("pct")),
        ("B", "b", None, None),
        ("S lbs/ac", "s", None, Some("lbs/ac")),
        ("MG", "mg", None, None),
    ] {
        assert_eq!(
            result(name),
            (
                analyte.to_owned(),
                method.map(str::to_owned),
                unit.map(str::to_owned)
            ),
            "{name}"
        );
    }
}

#[test]
fn a_depth_in_the_name_is_taken_out_of_it() {
    let Meaning::Result(found) = meaning_of("pH 0-6in") else {
        panic!("pH at a depth")
    };
    assert_eq!(
        found.depth.map(|d| d.to_string()),
        Some("0-15.2 cm".to_owned())
    );
    let Meaning::Result(found) = meaning_of("OM % (15-30 cm)") else {
        panic!("organic matter at a depth")
    };
    assert_eq!(
        found.depth.map(|d| d.to_string()),
        Some("15-30 cm".to_owned())
    );
}

#[test]
fn recommendations_oxides_and_strange_names_are_not_results() {
    for name in [
        "N REC",
        "P2O5 REC",
        "LIME",
        "Lime Requirement t/ac",
        "K2O recommendation lb/ac",
    ] {
        assert_eq!(meaning_of(name), Meaning::Recommendation, "{name}");
    }
    assert_eq!(meaning_of("P2O5 ppm"), Meaning::Oxide(Analyte::Phosphorus));
    for name in [
        "era_ohm_m",
        "gamma_counts",
        "eca_ms_m",
        "Crop",
        "NO3-N",
        "total P",
        "Ca:Mg",
        "core",
        "Bray K",
        "2025",
        "",
    ] {
        assert_eq!(meaning_of(name), Meaning::Unknown, "{name}");
    }
}

#[test]
fn a_bare_carbon_column_is_a_tie() {
    assert_eq!(
        meaning_of("C %"),
        Meaning::Tie(vec!["organic_carbon".to_owned(), "total_carbon".to_owned()])
    );
}

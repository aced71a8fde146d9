use super::{in_unit, near, pounds_per_acre, two_million_pounds};
use lowstave::soil::{
    RockRelease, SUFFICIENCY_TABLES, SoilError, Sufficiency, SufficiencyTable, TableUnit,
    TextureClass, manganese_availability_index, phosphate_in_rock, phosphate_rock_release,
    phosphate_short, phosphate_to_build_up, texture_class,
};

fn class(table: &str, value: f64) -> Sufficiency {
    SufficiencyTable::named(table)
        .unwrap()
        .class_in_table_unit(value)
        .unwrap()
}

/// Rutgers NJAES Soil Testing Laboratory, "Relative levels of nutrients", in lb/ac: 20 ppm phosphorus is 40 lb/ac, low; read as 20 lb/ac it
/// would be very low. 60 ppm magnesium is 120 lb/ac, medium.
#[test]
fn new_jersey_classes_are_in_pounds_per_acre() {
    let phosphorus = SufficiencyTable::named("new-jersey-p").unwrap();
    assert_eq!(phosphorus.unit, TableUnit::PoundsPerAcre);
    assert_eq!(
        phosphorus.class_of_ppm(20.0, "mehlich-3"),
        Ok(Sufficiency::Low)
    );
    assert_eq!(
        phosphorus.class_in_table_unit(20.0),
        Ok(Sufficiency::VeryLow)
    );
    assert_eq!(
        SufficiencyTable::named("new-jersey-mg")
            .unwrap()
            .class_of_ppm(60.0, "mehlich-3"),
        Ok(Sufficiency::Medium)
    );
}

/// Rutgers: the printed edges of phosphorus, 0-24, 25-45, 46-71, 72-137, above 137; half open, so that nothing falls between.
#[test]
fn new_jersey_phosphorus_edges_are_half_open() {
    let edges = [
        (24.0, Sufficiency::VeryLow),
        (24.9, Sufficiency::VeryLow),
        (25.0, Sufficiency::Low),
        (45.9, Sufficiency::Low),
        (46.0, Sufficiency::Medium),
        (72.0, Sufficiency::High),
        (137.0, Sufficiency::High),
        (137.1, Sufficiency::VeryHigh),
    ];
    for (value, expected) in edges {
        assert_eq!(class("new-jersey-p", value), expected, "{value}");
    }
}

/// Rutgers: manganese availability index 101.7 + 3.75 Mn - 15.2 pH; 20 ppm at pH 6.5 is 77.9, adequate (25 to 100).
#[test]
fn manganese_index_of_20_ppm_at_ph_6_5_is_77_9() {
    let index = manganese_availability_index(20.0, 6.5).unwrap();
    near(index, 77.9, 1.0e-9);
    assert_eq!(class("new-jersey-mnai", index), Sufficiency::High);
    assert!(
        SufficiencyTable::named("new-jersey-mnai")
            .unwrap()
            .class_of_ppm(20.0, "mehlich-3")
            .is_err(),
        "20 ppm is no index of 20"
    );
}

/// Kansas State University, "Starter fertilizer for corn": below 20 low, 20 to 30 medium, above 30 high.
#[test]
fn kansas_phosphorus_edges() {
    assert_eq!(class("kansas-p", 19.9), Sufficiency::Low);
    assert_eq!(class("kansas-p", 20.0), Sufficiency::Medium);
    assert_eq!(class("kansas-p", 30.0), Sufficiency::Medium);
    assert_eq!(class("kansas-p", 30.1), Sufficiency::High);
}

/// Rutgers (published); University of Minnesota and Iowa State University (PM 1688, 2013) from memory: every edge of the five-class tables.
#[test]
fn every_edge_of_the_five_class_tables() {
    let rising = [
        Sufficiency::VeryLow,
        Sufficiency::Low,
        Sufficiency::Medium,
        Sufficiency::High,
        Sufficiency::VeryHigh,
    ];
    let tables = [
        ("new-jersey-p", [25.0, 46.0, 72.0, 137.01]),
        ("new-jersey-k", [41.0, 82.0, 146.0, 277.01]),
        ("new-jersey-mg", [46.0, 84.0, 144.0, 295.01]),
        ("new-jersey-ca", [616.0, 1_008.0, 1_401.0, 1_790.01]),
        ("minnesota-p-bray", [6.0, 11.0, 16.0, 21.0]),
        ("minnesota-p-olsen", [4.0, 8.0, 12.0, 16.0]),
        ("minnesota-k", [41.0, 81.0, 121.0, 161.0]),
        ("iowa-2013-p-bray", [11.0, 16.0, 21.0, 31.0]),
        ("iowa-2013-p-olsen", [7.0, 11.0, 15.0, 21.0]),
        ("iowa-2013-k", [121.0, 161.0, 201.0, 241.0]),
    ];
    for (table, edges) in tables {
        for (edge, pair) in edges.into_iter().zip(rising.windows(2)) {
            assert_eq!(class(table, edge - 0.02), pair[0], "{table} below {edge}");
            assert_eq!(class(table, edge), pair[1], "{table} at {edge}");
        }
    }
}

/// Rutgers, trace elements in ppm: critical and high; Iowa zinc by DTPA from memory.
#[test]
fn trace_element_edges() {
    for (table, critical, high) in [
        ("new-jersey-zn", 1.0, 50.0),
        ("new-jersey-cu", 0.5, 20.0),
        ("new-jersey-b", 0.5, 20.0),
        ("new-jersey-fe", 50.0, 100.0),
        ("new-jersey-mnai", 25.0, 100.0),
    ] {
        assert_eq!(class(table, critical - 0.01), Sufficiency::Low, "{table}");
        assert_eq!(class(table, critical), Sufficiency::High, "{table}");
        assert_eq!(class(table, high), Sufficiency::High, "{table}");
        assert_eq!(class(table, high + 0.01), Sufficiency::VeryHigh, "{table}");
    }
    assert_eq!(
        [0.4, 0.5, 0.8, 0.9].map(|value| class("iowa-zn", value)),
        [
            Sufficiency::Low,
            Sufficiency::Medium,
            Sufficiency::Medium,
            Sufficiency::High
        ]
    );
}

/// University of Florida IFAS, HS1229: extractants read differently on the same soil. A table refuses another extractant.
#[test]
fn a_table_refuses_another_extractant() {
    let table = SufficiencyTable::named("minnesota-p-olsen").unwrap();
    assert!(matches!(
        table.class_of_ppm(10.0, "bray-1"),
        Err(SoilError::NotComparable { .. })
    ));
    assert!(SufficiencyTable::named("atlantis-p").is_err());
    assert!(
        SUFFICIENCY_TABLES
            .iter()
            .all(|table| !table.source.is_empty())
    );
}

/// Derived: 10 ppm short of P in 2,000,000 lb is 20 lb P, 45.8 lb P2O5; the build-up form of Bulletin E-2567, from memory.
#[test]
fn phosphorus_short_of_the_critical_level() {
    near(
        in_unit(
            phosphate_short(10.0, 20.0, two_million_pounds()).unwrap(),
            "lb/ac",
        ),
        45.8,
        0.05,
    );
    near(
        in_unit(
            phosphate_to_build_up(10.0, 20.0, pounds_per_acre(18.0), 4.0).unwrap(),
            "lb/ac",
        ),
        45.0,
        1.0e-9,
    );
    assert_eq!(
        in_unit(
            phosphate_to_build_up(25.0, 20.0, pounds_per_acre(18.0), 4.0).unwrap(),
            "lb/ac"
        ),
        0.0
    );
}

/// IFDC/FAO and extension texts, from memory: useful below about pH 5.5 to 6.0; little above. The limits are arguments.
#[test]
fn phosphate_rock_wants_acid_soil() {
    let release = |ph| phosphate_rock_release(ph, 5.5, 6.2).unwrap();
    assert_eq!(release(5.2), RockRelease::Useful);
    assert_eq!(release(5.5), RockRelease::Slow);
    assert_eq!(release(6.2), RockRelease::Slow);
    assert_eq!(release(6.21), RockRelease::Little);
}

/// `common practice`: soft rock of 20 % total and 3 % available: 300 lb credits 9 lb and counts 60 lb.
#[test]
fn rock_credits_the_available_and_counts_the_total() {
    let phosphate = phosphate_in_rock(pounds_per_acre(300.0), 20.0, 3.0).unwrap();
    near(in_unit(phosphate.available, "lb/ac"), 9.0, 1.0e-9);
    near(in_unit(phosphate.total, "lb/ac"), 60.0, 1.0e-9);
    assert!(phosphate_in_rock(pounds_per_acre(300.0), 3.0, 20.0).is_err());
}

/// USDA Soil Survey Manual, texture triangle; one point well inside each class, from memory.
#[test]
fn texture_triangle_has_its_twelve_classes() {
    let points = [
        (92.0, 5.0, 3.0, TextureClass::Sand),
        (82.0, 12.0, 6.0, TextureClass::LoamySand),
        (65.0, 25.0, 10.0, TextureClass::SandyLoam),
        (48.0, 48.0, 4.0, TextureClass::SandyLoam),
        (40.0, 40.0, 20.0, TextureClass::Loam),
        (20.0, 65.0, 15.0, TextureClass::SiltLoam),
        (7.0, 87.0, 6.0, TextureClass::Silt),
        (60.0, 13.0, 27.0, TextureClass::SandyClayLoam),
        (60.0, 18.0, 22.0, TextureClass::SandyClayLoam),
        (33.0, 33.0, 34.0, TextureClass::ClayLoam),
        (10.0, 56.0, 34.0, TextureClass::SiltyClayLoam),
        (52.0, 6.0, 42.0, TextureClass::SandyClay),
        (6.0, 47.0, 47.0, TextureClass::SiltyClay),
        (20.0, 20.0, 60.0, TextureClass::Clay),
    ];
    for (sand, silt, clay, expected) in points {
        assert_eq!(
            texture_class(sand, silt, clay),
            Ok(expected),
            "{sand} {silt} {clay}"
        );
    }
    assert!(texture_class(50.0, 50.0, 20.0).is_err(), "120 % is no soil");
    assert!(TextureClass::SandyLoam.is_sandy() && !TextureClass::Loam.is_sandy());
}

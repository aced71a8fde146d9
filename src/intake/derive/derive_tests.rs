use super::derive;
use crate::analyte::{Analyte, DepthRange, LayerKey, Method};
use crate::intake::survey::{LayerColumn, PointTable, Qualifier};
use crate::plan::PointKind;
use crate::remark::{Level, Remark};

/// As in the built-in rulebook.
const FREE_LIME_PH: f64 = 7.3;

/// A table of cores at 0-6 in; each layer as `analyte method = values`.
fn table(layers: &[(&str, &str, &[f64])]) -> PointTable {
    let rows = layers.first().map_or(0, |(_, _, values)| values.len());
    PointTable {
        file: "cores.csv".into(),
        kind: PointKind::Cores,
        crs: "EPSG:4326".to_owned(),
        x: vec![0.0; rows],
        y: vec![0.0; rows],
        row: (2..).take(rows).collect(),
        id: None,
        layers: layers
            .iter()
            .map(|(analyte, method, values)| layer(analyte, method, values))
            .collect(),
        cone: None,
    }
}

fn depth() -> Option<DepthRange> {
    DepthRange::parse("0-6 in", None).ok()
}

fn layer(analyte: &str, method: &str, values: &[f64]) -> LayerColumn {
    let method = (!method.is_empty()).then(|| Method::new(method));
    LayerColumn {
        key: LayerKey::new(analyte.parse().unwrap(), method, depth()),
        column: format!("{analyte} col").into(),
        unit: "".into(),
        values: values.to_vec(),
        qualified: Vec::new(),
        derived: false,
    }
}

fn derived_from(layers: &[(&str, &str, &[f64])]) -> (PointTable, Vec<Remark>) {
    derived_with(layers, false)
}

fn derived_with(
    layers: &[(&str, &str, &[f64])],
    carbon_from_organic_matter: bool,
) -> (PointTable, Vec<Remark>) {
    let (mut table, mut remarks) = (table(layers), Vec::new());
    derive(
        &mut table,
        carbon_from_organic_matter,
        FREE_LIME_PH,
        &mut remarks,
    );
    (table, remarks)
}

/// The derived layer of an analyte.
fn new<'a>(table: &'a PointTable, analyte: &str) -> Option<&'a LayerColumn> {
    let analyte: Analyte = analyte.parse().unwrap();
    table
        .layers
        .iter()
        .find(|layer| layer.key.analyte == analyte && layer.derived)
}

#[track_caller]
fn assert_values(table: &PointTable, analyte: &str, expected: &[f64]) {
    let layer = new(table, analyte).unwrap_or_else(|| panic!("no derived {analyte}"));
    assert_eq!(layer.values.len(), expected.len());
    for (found, expected) in layer.values.iter().zip(expected) {
        let same = (found - expected).abs() < 1.0e-9 || (found.is_nan() && expected.is_nan());
        assert!(
            same,
            "{analyte}: found {:?}, expected {expected}",
            layer.values
        );
    }
}

fn codes(remarks: &[Remark], level: Level) -> Vec<&'static str> {
    remarks
        .iter()
        .filter(|remark| remark.level == level)
        .map(|remark| remark.code)
        .collect()
}

const AA: &str = "ammonium-acetate";

/// Bases of 8 meq: 6 Ca, 1.5 Mg, 0.4 K, 0.1 Na.
fn eight_meq() -> [(&'static str, &'static str, &'static [f64]); 4] {
    [
        ("ca", AA, &[1_200.0]),
        ("mg", AA, &[180.0]),
        ("k", AA, &[156.0]),
        ("na", AA, &[23.0]),
    ]
}

fn with<'a>(more: &[(&'a str, &'a str, &'a [f64])]) -> Vec<(&'a str, &'a str, &'a [f64])> {
    eight_meq()
        .into_iter()
        .chain(more.iter().copied())
        .collect()
}

#[test]
fn cec_and_saturations_follow_from_cations_and_the_buffers_own_formula() {
    let (smp, remarks) = derived_from(&with(&[
        ("ph", "water", &[5.4]),
        ("buffer_ph", "smp", &[6.4]),
    ]));
    assert_values(&smp, "cec", &[15.2]);
    assert_values(&smp, "ca_pct", &[100.0 * 6.0 / 15.2]);
    assert_values(&smp, "mg_pct", &[100.0 * 1.5 / 15.2]);
    assert_values(&smp, "k_pct", &[100.0 * 0.4 / 15.2]);
    assert_values(&smp, "na_pct", &[100.0 * 0.1 / 15.2]);
    assert_values(&smp, "h_pct", &[100.0 * 7.2 / 15.2]);
    assert_eq!(codes(&remarks, Level::Warning), Vec::<&str>::new());
    assert_eq!(codes(&remarks, Level::Info), ["derived-cation-exchange"]);
    let cec = new(&smp, "cec").unwrap();
    assert_eq!(cec.key.method, Some(Method::new("sum")));
    assert_eq!(cec.unit.as_ref(), "meq/100 g");
    assert!(
        cec.column.contains("acidity from buffer_ph col (smp)"),
        "{}",
        cec.column
    );

    let (coarse, _) = derived_from(&with(&[
        ("ph", "water", &[5.4]),
        ("buffer_ph", "adams-evans", &[7.7]),
    ]));
    assert_values(&coarse, "cec", &[10.4]);
}

#[test]
fn ph_seven_and_more_means_no_acidity_whatever_the_buffer_column_says() {
    let (table, remarks) = derived_from(&with(&[
        ("ph", "water", &[7.0]),
        ("buffer_ph", "smp", &[6.4]),
    ]));
    assert_values(&table, "cec", &[8.0]);
    assert_values(&table, "h_pct", &[0.0]);
    assert_eq!(codes(&remarks, Level::Warning), Vec::<&str>::new());
}

#[test]
fn an_unknown_buffer_gives_the_sum_of_bases_only_and_a_remark() {
    for method in ["", "mehlich", "modified-mehlich", "woodruff"] {
        let (table, remarks) = derived_from(&with(&[
            ("ph", "water", &[5.4]),
            ("buffer_ph", method, &[6.4]),
        ]));
        assert!(
            new(&table, "cec").is_none() && new(&table, "ca_pct").is_none(),
            "{method}"
        );
        assert_values(&table, "covariate:sum of bases", &[8.0]);
        assert_eq!(
            codes(&remarks, Level::Warning),
            ["cec-without-acidity"],
            "{method}"
        );
    }
}

#[test]
fn a_core_without_buffer_ph_gets_no_invented_acidity() {
    let nan = f64::NAN;
    let (table, remarks) = derived_from(&[
        ("ca", AA, &[1_200.0, 1_200.0, 1_200.0]),
        ("mg", AA, &[180.0, 180.0, 180.0]),
        ("k", AA, &[156.0, 156.0, 156.0]),
        ("ph", "water", &[5.4, 6.6, 7.1]),
        ("buffer_ph", "smp", &[6.4, nan, nan]),
    ]);
    assert_values(&table, "cec", &[15.1, nan, 7.9]);
    assert_values(&table, "covariate:sum of bases", &[7.9, 7.9, 7.9]);
    let look = remarks
        .iter()
        .find(|remark| remark.code == "cec-without-acidity")
        .unwrap();
    assert!(look.what.contains("row 3"), "{}", look.what);
    assert!(new(&table, "na_pct").is_none(), "sodium was not measured");
}

#[test]
fn the_few_cores_at_ph_seven_do_not_speak_for_a_table_without_a_buffer() {
    let (table, remarks) = derived_from(&[
        ("ca", AA, &[1_200.0, 1_200.0, 1_200.0]),
        ("mg", AA, &[180.0, 180.0, 180.0]),
        ("k", AA, &[156.0, 156.0, 156.0]),
        ("ph", "water", &[5.4, 7.1, 7.2]),
    ]);
    assert!(new(&table, "cec").is_none() && new(&table, "ca_pct").is_none());
    assert_values(&table, "covariate:sum of bases", &[7.9, 7.9, 7.9]);
    let look = remarks
        .iter()
        .find(|remark| remark.code == "cec-without-acidity")
        .unwrap();
    assert!(look.what.contains("for all cores"), "{}", look.what);
}

#[test]
fn a_laboratory_cec_is_kept_compared_and_used_for_the_saturations() {
    let (near, remarks) = derived_from(&with(&[
        ("ph", "water", &[5.4]),
        ("buffer_ph", "smp", &[6.4]),
        ("cec", "", &[15.0]),
    ]));
    assert!(new(&near, "cec").is_none());
    assert_values(&near, "ca_pct", &[40.0]);
    assert_values(&near, "h_pct", &[100.0 * 7.0 / 15.0]);
    assert_eq!(codes(&remarks, Level::Warning), Vec::<&str>::new());

    let (_, remarks) = derived_from(&with(&[
        ("ph", "water", &[5.4]),
        ("buffer_ph", "smp", &[6.4]),
        ("cec", "", &[20.8]),
    ]));
    assert_eq!(
        codes(&remarks, Level::Warning),
        ["laboratory-value-differs"]
    );
    let look = &remarks
        .iter()
        .find(|remark| remark.level == Level::Warning)
        .unwrap();
    assert!(
        look.what.contains("20.8") && look.what.contains("15.2"),
        "{}",
        look.what
    );
    assert_eq!(look.place.as_ref().unwrap().row, Some(2));
}

#[test]
fn a_laboratory_cec_needs_no_buffer() {
    let (table, remarks) = derived_from(&with(&[
        ("ph", "water", &[6.6]),
        ("cec", "displacement", &[10.0]),
    ]));
    assert_values(&table, "ca_pct", &[60.0]);
    assert_values(&table, "h_pct", &[20.0]);
    assert!(new(&table, "covariate:sum of bases").is_none());
    assert_eq!(codes(&remarks, Level::Warning), Vec::<&str>::new());
}

#[test]
fn bases_above_the_laboratorys_cec_leave_the_saturations_out() {
    let (table, remarks) = derived_from(&with(&[
        ("ph", "water", &[6.6]),
        ("cec", "displacement", &[6.0]),
    ]));
    assert!(new(&table, "ca_pct").is_none());
    assert_eq!(codes(&remarks, Level::Warning), ["bases-above-cec"]);
}

#[test]
fn a_laboratory_saturation_is_kept_and_a_far_one_remarked_on() {
    let (table, remarks) = derived_from(&with(&[
        ("ph", "water", &[5.4]),
        ("buffer_ph", "smp", &[6.4]),
        ("ca_pct", "", &[62.0]),
        ("cec", "", &[15.2]),
    ]));
    assert!(new(&table, "ca_pct").is_none());
    assert!(new(&table, "mg_pct").is_some());
    assert_eq!(
        codes(&remarks, Level::Warning),
        ["laboratory-value-differs"]
    );
}

#[test]
fn cations_of_different_extractants_or_depths_are_never_added() {
    let (table, remarks) = derived_from(&[
        ("ca", "mehlich-3", &[1_200.0]),
        ("mg", AA, &[180.0]),
        ("k", AA, &[156.0]),
        ("buffer_ph", "smp", &[6.4]),
    ]);
    assert_eq!(table.layers.iter().filter(|layer| layer.derived).count(), 0);
    assert_eq!(
        codes(&remarks, Level::Info),
        ["cations-of-different-extractants"]
    );

    let mut deep = self::table(&with(&[
        ("ph", "water", &[5.4]),
        ("buffer_ph", "smp", &[6.4]),
    ]));
    deep.layers[1].key.depth = DepthRange::parse("6-12 in", None).ok();
    let mut remarks = Vec::new();
    derive(&mut deep, false, FREE_LIME_PH, &mut remarks);
    assert_eq!(deep.layers.iter().filter(|layer| layer.derived).count(), 0);
}

#[test]
fn free_lime_is_looked_at_even_where_only_the_laboratory_figured() {
    let (_, computed) = derived_from(&with(&[("ph", "water", &[7.9])]));
    assert_eq!(
        codes(&computed, Level::Warning),
        ["free-lime-inflates-calcium"]
    );
    let (_, printed) = derived_from(&[
        ("ph", "water", &[7.9, 6.1]),
        ("cec", "", &[24.0, 12.0]),
        ("ca_pct", "", &[86.0, 70.0]),
    ]);
    assert_eq!(
        codes(&printed, Level::Warning),
        ["free-lime-inflates-calcium"]
    );
    let (_, none) = derived_from(&[("ph", "water", &[7.9]), ("k", AA, &[120.0])]);
    assert!(none.is_empty());
}

#[test]
fn a_reading_outside_a_formulas_range_is_remarked_on_and_not_used() {
    let (table, remarks) = derived_from(&with(&[
        ("ph", "water", &[5.4]),
        ("buffer_ph", "adams-evans", &[5.9]),
    ]));
    assert!(new(&table, "cec").is_none());
    assert_eq!(
        codes(&remarks, Level::Warning),
        ["cec-without-acidity", "cation-exchange-out-of-range"]
    );
}

#[test]
fn cn_ratio_follows_from_carbon_and_nitrogen_of_one_extract() {
    let (table, remarks) = derived_from(&[
        ("water_carbon", "", &[200.0, 90.0]),
        ("water_nitrogen", "", &[15.0, 10.0]),
        ("total_carbon", "combustion", &[1.8, 2.0]),
        ("total_nitrogen", "combustion", &[0.15, 0.2]),
    ]);
    let ratios: Vec<(&str, &[f64])> = table
        .layers
        .iter()
        .filter(|layer| layer.derived)
        .map(|layer| {
            (
                layer.key.method.as_ref().unwrap().name(),
                layer.values.as_slice(),
            )
        })
        .collect();
    assert_eq!(
        ratios,
        [
            ("water-extract", &[200.0 / 15.0, 9.0][..]),
            ("combustion", &[1.8 / 0.15, 10.0][..])
        ]
    );
    assert_eq!(
        codes(&remarks, Level::Info),
        ["derived-cn-ratio", "derived-cn-ratio"]
    );
}

#[test]
fn water_extracts_of_different_dilution_are_never_divided() {
    let (table, remarks) = derived_from(&[
        ("water_carbon", "1:10", &[200.0]),
        ("water_nitrogen", "1:20", &[15.0]),
    ]);
    assert!(new(&table, "cn_ratio").is_none() && remarks.is_empty());
    let (table, _) = derived_from(&[
        ("water_carbon", "", &[200.0]),
        ("total_nitrogen", "", &[0.15]),
    ]);
    assert!(new(&table, "cn_ratio").is_none());
}

#[test]
fn organic_carbon_comes_before_total_carbon_and_carbonate_is_left_out() {
    let (organic, _) = derived_from(&[
        ("total_carbon", "combustion", &[3.0]),
        ("organic_carbon", "combustion", &[1.5]),
        ("total_nitrogen", "combustion", &[0.15]),
        ("ph", "water", &[7.9]),
    ]);
    assert_values(&organic, "cn_ratio", &[10.0]);
    let (total, remarks) = derived_from(&[
        ("total_carbon", "combustion", &[3.0, 1.5]),
        ("total_nitrogen", "", &[0.15, 0.15]),
        ("ph", "water", &[7.9, 6.5]),
    ]);
    assert_values(&total, "cn_ratio", &[f64::NAN, 10.0]);
    assert_eq!(
        codes(&remarks, Level::Warning),
        ["carbonate-in-total-carbon"]
    );
}

#[test]
fn a_laboratory_ratio_is_kept_and_a_far_one_remarked_on() {
    let panel: [(&str, &str, &[f64]); 2] = [
        ("water_carbon", "", &[200.0]),
        ("water_nitrogen", "", &[15.0]),
    ];
    for (printed, looks) in [(13.3, 0), (11.0, 1)] {
        let own = [printed];
        let layers: Vec<_> = panel
            .into_iter()
            .chain([("cn_ratio", "water-extract", &own[..])])
            .collect();
        let (table, remarks) = derived_from(&layers);
        assert!(new(&table, "cn_ratio").is_none());
        assert_eq!(codes(&remarks, Level::Warning).len(), looks, "{printed}");
    }
}

#[test]
fn organic_matter_becomes_carbon_only_where_the_plan_says_so() {
    let layers: [(&str, &str, &[f64]); 2] = [
        ("organic_matter", "loi", &[3.448]),
        ("total_nitrogen", "combustion", &[0.2]),
    ];
    let (silent, remarks) = derived_with(&layers, false);
    assert!(
        new(&silent, "organic_carbon").is_none()
            && new(&silent, "cn_ratio").is_none()
            && remarks.is_empty()
    );

    let (asked, remarks) = derived_with(&layers, true);
    assert_values(&asked, "organic_carbon", &[2.0]);
    assert_values(&asked, "cn_ratio", &[10.0]);
    assert_eq!(
        new(&asked, "cn_ratio").unwrap().key.method,
        Some(Method::new("from-organic-matter"))
    );
    assert!(remarks.iter().any(|remark| remark.what.contains("1.724")));

    let (measured, _) = derived_with(
        &[
            ("organic_matter", "loi", &[3.448]),
            ("organic_carbon", "combustion", &[1.6]),
        ],
        true,
    );
    assert!(new(&measured, "organic_carbon").is_none());
}

#[test]
fn what_rests_on_a_qualified_result_is_an_estimate() {
    let mut table = table(&with(&[
        ("ph", "water", &[5.4]),
        ("buffer_ph", "smp", &[6.4]),
    ]));
    table.layers[3].qualified.push((0, Qualifier::Below(46.0)));
    derive(&mut table, false, FREE_LIME_PH, &mut Vec::new());
    assert_eq!(
        new(&table, "cec").unwrap().qualified,
        [(0, Qualifier::Estimated)]
    );
}

#[test]
fn deriving_twice_adds_nothing() {
    let mut table = table(&with(&[
        ("ph", "water", &[5.4]),
        ("buffer_ph", "smp", &[6.4]),
    ]));
    derive(&mut table, true, FREE_LIME_PH, &mut Vec::new());
    let before = table.layers.len();
    derive(&mut table, true, FREE_LIME_PH, &mut Vec::new());
    assert_eq!(table.layers.len(), before);
}

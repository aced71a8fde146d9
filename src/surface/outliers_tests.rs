use super::*;

/// sqrt(2 ln(20 n)): 3.311 at 12, where 3.5 holds, and 3.899 at 100.
#[test]
fn the_limit_of_what_is_odd() {
    assert_eq!(least_z(12), 3.5);
    assert!((least_z(100) - 3.898_9).abs() < 1e-3, "{}", least_z(100));
}

/// Median 3; 2, 1, 0, 1 and 97 off it, of which 1 is the middle: 1 / 0.6745.
#[test]
fn the_middle_and_the_spread() {
    let (middle, spread) = middle_and_spread(&[1.0, 2.0, 3.0, 4.0, 100.0]);
    assert_eq!(middle, 3.0);
    assert!((spread - 1.0 / 0.674_5).abs() < 1e-12, "{spread}");
}

#[test]
fn values_come_back_from_their_logarithms() {
    assert_eq!(Scale::Plain.back(7.5), 7.5);
    assert!((Scale::Logarithm.back(7.5_f64.ln()) - 7.5).abs() < 1e-12);
}

/// The first observation of a second table is in its second row, not beyond the first table.
#[test]
fn an_observation_is_found_in_its_own_table() {
    use crate::analyte::Analyte;
    use crate::field::{FieldLayer, Grid, Places, WorkingCrs};
    let table = |file: &str, x: f64| Places {
        file: file.into(),
        kind: crate::plan::PointKind::Cores,
        x: vec![x, x + 1.0, x + 2.0],
        y: vec![0.0; 3],
        row: vec![2, 3, 4],
        id: None,
        outside: Vec::new(),
    };
    let key = crate::analyte::LayerKey::new(Analyte::Ph, None, None);
    let layer = |places: usize| FieldLayer {
        key: key.clone(),
        places,
        column: "pH".into(),
        unit: "".into(),
        values: vec![6.0, 6.1, 6.2],
        qualified: Vec::new(),
        derived: false,
    };
    let field = Field {
        crs: WorkingCrs {
            longitude: -95.0,
            latitude: 41.0,
        },
        boundary: geo::MultiPolygon::new(Vec::new()),
        workable: geo::MultiPolygon::new(Vec::new()),
        kept_out: Vec::new(),
        area_m2: 1.0,
        workable_m2: 1.0,
        grid: Grid {
            west: 0.0,
            north: 1.0,
            cell: 1.0,
            columns: 1,
            rows: 1,
            cells: vec![0],
            share: vec![1.0],
        },
        places: vec![table("first.csv", 0.0), table("second.csv", 10.0)],
        layers: vec![layer(0), layer(1)],
        cones: vec![None, None],
        remarks: Vec::new(),
    };
    let groups = super::super::joined::join(&field);
    let found = |observation| whereabouts(&field, &groups[0].layers[0], observation);
    for (observation, file, row, x) in [(2, "first.csv", 4, 2.0), (3, "second.csv", 2, 10.0)] {
        let (place, _, at) = found(observation);
        let place = place.unwrap();
        assert_eq!((&*place.file, place.row), (file, Some(row)));
        assert_eq!(at, (x, 0.0));
    }
}

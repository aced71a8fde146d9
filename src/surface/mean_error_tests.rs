use super::*;

fn places() -> Vec<(f64, f64)> {
    vec![
        (0.0, 0.0),
        (40.0, 5.0),
        (90.0, 0.0),
        (10.0, 60.0),
        (55.0, 50.0),
        (95.0, 70.0),
        (5.0, 110.0),
        (60.0, 105.0),
        (100.0, 100.0),
        (50.0, 52.0),
    ]
}

fn error(map: Option<Weighing>) -> f64 {
    let covariance = Covariance {
        nugget: 0.1,
        shared: 0.3,
        range: 40.0,
    };
    let grid = Grid {
        west: 40.0,
        north: 60.0,
        cell: 10.0,
        columns: 2,
        rows: 2,
        cells: vec![0, 1, 2, 3],
        share: vec![1.0; 4],
    };
    let error = MeanError::new(places(), covariance, map);
    error.of(&grid, &[0, 1, 2, 3]).unwrap()
}

/// Check values of `tests/reference/interpolation/mean_error.py`, which multiplies the whole covariance matrix out.
#[test]
fn the_error_of_a_mean_is_that_of_an_independent_script() {
    let weighing = |is_tilted| Weighing {
        power: Power(2.0),
        count: 10,
        is_tilted,
    };
    for (found, expected) in [
        (error(None), 0.490_210_822_401_949_5),
        (error(Some(weighing(false))), 0.365_243_424_707_727_47),
        (error(Some(weighing(true))), 0.364_871_732_802_061_64),
    ] {
        assert!((found - expected).abs() < 1e-9, "{found} {expected}");
    }
}

/// A grid of 60 columns: the middles of 24 stretches of its 3,600 cells fall into two columns alone.
#[test]
fn the_cells_that_stand_for_a_zone_lie_in_many_columns() {
    for len in [1_800, 3_600, 24, 7, 1] {
        let cells: Vec<usize> = (0..len).collect();
        let mut columns: Vec<usize> = spread_out(&cells).map(|cell| cell % 60).collect();
        assert_eq!(columns.len(), len.min(CELLS));
        columns.sort_unstable();
        columns.dedup();
        assert!(columns.len() >= len.min(16), "{len}: {columns:?}");
    }
}

#[test]
fn the_nearest_come_with_those_that_tie() {
    let places = [(1.0, 0.0), (0.0, 1.0), (5.0, 0.0), (-1.0, 0.0)];
    let found = nearest(&places, (0.0, 0.0), 2);
    let sites: Vec<u32> = found.iter().map(|near| near.site).collect();
    assert_eq!(sites, [0, 1, 3]);
    assert_eq!(nearest(&places, (0.0, 0.0), 9).len(), 4);
}

use super::*;
use geo::polygon;

fn zone(west: f64, east: f64) -> MultiPolygon<f64> {
    MultiPolygon::new(vec![
        polygon![(x: west, y: 0.0), (x: east, y: 0.0), (x: east, y: 10.0), (x: west, y: 10.0)],
    ])
}

/// Ten metres by ten.
fn whole() -> MultiPolygon<f64> {
    zone(0.0, 10.0)
}

#[test]
fn two_halves_tile() {
    let (a, b) = (zone(0.0, 5.0), zone(5.0, 10.0));
    assert_eq!(prove(&[&a, &b], Some(&whole())), Ok(()));
}

#[test]
fn a_gap_an_overlap_and_a_vertex_that_is_not_shared_are_found() {
    let (a, b) = (zone(0.0, 5.0), zone(5.001, 10.0));
    assert!(
        prove(&[&a, &b], Some(&whole()))
            .unwrap_err()
            .contains("add up")
    );
    let b = zone(4.999, 10.0);
    assert!(
        prove(&[&a, &b], Some(&whole()))
            .unwrap_err()
            .contains("add up")
    );
    let b = MultiPolygon::new(vec![
        polygon![(x: 5.0, y: 0.0), (x: 10.0, y: 0.0), (x: 10.0, y: 10.0), (x: 5.0, y: 10.0), (x: 5.0, y: 6.0)],
    ]);
    assert!(
        prove(&[&a, &b], Some(&whole()))
            .unwrap_err()
            .contains("outer edges")
    );
}

#[test]
fn the_same_ground_twice_is_found() {
    let a = zone(0.0, 5.0);
    assert!(prove(&[&a, &a], None).unwrap_err().contains("same side"));
}

use super::*;

/// 3 + 0.5 x - 0.25 y at five places that do not lie on a line; their centre is (22, 18).
fn sloping() -> Plane {
    let places = [
        (0.0, 0.0),
        (40.0, 0.0),
        (0.0, 40.0),
        (40.0, 40.0),
        (30.0, 10.0),
    ];
    Plane::through(
        places
            .into_iter()
            .map(|(x, y)| ((x, y), 3.0 + 0.5 * x - 0.25 * y)),
    )
    .unwrap()
}

fn close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() < 1e-9, "{found} is not {wanted}");
}

#[test]
fn a_plane_through_points_of_a_plane_is_that_plane() {
    let plane = sloping();
    for (x, y) in [(0.0, 0.0), (10.0, 4.0), (-8.0, 60.0), (22.0, 18.0)] {
        close(plane.at(x, y), 3.0 + 0.5 * x - 0.25 * y);
    }
}

/// The values lie between -7, at (0, 40), and 23, at (40, 0).
#[test]
fn what_is_added_to_the_plane_stays_within_the_observations() {
    let plane = sloping();
    close(plane.added_to(1.5, 10.0, 4.0), 8.5);
    close(plane.added_to(-20.0, 10.0, 4.0), -7.0);
    close(plane.added_to(0.0, 80.0, 0.0), 23.0);
    close(plane.added_to(-0.5, 40.0, 0.0), 22.5);
}

#[test]
fn a_straight_transect_has_no_plane() {
    let line = (0..5).map(|i| ((f64::from(i), 2.0 * f64::from(i)), f64::from(i)));
    assert!(Plane::through(line).is_none());
}

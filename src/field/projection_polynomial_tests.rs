use super::*;

#[test]
fn the_polynomial_is_projs_own_plane_to_a_ten_millionth_of_a_metre() {
    for (longitude, latitude) in [
        (-93.02, 42.0),
        (13.4, 52.1),
        (25.0, 69.5),
        (36.8, -1.3),
        (147.0, -42.9),
    ] {
        for half_degree in [0.002, 0.02, 0.2] {
            let crs = WorkingCrs::centred_on(longitude, latitude);
            let (lon, lat) = (half_degree * 1.3, half_degree * 0.8);
            let projection_polynomial = ProjectionPolynomial::new(
                &crs,
                (
                    longitude - lon,
                    latitude - lat,
                    longitude + lon * 0.9,
                    latitude + lat,
                ),
            )
            .expect("a projection");
            let projection_polynomial = projection_polynomial.expect("a projection_polynomial");
            let mut worst = 0.0_f64;
            for i in 0..=50 {
                for j in 0..=50 {
                    let share = |k: i32| 2.0 * f64::from(k) / 50.0 - 1.0;
                    let degrees = (longitude + lon * share(i), latitude + lat * share(j));
                    let mut place = [degrees];
                    crs.project(&mut place).expect("a place on the plane");
                    let (east, north) = projection_polynomial.metres(degrees.0, degrees.1);
                    worst = worst
                        .max((east - place[0].0).abs())
                        .max((north - place[0].1).abs());
                }
            }
            assert!(
                worst < CLOSE_M,
                "{worst} m at {longitude}, {latitude}, {half_degree} degrees"
            );
        }
    }
}

#[test]
fn a_place_outside_the_box_is_not_held() {
    let crs = WorkingCrs::centred_on(10.0, 50.0);
    let projection_polynomial = ProjectionPolynomial::new(&crs, (9.99, 49.99, 10.01, 50.01))
        .expect("a projection")
        .expect("a projection_polynomial");
    assert!(projection_polynomial.holds(10.0, 50.0) && projection_polynomial.holds(9.991, 50.009));
    assert!(
        !projection_polynomial.holds(10.02, 50.0)
            && !projection_polynomial.holds(10.0, 50.011)
            && !projection_polynomial.holds(f64::NAN, 50.0)
    );
}

#[test]
fn a_box_wider_than_any_field_has_no_chart() {
    let crs = WorkingCrs::centred_on(10.0, 50.0);
    assert!(
        ProjectionPolynomial::new(&crs, (5.0, 45.0, 15.0, 55.0))
            .expect("a projection")
            .is_none()
    );
}

#[test]
fn columns_are_the_places_one_by_one() {
    let crs = WorkingCrs::centred_on(10.0, 50.0);
    let projection_polynomial = ProjectionPolynomial::new(&crs, (9.99, 49.99, 10.01, 50.01))
        .expect("a projection")
        .expect("a projection_polynomial");
    let degrees: Vec<(f64, f64)> = (0..101)
        .map(|i| {
            (
                9.9905 + f64::from(i) * 2e-4,
                49.991 + f64::from(i * 37 % 101) * 1.7e-4,
            )
        })
        .collect();
    let (mut x, mut y): (Vec<f64>, Vec<f64>) = degrees.iter().copied().unzip();
    let others = projection_polynomial.columns(&mut x, &mut y);
    assert!(
        !others.is_empty() && others.len() < 20,
        "some places lie outside: {others:?}"
    );
    for (at, &(longitude, latitude)) in degrees.iter().enumerate() {
        assert_eq!(
            others.contains(&at),
            !projection_polynomial.holds(longitude, latitude)
        );
        let expected = if others.contains(&at) {
            (longitude, latitude)
        } else {
            projection_polynomial.metres(longitude, latitude)
        };
        assert_eq!((x[at], y[at]), expected);
    }
}

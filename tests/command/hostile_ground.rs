//! Outlines and keep-outs that cannot be worked are the user's to mend: exit code 2, with words.

use crate::farm::Farm;

fn feature(coordinates: &str, kind: &str) -> String {
    format!(
        r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{}},"geometry":{{"type":"{kind}","coordinates":{coordinates}}}}}]}}"#
    )
}

/// A square ring, lower left corner and side in thousandths of a degree from the field's corner.
fn ring(east: f64, north: f64, side: f64) -> String {
    let at = |e: f64, n: f64| format!("[{:.7},{:.7}]", -96.5 + e / 1_000.0, 41.2 + n / 1_000.0);
    let (e, n, s) = (east, north, side);
    format!(
        "[{},{},{},{},{}]",
        at(e, n),
        at(e + s, n),
        at(e + s, n + s),
        at(e, n + s),
        at(e, n)
    )
}

fn refused_with_words(farm: Farm, case: &str) {
    let ran = farm.refused();
    assert_eq!(ran.code, 2, "{case}: {}", ran.stderr);
    assert!(
        !ran.stderr.contains("fault of its own"),
        "{case}: {}",
        ran.stderr
    );
    assert!(
        ran.stderr.contains("boundary.geojson") || ran.stderr.contains("plan.toml"),
        "{case}: {}",
        ran.stderr
    );
}

#[test]
fn polygons_inside_polygons_and_stray_holes_are_refused() {
    let big = ring(0.0, 0.0, 4.0);
    for (case, coordinates) in [
        (
            "a polygon inside a polygon",
            format!("[[{big}],[{}]]", ring(1.0, 1.0, 1.0)),
        ),
        ("the same polygon twice", format!("[[{big}],[{big}]]")),
        (
            "a hole outside",
            format!("[[{big},{}]]", ring(6.0, 1.0, 1.0)),
        ),
        (
            "a hole in a hole",
            format!("[[{big},{},{}]]", ring(1.0, 1.0, 2.0), ring(1.5, 1.5, 0.5)),
        ),
        ("a hole as large as the field", format!("[[{big},{big}]]")),
        (
            "the same hole twice",
            format!("[[{big},{0},{0}]]", ring(1.0, 1.0, 2.0)),
        ),
    ] {
        refused_with_words(
            Farm::good().boundary(feature(&coordinates, "MultiPolygon")),
            case,
        );
    }
}

#[test]
fn a_distance_of_1e300_is_refused() {
    for distance in ["1e300 ft", "1e308 m", "1e9 m", "99999999 ft"] {
        let mut farm = Farm::good();
        farm.plan += &format!(
            "\n[[keep_out]]\nfile = \"boundary.geojson\"\ndistance = \"{distance}\"\nwhy = \"creek\"\n"
        );
        refused_with_words(farm, distance);
    }
}

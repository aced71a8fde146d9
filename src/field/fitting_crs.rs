//! The coordinate system of points that nobody names: the one in which they fall on the field.

use super::projection::ToDegrees;

/// Degrees round the field within which a point counts as on it (own: some hundred metres).
const NEAR_DEGREES: f64 = 0.005;
/// From this share of points on the field on, no further system is tried (own).
const ENOUGH: f64 = 0.95;
/// Under this share, none fits (own).
const LEAST: f64 = 0.5;

/// A coordinate system in which points fall on a field.
#[derive(Debug, Clone, PartialEq)]
pub struct FittingCrs {
    /// Its code.
    pub crs: String,
    /// How many of the points fall on the field.
    pub inside: usize,
    /// Of how many.
    pub of: usize,
    /// Whether they do so only with east and north exchanged.
    pub is_swapped: bool,
}

impl FittingCrs {
    /// What trying cannot tell of a projected system, in words.
    #[must_use]
    pub fn open_question(&self) -> Option<&'static str> {
        let code: i32 = self.crs.strip_prefix("EPSG:")?.parse().ok()?;
        match code {
            2_222..=2_289 | 3_417..=3_438 | 3_734..=3_760 | 26_847..=26_870 => Some(
                "in feet; trying cannot tell US survey feet from international feet (4 ft apart at 2,000,000 ft)",
            ),
            26_901..=26_923 | 25_828..=25_838 | 32_601..=32_760 => {
                Some("trying cannot tell the datum: WGS 84, NAD83 and ETRS89 differ by 1 to 2 m")
            }
            _ => None,
        }
    }
}

/// Tries degrees, the field's own system, and the usual projected ones of its part of the world; `corners` are two corners of the
/// field in `crs`. `None` where the points fall on the field in none of them.
#[must_use]
pub fn fitting_crs(
    crs: &str,
    corners: [(f64, f64); 2],
    points: &[(f64, f64)],
) -> Option<FittingCrs> {
    let to_degrees = ToDegrees::from(crs).ok()?;
    let [low, high] = corners.map(|(x, y)| to_degrees.point(x, y).ok());
    let ((west, south), (east, north)) = (low?, high?);
    let is_on_field = |(x, y): (f64, f64)| {
        (west - NEAR_DEGREES..=east + NEAR_DEGREES).contains(&x)
            && (south - NEAR_DEGREES..=north + NEAR_DEGREES).contains(&y)
    };
    let mut best: Option<FittingCrs> = None;
    let middle = (f64::midpoint(west, east), f64::midpoint(south, north));
    for code in candidates(crs, middle) {
        let Ok(system) = ToDegrees::from(&code) else {
            continue;
        };
        for is_swapped in [false, true] {
            let order = |(x, y): (f64, f64)| if is_swapped { (y, x) } else { (x, y) };
            let place = |point: &(f64, f64)| {
                let (x, y) = order(*point);
                system.point(x, y).ok()
            };
            let inside = points
                .iter()
                .filter_map(place)
                .filter(|at| is_on_field(*at))
                .count();
            if inside > best.as_ref().map_or(0, |best| best.inside) {
                best = Some(FittingCrs {
                    crs: code.clone(),
                    inside,
                    of: points.len(),
                    is_swapped,
                });
            }
        }
        if best
            .as_ref()
            .is_some_and(|best| best.inside as f64 >= ENOUGH * points.len() as f64)
        {
            break;
        }
    }
    best.filter(|best| best.inside as f64 >= LEAST * points.len() as f64)
}

/// Codes to try, likeliest first (EPSG registry: UTM of WGS 84, NAD83 and ETRS89, national grids, state planes of NAD83 in metres and feet).
fn candidates(own: &str, (longitude, latitude): (f64, f64)) -> Vec<String> {
    let mut codes = vec![own.to_owned(), "EPSG:4326".to_owned()];
    let zone = ((longitude + 180.0) / 6.0).floor() as i32 + 1;
    for zone in [zone, zone - 1, zone + 1]
        .into_iter()
        .filter(|zone| (1..=60).contains(zone))
    {
        let base = if latitude < 0.0 { 32_700 } else { 32_600 };
        codes.push(format!("EPSG:{}", base + zone));
        if (1..=23).contains(&zone) && latitude > 0.0 {
            codes.push(format!("EPSG:{}", 26_900 + zone));
        }
        if (28..=38).contains(&zone) && latitude > 30.0 {
            codes.push(format!("EPSG:{}", 25_800 + zone));
        }
    }
    codes.push("EPSG:3857".to_owned());
    let is_in = |west: f64, east: f64, south: f64, north: f64| {
        (west..=east).contains(&longitude) && (south..=north).contains(&latitude)
    };
    let regions: [(bool, &[std::ops::RangeInclusive<i32>]); 5] = [
        (
            is_in(5.0, 16.0, 47.0, 56.0),
            // The last three have the zone's number before the easting.
            &[31_466..=31_469, 5_676..=5_679, 4_647..=4_647, 5_649..=5_650],
        ),
        (is_in(-9.0, 2.5, 49.0, 61.0), &[27_700..=27_700]),
        (
            is_in(-5.5, 10.0, 41.0, 51.5),
            &[2_154..=2_154, 31_370..=31_370],
        ),
        (is_in(3.0, 7.5, 50.5, 54.0), &[28_992..=28_992]),
        (
            is_in(-180.0, -65.0, 18.0, 72.0),
            &[
                2_222..=2_289,
                26_846..=26_870,
                26_929..=26_998,
                32_100..=32_161,
                3_417..=3_438,
                3_734..=3_760,
                6_355..=6_627,
                5_070..=5_070,
            ],
        ),
    ];
    for (_, ranges) in regions.into_iter().filter(|(is_here, _)| *is_here) {
        let all = ranges.iter().cloned().flatten();
        codes.extend(all.map(|code| format!("EPSG:{code}")));
    }
    codes
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A field near Grand Island, Nebraska; its place in UTM zone 14 and in the state plane of Nebraska in US survey feet was
    /// calculated with PROJ's own `cs2cs` (a general-purpose reference library).
    #[test]
    fn points_in_the_zone_of_the_field_are_found_in_either_order_of_axes() {
        let corners = [(-98.40, 40.90), (-98.39, 40.91)];
        let utm = [(550_958.0, 4_528_215.0), (551_200.0, 4_528_400.0)];
        let found = fitting_crs("EPSG:4326", corners, &utm).expect("a system");
        assert_eq!(
            (found.crs.as_str(), found.inside, found.is_swapped),
            ("EPSG:32614", 2, false)
        );
        let swapped = utm.map(|(x, y)| (y, x));
        let found = fitting_crs("EPSG:4326", corners, &swapped).expect("a system");
        assert!(found.is_swapped);
        assert!(
            found
                .open_question()
                .is_some_and(|open| open.contains("datum"))
        );
        let feet = FittingCrs {
            crs: "EPSG:2235".to_owned(),
            ..found
        };
        assert!(
            feet.open_question()
                .is_some_and(|open| open.contains("US survey feet"))
        );
        assert_eq!(fitting_crs("EPSG:4326", corners, &[(1.0, 1.0)]), None);
    }

    /// The zone's number stands before the easting; its place in UTM zone 32 without it was calculated with PROJ's own `cs2cs`, as in the
    /// file of another test. 32,000,000 is the false easting of EPSG:4647 beyond that of EPSG:25832 (EPSG registry).
    #[test]
    fn eastings_with_the_number_of_their_zone_are_found() {
        let corners = [(9.8, 51.98), (9.808, 51.986)];
        let found = fitting_crs("EPSG:4326", corners, &[(32_554_998.7, 5_759_183.3)]);
        assert_eq!(found.expect("a system").crs, "EPSG:4647");
    }

    /// Places in state planes in US survey feet, calculated with GDAL's `gdaltransform` (a general-purpose reference): Nebraska, Minnesota
    /// Central and Ohio North. The last lies where two planes overlap.
    #[test]
    fn points_in_us_survey_feet_are_found_in_their_state_plane() {
        for (middle, point, codes) in [
            (
                (-98.395, 40.905),
                (2_083_933.248_53, 394_483.451_85),
                ["EPSG:26852", "EPSG:26852"],
            ),
            (
                (-94.40, 45.30),
                (2_586_063.985_14, 437_518.967_24),
                ["EPSG:26850", "EPSG:26850"],
            ),
            (
                (-82.90, 40.02),
                (1_856_468.155_50, 735_986.820_37),
                ["EPSG:3734", "EPSG:3735"],
            ),
        ] {
            let (x, y) = middle;
            let corners = [(x - 0.002, y - 0.002), (x + 0.002, y + 0.002)];
            let found = fitting_crs("EPSG:4326", corners, &[point]).expect("a system");
            assert!(codes.contains(&found.crs.as_str()), "{found:?}");
            let open = found.open_question();
            assert!(
                open.is_some_and(|open| open.contains("US survey feet")),
                "{found:?}"
            );
        }
    }
}

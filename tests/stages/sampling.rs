//! Where to take cores next.

use lowstave::analyte::{Analyte, LayerKey};
use lowstave::field::{Field, lay_out};
use lowstave::sampling::{
    Layout, SamplingError, Site, as_geojson, as_gpx, first_layout, more_cores,
};
use lowstave::surface::{Map, Surface, Surfaces};

use crate::made_surveys::{block, inside_points, settings, survey};

fn field() -> Field {
    lay_out(survey(block(), &inside_points()), &settings(10.0)).unwrap()
}

/// A map whose `standard_error` is the distance to the field's west edge.
fn doubtful_in_the_east(field: &Field) -> Surfaces {
    let standard_error: Vec<f32> = field
        .grid
        .cells
        .iter()
        .map(|c| (field.grid.centre(*c).0 - field.grid.west) as f32)
        .collect();
    let surface = Surface {
        logs: None,
        mean_error: None,
        key: LayerKey::new(Analyte::Ph, None, None),
        unit: "".into(),
        method: lowstave::surface::Method::InverseDistance,
        power: 2.0,
        neighbours: None,
        skill: None,
        map: Map::Drawn {
            values: vec![6.0; standard_error.len()],
            standard_error,
        },
    };
    Surfaces {
        odd_cores: Vec::new(),
        surfaces: vec![surface],
        remarks: Vec::new(),
    }
}

fn on_plane(field: &Field, sites: &[Site]) -> Vec<(f64, f64)> {
    let mut points: Vec<_> = sites.iter().map(|s| (s.longitude, s.latitude)).collect();
    field.crs.project(&mut points).unwrap();
    points
}

fn walked(points: &[(f64, f64)]) -> f64 {
    points
        .windows(2)
        .map(|w| (w[0].0 - w[1].0).hypot(w[0].1 - w[1].1))
        .sum()
}

#[test]
fn more_cores_go_where_the_doubt_is_and_keep_apart() {
    let field = field();
    let sites = more_cores(&field, &doubtful_in_the_east(&field), 4).unwrap();
    let points = on_plane(&field, &sites);
    assert_eq!(sites.len(), 4);
    let mean_x = points.iter().map(|p| p.0).sum::<f64>() / 4.0;
    assert!(mean_x > 100.0, "{mean_x}");
    for (i, a) in points.iter().enumerate() {
        for b in &points[i + 1..] {
            assert!(
                (a.0 - b.0).hypot(a.1 - b.1) > 60.0,
                "two cores at one place tell no more than one"
            );
        }
    }
}

#[test]
fn the_first_of_one_core_is_the_best_of_all_places() {
    // Asking for one more and for three more must agree on the first gain: the greatest comes first.
    let field = field();
    let surfaces = doubtful_in_the_east(&field);
    let gain = |site: &Site| -> f64 {
        site.why
            .trim_end_matches(" %")
            .rsplit(' ')
            .next()
            .unwrap()
            .parse()
            .unwrap()
    };
    let one = gain(&more_cores(&field, &surfaces, 1).unwrap()[0]);
    let three: Vec<f64> = more_cores(&field, &surfaces, 3)
        .unwrap()
        .iter()
        .map(gain)
        .collect();
    assert_eq!(one, three.iter().copied().fold(0.0, f64::max));
}

#[test]
fn layouts_have_about_the_count_and_keep_off_the_edge() {
    let field = field();
    for layout in [Layout::Regular, Layout::Triangular] {
        for count in [5, 20, 60, 200] {
            let sites = first_layout(&field, layout, count, 7).unwrap();
            assert!(
                sites.len().abs_diff(count) <= 1 + count / 20,
                "{layout:?}: {} for {count}",
                sites.len()
            );
            for (x, y) in on_plane(&field, &sites) {
                let edge = geo::Distance::distance(
                    &geo::Euclidean,
                    &geo::Point::new(x, y),
                    field.workable.0[0].exterior(),
                );
                assert!(edge > 9.9, "{edge} m from the edge");
            }
        }
    }
}

#[test]
fn another_seed_gives_another_start_and_the_same_seed_the_same_bytes() {
    let field = field();
    let sites = |seed| first_layout(&field, Layout::Regular, 30, seed).unwrap();
    assert_eq!(sites(1), sites(1));
    assert_ne!(sites(1), sites(2));
}

#[test]
fn the_walk_is_not_much_longer_than_the_pattern_allows() {
    let field = field();
    let sites = first_layout(&field, Layout::Regular, 60, 3).unwrap();
    let points = on_plane(&field, &sites);
    // 60 sites of a square pattern: no walk is shorter than 59 spacings; a good one is within a quarter of that.
    let spacing = (field.workable_m2 / 60.0).sqrt();
    assert!(
        walked(&points) < 59.0 * spacing * 1.25,
        "{} m for spacing {spacing}",
        walked(&points)
    );
    assert!(
        sites
            .iter()
            .enumerate()
            .all(|(i, s)| s.order as usize == i + 1)
    );
}

#[test]
fn no_map_means_no_doubt_to_shrink() {
    let field = field();
    let none = Surfaces {
        odd_cores: Vec::new(),
        surfaces: Vec::new(),
        remarks: Vec::new(),
    };
    assert!(matches!(
        more_cores(&field, &none, 3),
        Err(SamplingError::NoMap)
    ));
    assert!(matches!(
        more_cores(&field, &none, 0),
        Err(SamplingError::Count { .. })
    ));
}

#[test]
fn the_files_read_back_equal_and_escape_what_a_field_may_be_called() {
    let field = field();
    let sites = first_layout(&field, Layout::Triangular, 12, 5).unwrap();
    let name = "A & B <\"west\">";
    let collection: geojson::FeatureCollection = as_geojson(name, &sites).parse().unwrap();
    let orders: Vec<u64> = collection
        .features
        .iter()
        .map(|f| f.property("order").unwrap().as_u64().unwrap())
        .collect();
    assert_eq!(orders, (1..=sites.len() as u64).collect::<Vec<_>>());

    let gpx = as_gpx(name, &sites);
    let mut reader = quick_xml::Reader::from_str(&gpx);
    let (mut waypoints, mut depth) = (Vec::new(), 0);
    loop {
        match reader.read_event().unwrap() {
            quick_xml::events::Event::Start(tag) => {
                depth += 1;
                if tag.name().as_ref() == "wpt" {
                    let read = |key: &str| -> f64 {
                        let value = tag.try_get_attribute(key).unwrap().unwrap().value;
                        value.parse().unwrap()
                    };
                    waypoints.push((read("lon"), read("lat")));
                }
            }
            quick_xml::events::Event::End(_) => depth -= 1,
            quick_xml::events::Event::Eof => break,
            _ => {}
        }
    }
    assert_eq!(depth, 0, "every element is closed");
    assert_eq!(
        waypoints,
        sites
            .iter()
            .map(|s| (s.longitude, s.latitude))
            .collect::<Vec<_>>()
    );
}

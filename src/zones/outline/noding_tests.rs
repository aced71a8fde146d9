use super::*;

fn chain(points: &[(i64, i64)], is_outline: bool) -> Polyline {
    Polyline {
        points: points.iter().map(|&(x, y)| Point { x, y }).collect(),
        left: 0,
        right: 1,
        is_outline,
    }
}

fn has(polyline: &Polyline, x: i64, y: i64) -> bool {
    polyline.points.contains(&Point { x, y })
}

#[test]
fn both_sides_of_a_crossing_get_the_vertex() {
    let mut polylines = [
        chain(&[(0, 0), (100, 100)], false),
        chain(&[(0, 100), (100, 0)], false),
    ];
    assert_eq!(in_conflict(&polylines), [0, 1]);
    assert!(node(&mut polylines, 0));
    assert!(
        polylines
            .iter()
            .all(|polyline| polyline.points.len() == 3 && has(polyline, 50, 50))
    );
    assert!(in_conflict(&polylines).is_empty());
}

#[test]
fn an_end_on_another_line_cuts_it_and_overlaps_are_cut_at_their_ends() {
    let mut polylines = [
        chain(&[(0, 0), (100, 0)], true),
        chain(&[(40, 0), (40, 60)], false),
        chain(&[(60, 0), (140, 0)], false),
    ];
    assert!(node(&mut polylines, 0));
    assert!(has(&polylines[0], 40, 0) && has(&polylines[0], 60, 0) && has(&polylines[2], 100, 0));
}

#[test]
fn a_crossing_near_a_vertex_of_the_outline_uses_it() {
    let mut polylines = [
        chain(&[(0, 0), (1000, 0)], true),
        chain(&[(3, -500), (3, 500)], false),
    ];
    assert!(node(&mut polylines, 5));
    assert_eq!(polylines[0].points.len(), 2);
    assert!(has(&polylines[1], 0, 0));
}

#[test]
fn crossings_that_fall_between_lattice_points_are_cut_until_all_is_clean() {
    // A fan of lines through nearly one place, none of whose crossings is a lattice point.
    let mut polylines: Vec<Polyline> = (0..12)
        .map(|i| chain(&[(-1000, 7 * i - 38), (1000, 41 - 9 * i)], false))
        .collect();
    assert!(node(&mut polylines, 0));
    assert!(
        polylines
            .iter()
            .all(|c| c.points.windows(2).all(|pair| pair[0] != pair[1]))
    );
    let mut again = polylines.clone();
    assert!(node(&mut again, 0));
    assert_eq!(polylines, again);
}

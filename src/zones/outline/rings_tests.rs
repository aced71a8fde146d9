use super::*;
use crate::zones::outline::noding::Polyline;

fn ring(points: &[(i64, i64)], left: u8, right: u8) -> Polyline {
    let mut points: Vec<Point> = points.iter().map(|&(x, y)| Point { x, y }).collect();
    points.extend(points.first().copied());
    Polyline {
        points,
        left,
        right,
        is_outline: right == OUT,
    }
}

const SQUARE: [(i64, i64); 4] = [(0, 0), (100, 0), (100, 100), (0, 100)];

#[test]
fn an_island_is_a_hole_of_its_neighbour_with_the_same_vertices() {
    let island = [(20, 20), (40, 20), (40, 40), (20, 40)];
    let found = polygons(&Drawing::new(&[ring(&SQUARE, 0, OUT), ring(&island, 1, 0)]));
    assert_eq!(found[&0].len(), 1);
    assert_eq!(found[&0][0].len(), 2);
    let mut hole = found[&0][0][1].clone();
    hole[1..].reverse();
    assert_eq!(vec![hole], found[&1][0]);
}

#[test]
fn a_ring_that_touches_the_outline_in_a_vertex_becomes_a_hole_of_its_own() {
    let outline = [(0, 0), (50, 0), (100, 0), (100, 100), (0, 100)];
    let found = polygons(&Drawing::new(&[
        ring(&outline, 0, OUT),
        ring(&[(50, 0), (60, 30), (40, 30)], 1, 0),
    ]));
    assert_eq!(found[&0].iter().map(Vec::len).collect::<Vec<_>>(), [2]);
    assert_eq!(found[&0][0][0].len(), 5);
    assert_eq!(found[&1].len(), 1);
}

#[test]
fn two_parts_that_touch_in_a_vertex_are_two_polygons() {
    let found = polygons(&Drawing::new(&[
        ring(&SQUARE, 0, OUT),
        ring(&[(100, 100), (200, 100), (200, 200), (100, 200)], 0, OUT),
    ]));
    assert_eq!(
        found[&0]
            .iter()
            .map(|polygon| polygon[0].len())
            .collect::<Vec<_>>(),
        [4, 4]
    );
}

#[test]
fn a_line_that_ends_nowhere_leaves_no_spike() {
    let mut spike = ring(&SQUARE, 0, OUT);
    spike.points = vec![Point { x: 100, y: 100 }, Point { x: 50, y: 50 }];
    (spike.left, spike.right, spike.is_outline) = (0, 1, false);
    let found = polygons(&Drawing::new(&[ring(&SQUARE, 0, OUT), spike]));
    assert_eq!(
        found[&0][0],
        [SQUARE
            .iter()
            .map(|&(x, y)| Point { x, y })
            .collect::<Vec<_>>()]
    );
}
